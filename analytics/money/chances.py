"""How likely it is that standing pays, by what a comparison found; and the worst year.

Every difference is standing minus windrowed, in dollars per acre. None is unknown, and never 0.
"""

from collections.abc import Sequence

import scipy

from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Answer, FieldsNotTried, Finding


def chance_it_pays(answer: Answer) -> float | None:
    """The chance, 0 to 1, that the true difference of an answer lies above 0; None without a spread.

    One less half the answer's own two-sided p where the estimate is above 0, so that asking one way only decides as the
    answer does: for years to come with the larger p of both methods. What the records alone say, with nothing believed
    beforehand.
    """
    if answer.finding is Finding.TOO_FEW or answer.estimate is None or answer.p_value is None:
        return None
    return 1 - answer.p_value / 2 if answer.estimate > 0 else answer.p_value / 2


def chance_new_field(found: FieldsNotTried, *, level: float) -> float | None:
    """The chance that standing gains on a single new field in a new year; None without a prediction.

    By the t distribution of the prediction interval, which is at `level`.
    """
    if found.prediction_high is None or found.estimate is None or not found.df:
        return None
    spread = (found.prediction_high - found.estimate) / float(scipy.special.stdtrit(found.df, (1 + level) / 2))
    return float(scipy.special.stdtr(found.df, found.estimate / spread)) if spread > 0 else None


def worst_year(by_year: Sequence[YearResult]) -> YearResult | None:
    """The crop year in which standing did worst by the estimate; None without years."""
    return min(by_year, key=lambda year: year.estimate, default=None)


def odds(chance: float) -> str:
    """A chance as odds, for it or against.

    >>> odds(0.91), odds(0.55), odds(0.02)
    ('about 10 to 1', 'about even', 'more than 19 to 1 against')
    """
    likelier, against = max(chance, 1 - chance), " against" if chance < 0.5 else ""
    if likelier > 0.95:
        return f"more than 19 to 1{against}"
    ratio = likelier / (1 - likelier)
    return "about even" if ratio < 1.5 else f"about {ratio:.0f} to 1{against}"

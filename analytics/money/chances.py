"""How likely it is that standing pays, by what a comparison found; and the worst year.

Every difference is standing minus windrowed, in dollars per acre. None is unknown, and never 0.
"""

from collections.abc import Sequence

import scipy

from analytics.statistics.results import Answer, FieldsNotTried, YearResult


def chance_above(answer: Answer, threshold: float = 0.0) -> float | None:
    """The chance, 0 to 1, that the true difference of an answer lies above `threshold`; None without a spread.

    By the t distribution around the estimate with the answer's standard error and degrees of freedom: what the
    records alone say, with nothing believed beforehand. At threshold 0 it is 1 less half the two-sided p when the
    estimate is above 0.
    """
    if answer.reason is not None or answer.estimate is None or not answer.std_error or not answer.df:
        return None
    return float(scipy.special.stdtr(answer.df, (answer.estimate - threshold) / answer.std_error))


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

"""Green seed counted seed by seed, and the share sold as No. 1: beside the comparison of plots, not instead.

Seeds of one plot are alike, so counting them one by one is surer than the records allow; the sentence says so.
"""

import polars as pl

from analytics.statistics.comparison import compare
from analytics.statistics.proportions import mantel_haenszel_odds_ratio
from analytics.statistics.results import Basis
from analytics.trade.numbers_as_text import amount, count, number, percent_words


def green_sentence(counts: pl.DataFrame, *, level: float) -> str:
    """Odds of a green seed, standing over windrowed, common to all pairs (Mantel-Haenszel).

    counts : one row a pair, as in the view pair_counts; pairs lacking a count are passed over
    """
    known = counts.drop_nulls(["standing_crushed", "standing_green", "windrowed_crushed", "windrowed_green"])
    odds = mantel_haenszel_odds_ratio(
        known["standing_green"].to_numpy(),
        (known["standing_crushed"] - known["standing_green"]).to_numpy(),
        known["windrowed_green"].to_numpy(),
        (known["windrowed_crushed"] - known["windrowed_green"]).to_numpy(),
        level=level,
    )
    if odds is None:
        return "Counted seed by seed, nothing can be said: no pair has green and sound seeds counted on both sides."
    return (
        f"Counted seed by seed over {count(known.height, 'pair')}, the odds of a green seed standing were "
        f"{number(odds.estimate, 2)} times those windrowed ({number(odds.low, 2)} to {number(odds.high, 2)}, "
        f"{percent_words(level)}, Mantel-Haenszel). This takes every seed for a trial of its own and so is too sure; "
        "the answer above counts field-years."
    )


def grade_sentence(counts: pl.DataFrame, *, level: float) -> str:
    """Share sold as No. 1 by method, over field-years: strips of one field are one, and slips count by their share.

    counts : one row a pair, as in the view pair_counts; pairs lacking a grade on a side are passed over
    """
    known = counts.drop_nulls(["standing_no1_share", "windrowed_no1_share"])
    if known.is_empty():
        return "No pair has a grade on both sides, so nothing can be said of grades."
    found = compare(
        (100 * known["standing_no1_share"]).to_numpy(),
        (100 * known["windrowed_no1_share"]).to_numpy(),
        crop_year=known["crop_year"].to_list(),
        standing_field=known["standing_field"],
        windrowed_field=known["windrowed_field"],
        basis=Basis.ALL,
        measure="share in No. 1",
        unit="points",
        level=level,
    )
    answer = found.these_fields
    standing, windrowed = (amount(mean, "%", 0) for mean in (found.mean_standing, found.mean_windrowed))
    first = (
        f"Sold as No. 1, by the share of the slips: {standing} of the standing and {windrowed} of the windrowed "
        f"canola, over {count(found.field_years, 'field-year')}."
    )
    if answer.estimate is None or answer.told_low is None or answer.told_high is None:
        return f"{first} There are too few to give a range."
    low, high = (f"{number(min(abs(end), 100), 0)} {_way(end)}" for end in (answer.told_low, answer.told_high))
    return (
        f"{first} Standing is {number(abs(answer.estimate), 0)} points {_way(answer.estimate)}, anything from {low} to "
        f"{high} ({percent_words(level)}). If the two ways graded alike, a split this uneven would come up with p "
        f"{number(found.exact.sign_flip_p, 3)} (exact sign-flip)."
    )


def _way(points: float) -> str:
    return "more" if points > 0 else "less"

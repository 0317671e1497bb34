"""Green seed counted seed by seed, and grade as pairs in No. 1: beside the comparison of plots, not instead.

Seeds of one plot and pairs of one year are alike, so both ways are surer than the records allow; the sentences say so.
"""

import polars as pl

from analytics.statistics.proportions import mantel_haenszel_odds_ratio, mcnemar_exact_p, paired_share_difference
from analytics.trade.numbers_as_text import count, level_words, number


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
        f"{level_words(level)}, Mantel-Haenszel). This takes every seed for a trial of its own and so is too sure; "
        "the answer above counts field-years."
    )


def grade_sentence(counts: pl.DataFrame, *, level: float) -> str:
    """Share of pairs in No. 1 by method, with the exact McNemar p of those that differ.

    counts : one row a pair, as in the view pair_counts; pairs lacking a grade on a side are passed over
    """
    known = counts.drop_nulls(["is_standing_no1", "is_windrowed_no1"])
    if known.is_empty():
        return "No pair has a grade on both sides, so nothing can be said of grades."
    standing, windrowed = known["is_standing_no1"], known["is_windrowed_no1"]
    both, neither = int((standing & windrowed).sum()), int((~standing & ~windrowed).sum())
    only_standing, only_windrowed = int((standing & ~windrowed).sum()), int((~standing & windrowed).sum())
    shares = paired_share_difference(both, only_standing, only_windrowed, neither, level=level)
    way = "lower" if shares.estimate < 0 else "higher"
    p = mcnemar_exact_p(only_standing, only_windrowed)
    return (
        f"In No. 1 on every ticket: standing in {both + only_standing} and windrowed in {both + only_windrowed} of "
        f"{count(known.height, 'pair')}; only standing in {only_standing}, only windrowed in {only_windrowed}. The "
        f"share was {number(100 * abs(shares.estimate), 0)} points {way} standing "
        f"({number(100 * shares.low, 0)} to {number(100 * shares.high, 0)}, {level_words(level)}, Newcombe). "
        f"If the two ways graded alike, a split this uneven would come up with p {number(p, 3)} (exact McNemar)."
    )

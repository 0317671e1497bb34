"""Seeds and grades counted over pairs: said in sentences that also say why they are too sure."""

import polars as pl
import pytest

from analytics.answer.counted_seeds import grade_sentence, green_sentence
from analytics.storage.database import read_table

BERKELEY = {  # Bickel, Hammel, O'Connell 1975; R 4.2.2 mantelhaen.test gives 0.9047 (0.7719 to 1.0603)
    "standing_green": [512, 353, 120, 138, 53, 22],
    "standing_sound": [313, 207, 205, 279, 138, 351],
    "windrowed_green": [89, 17, 202, 131, 94, 24],
    "windrowed_sound": [19, 8, 391, 244, 299, 317],
}


def seeds(**columns: list[int]) -> pl.DataFrame:
    frame = pl.DataFrame(columns)
    return frame.select(
        "standing_green",
        "windrowed_green",
        standing_crushed=pl.col("standing_green") + pl.col("standing_sound"),
        windrowed_crushed=pl.col("windrowed_green") + pl.col("windrowed_sound"),
    )


def graded(both: int, only_standing: int, only_windrowed: int, neither: int) -> pl.DataFrame:
    rows = [(True, True)] * both + [(True, False)] * only_standing
    rows += [(False, True)] * only_windrowed + [(False, False)] * neither
    return pl.DataFrame(rows, schema={"is_standing_no1": pl.Boolean, "is_windrowed_no1": pl.Boolean}, orient="row")


def test_odds_of_published_strata():
    said = green_sentence(seeds(**BERKELEY), level=0.95)
    assert "over 6 pairs" in said
    assert "0.90 times those windrowed (0.77 to 1.06, 95 in 100, Mantel-Haenszel)" in said
    assert "too sure" in said


def test_a_pair_without_a_count_is_passed_over():
    frame = pl.concat([seeds(**BERKELEY), seeds(**BERKELEY).head(1).with_columns(standing_green=None)])
    assert green_sentence(frame, level=0.95) == green_sentence(seeds(**BERKELEY), level=0.95)


def test_no_green_seed_on_any_side_says_that_nothing_can_be_said():
    none = seeds(standing_green=[0], standing_sound=[500], windrowed_green=[0], windrowed_sound=[500])
    assert "nothing can be said" in green_sentence(none, level=0.95)


def test_grades_of_a_published_split():
    """Bentur 2009 as in Fagerland, Lydersen and Laake 2013: 1, 1, 7, 12; exact p 0.0703; Newcombe -51 to -3 points."""
    said = grade_sentence(graded(1, 1, 7, 12), level=0.95)
    assert "standing in 2 and windrowed in 8 of 21 pairs; only standing in 1, only windrowed in 7" in said
    assert "29 points lower standing (−51 to −3, 95 in 100, Newcombe)" in said
    assert "p 0.070 (exact McNemar)" in said


def test_no_grades_no_claim():
    assert grade_sentence(graded(0, 0, 0, 0), level=0.95).startswith("No pair has a grade on both sides")


def test_the_demo_counts_every_pair_once(demo):
    counts = read_table(demo, "pair_counts")
    assert counts.height == counts.unique(["crop_year", "pair"]).height == 26
    assert "over 26 pairs" in green_sentence(counts, level=0.95)
    assert grade_sentence(counts, level=0.95).startswith("In No. 1 on every ticket:")


@pytest.mark.parametrize("level", [0.95, 0.8])
def test_the_level_is_named(level):
    assert f"{100 * level:.0f} in 100" in grade_sentence(graded(3, 1, 2, 1), level=level)

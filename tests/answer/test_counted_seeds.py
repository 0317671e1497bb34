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


def graded(*pairs: tuple[int, str, float, float]) -> pl.DataFrame:
    """Pairs as (crop year, field, share in No. 1 standing, windrowed)."""
    rows = [(year, str(place), field, field, *shares) for place, (year, field, *shares) in enumerate(pairs)]
    names = ("crop_year", "pair", "standing_field", "windrowed_field", "standing_no1_share", "windrowed_no1_share")
    return pl.DataFrame(rows, schema=names, orient="row")


def test_odds_of_published_strata():
    said = green_sentence(seeds(**BERKELEY), level=0.95)
    assert "over 6 pairs" in said
    assert "0.90 times those windrowed (0.77 to 1.06, 95\u202f%, Mantel-Haenszel)" in said
    assert "too sure" in said


def test_a_pair_without_a_count_is_passed_over():
    frame = pl.concat([seeds(**BERKELEY), seeds(**BERKELEY).head(1).with_columns(standing_green=None)])
    assert green_sentence(frame, level=0.95) == green_sentence(seeds(**BERKELEY), level=0.95)


def test_no_green_seed_on_any_side_says_that_nothing_can_be_said():
    none = seeds(standing_green=[0], standing_sound=[500], windrowed_green=[0], windrowed_sound=[500])
    assert "nothing can be said" in green_sentence(none, level=0.95)


THREE_FIELDS = [(2023, "A", 1.0, 0.5), (2023, "B", 1.0, 1.0), (2024, "A", 0.5, 0.0)]


def test_the_share_in_no_1_is_compared_over_field_years():
    """Differences of 50, 0 and 50 points: mean 33.3, sd 28.9, t(2) at 95 % 4.303: 33.3 -+ 71.7, which ends at 100.

    Of the eight ways to turn the signs round, four give 100 points in all, as here, or more: p 0.5.
    """
    said = grade_sentence(graded(*THREE_FIELDS), level=0.95)
    shares = "83\u202f% of the standing and 50\u202f% of the windrowed canola, over 3 field-years."
    assert said.startswith(f"Sold as No. 1, by the share of the slips: {shares}")
    assert "Standing is 33 points more, anything from 38 less to 100 more (95\u202f%)." in said
    assert said.endswith("p 0.500 (exact sign-flip).")


def test_strips_of_one_field_are_one_field_year_and_not_trials_of_their_own():
    """Six strips of one field gave 100 points and p 0.031 when each was a trial."""
    strips = [(2024, "A", 1.0, 0.0)] * 6
    said = grade_sentence(graded(*strips), level=0.95)
    assert "over 1 field-year. There are too few to give a range." in said
    assert "over 3 field-years" in grade_sentence(graded(*THREE_FIELDS, THREE_FIELDS[0]), level=0.95)


def test_no_grades_no_claim():
    assert grade_sentence(graded(), level=0.95).startswith("No pair has a grade on both sides")


def test_the_demo_counts_every_pair_once(demo):
    counts = read_table(demo, "pair_counts")
    assert counts.height == counts.unique(["crop_year", "pair"]).height == 26
    assert "over 26 pairs" in green_sentence(counts, level=0.95)
    assert grade_sentence(counts, level=0.95).startswith("Sold as No. 1, by the share of the slips:")


@pytest.mark.parametrize("level", [0.95, 0.8])
def test_the_level_is_named(level):
    assert f"{100 * level:.0f}\u202f%" in grade_sentence(graded(*THREE_FIELDS), level=level)


def test_two_field_years_of_grades_have_no_range():
    """30 and 31 points had one of 24 to 37."""
    said = grade_sentence(graded((2023, "A", 1.0, 0.7), (2023, "B", 1.0, 0.69)), level=0.95)
    assert said.endswith("over 2 field-years. There are too few to give a range.")

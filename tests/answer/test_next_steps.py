"""On what an answer rests, its level and margin, and what to do next."""

import re
from dataclasses import replace

import pytest

from analytics.answer import wording
from analytics.answer.next_steps import SO_FAR, next_steps
from analytics.statistics.comparison import compare
from analytics.statistics.replicates import YearResult
from tests.answer.made import (
    HIGHER,
    ONE_FIELD,
    OPEN,
    SAME,
    answer,
    comparison,
)


def test_rests_on():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2))
    assert wording.rests_on(one) == "22 pairs, 14 field-years, 5 years; 2 pairs left out."
    some = replace(one, all_pairs=replace(one.all_pairs, pairs=24))
    assert wording.rests_on(some) == (
        "22 pairs, 14 field-years, 5 years; 2 more pairs have both sides but are not counted in it; 2 pairs left out."
    )
    single = comparison(answer(HIGHER, 1.3, 0.4, 2.2), pairs=1, field_years=1, years=1, left_out=1)
    assert wording.rests_on(single) == "1 pair, 1 field-year, 1 year; 1 pair left out."
    assert wording.rests_on(replace(one, left_out=0)).endswith("; none left out.")


@pytest.mark.parametrize(
    ("counts", "ground"),
    [
        ({"pairs": 1, "field_years": 1, "years": 1}, " on this one pair: more"),
        ({"pairs": 4, "field_years": 1, "years": 1}, " on this one field-year with its 4 strip pairs: more"),
        ({"pairs": 6, "field_years": 6, "years": 1}, " on these 6 field-years in one year: more"),
        ({"pairs": 6, "field_years": 6, "years": 2}, " on these 6 field-years over 2 years: more"),
    ],
)
def test_grammar_of_where_it_was_seen(counts, ground):
    assert ground in wording.these_fields_sentence(comparison(answer(HIGHER, 1.3, 0.4, 2.2), **counts))


def test_single_crop_year_is_named_when_known():
    by_year = (YearResult(crop_year=2023, field_years=6, estimate=1.3, low=0.4, high=2.2),)
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), field_years=6, years=1, by_year=by_year)
    assert "on these 6 field-years in 2023" in wording.these_fields_sentence(one)


def test_strips_of_one_field_are_named_in_what_could_be_seen():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), pairs=4, field_years=1, years=1, detectable_difference=2.6)
    assert wording.what_could_be_seen(one).startswith("Four such strip pairs would find a gap of 2.6 bu/ac or more")


def test_level_and_margin_are_said():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), level=0.9)
    assert wording.level_and_margin(one) == (
        "90\u202f% ranges: about 90 of 100 ranges made this way hold the true difference. "
        "A difference in yield matters from 1.0 bu/ac."
    )
    assert "No difference in yield is set" in wording.level_and_margin(replace(one, margin=None))


def test_next_steps_look_three_seasons_ahead():
    """14 field-years in 5 years, error 1.0, df 9: 8 more make 22 in 8 years, error sqrt(14 / 22) = 0.798, df 14. The
    paired t with that error and df, R 4.2.2: power.t.test(n = 15, sd = 0.798 * sqrt(15), power = 0.8, type = "paired",
    strict = TRUE), gives 2.405.
    """
    here = answer(OPEN, 0.3, -2.4, 3.1, std_error=1.0, df=9)
    one = comparison(here, answer(OPEN, 0.3, -4.0, 4.6, years=5), years_needed=12, left_out=1)
    assert next_steps(one) == [
        "Complete the 1 pair that lacks a side, where the papers are still there: that takes no new harvest.",
        f"{SO_FAR} three more seasons of 3 field-years each would find a gap of 2.4 bu/ac in 8 of 10 cases, not one of "
        "1.0 bu/ac; decide which gap would change what you do. Fields cut both ways, in strips, would need fewer.",
        "What holds for years to come takes years: more fields in one year do not stand in for another year. "
        "Go on pairing each season.",
    ]


def test_next_steps_never_ask_for_more_seasons_than_a_plan_has():
    """ "144 years in all" and "169 field-years, 20 more seasons" stood under What to do next."""
    here = answer(OPEN, 0.3, -2.4, 3.1, std_error=4.0, df=9)
    one = comparison(here, answer(OPEN, 0.3, -4.0, 4.6), field_years_needed=169, years_needed=144)
    assert not re.search(r"\b(144|169|100)\b", " ".join(next_steps(one)))


@pytest.mark.parametrize("std_error", [0.3, 0.425])
def test_next_steps_name_the_margin_where_three_seasons_would_find_it_as_shown(std_error):
    """The gap found is 2.405 times the error, as above: 0.72 and 1.02, and 1.02 is shown as 1.0."""
    here = answer(OPEN, 0.3, -0.4, 1.0, std_error=std_error, df=9, basis=ONE_FIELD)
    assert next_steps(comparison(here, left_out=0))[0] == (
        f"{SO_FAR} three more seasons of 3 field-years each would find a gap of 1.0 bu/ac in 8 of 10 cases."
    )


@pytest.mark.parametrize(("needed", "more"), [(6, "One more year"), (8, "Three more years"), (5, "One more year")])
def test_next_steps_count_the_years_that_are_within_reach(needed, more):
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 0.3, -4.0, 4.6), years_needed=needed, left_out=0)
    assert next_steps(one) == [
        f"{SO_FAR} {more.lower()} like these would find a lasting gap of 1.0 bu/ac in 8 of 10 cases."
    ]


def test_next_steps_ask_for_a_margin_when_there_is_none():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), answer(OPEN, 0.3, -4.0, 4.6), margin=None, left_out=0)
    assert next_steps(one) == ["Say which difference in yield would matter; then what it takes can be told."]


def test_next_steps_after_both_have_an_answer():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(SAME, 0.1, -0.4, 0.5), left_out=0)
    assert next_steps(one) == ["Both questions about yield have an answer at the 95\u202f% level."]


@pytest.mark.parametrize("years", [1, 2, 3])
def test_years_asked_for_are_those_the_comparison_asks_for(years):
    one = compare(
        [1.0 + 0.1 * year for year in range(years)],
        [0.0] * years,
        crop_year=[2020 + year for year in range(years)],
        measure="sleep",
        unit="h",
    )
    asked = [step for step in next_steps(one) if "more year" in step]
    assert [step.split()[0] for step in asked] == {1: ["Two"], 2: ["One"], 3: []}[years]

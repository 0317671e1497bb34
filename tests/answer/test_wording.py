"""Every finding, question, direction and unit as a sentence that a grower would say."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.answer import wording
from analytics.answer.difference_words import PHRASES
from analytics.statistics.another_unit import scaled
from analytics.statistics.answers import FEWEST_REPLICATES
from analytics.statistics.comparison import compare
from analytics.statistics.results import (
    Answer,
    Comparison,
    Counts,
    ExactTests,
    FieldsNotTried,
    Finding,
    Firm,
    Planning,
    ShrunkenMeans,
    YearResult,
    YearsAgree,
)
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, count, counted, level_words, number
from analytics.trade.units import PER_BU_AC

HIGHER, LOWER = Finding.STANDING_HIGHER, Finding.STANDING_LOWER
SAME, OPEN, FEW = Finding.NO_DIFFERENCE_THAT_MATTERS, Finding.NOT_SETTLED, Finding.TOO_FEW


def answer(finding, estimate=None, low=None, high=None, **other):
    other = {
        "method": "paired t",
        "scope": "14 field-years over 5 years",
        "replicates": 14,
        "pairs": 22,
        "field_years": 14,
        "years": 5,
        **other,
    }
    return Answer(finding=finding, estimate=estimate, low=low, high=high, **other)


def comparison(these_fields, years_to_come=None, **other):
    """14 field-years over 5 years of yield, unless said otherwise."""
    planning = Planning(
        detectable_difference=other.pop("detectable_difference", None),
        field_years_needed=other.pop("field_years_needed", None),
        years_needed=other.pop("years_needed", None),
    )
    one_year = "There is only one year; at least 3 years are needed."
    given_or_default = {
        "measure": "yield",
        "unit": "bu/ac",
        "direction": "higher",
        "level": 0.95,
        "margin": 1.0,
        "pairs": 22,
        "field_years": 14,
        "years": 5,
        "left_out": 2,
        "mean_standing": 41.3,
        "mean_windrowed": 40.0,
        "exact": ExactTests(
            sign_flip_p=0.012,
            wilcoxon_p=0.0004,
            sign_test_p=None,
            hodges_lehmann=1.25,
            hodges_lehmann_low=0.4,
            hodges_lehmann_high=None,
        ),
        "by_year": (),
        "pair_differences": (),
        "cautions": (),
        **other,
    }
    counts = {name: given_or_default[name] for name in ("pairs", "field_years", "years", "left_out")}
    future = years_to_come or answer(FEW, reason=one_year, replicates=1)
    years = replace(future, years=counts["years"])
    return Comparison(
        these_fields=these_fields,
        years_to_come=years,
        fields_not_tried=FieldsNotTried(
            method=future.method, prediction_low=future.prediction_low, prediction_high=future.prediction_high
        ),
        planning=planning,
        is_basis_fixed=False,
        all_pairs=Counts(**counts),
        shrunken=ShrunkenMeans(),
        carries=(),
        years_agree=YearsAgree(f_p=None, gail_simon_p=None, disagree=False, highest=None, lowest=None),
        firm=Firm(),
        looks=3,
        places=(),
        places_to_come=(),
        **given_or_default,
    )


def every_text(one):
    """All that the module says about a comparison."""
    return [
        wording.sentence(one),
        wording.these_fields_sentence(one),
        wording.years_to_come_sentence(one),
        wording.what_could_be_seen(one),
        wording.rests_on(one),
        wording.level_and_margin(one),
        *wording.next_steps(one),
        wording.finding_words(one.these_fields),
        wording.finding_words(one.years_to_come),
        wording.estimate_with_range(one, one.these_fields),
        wording.estimate_with_range(one, one.years_to_come),
        *(wording.year_with_range(one, year) for year in one.by_year),
        *(text for row in wording.checker_rows(one) for text in (row.name, row.these_fields, row.years_to_come)),
    ]


# --- numbers


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1.25, 2, "1.25"),
        (-1.3, 1, "\u22121.3"),
        (-0.04, 1, "0.0"),
        (0.0, 0, "0"),
        (9_999.4, 0, "9999"),
        (9_999.6, 0, "10\u202f000"),
        (-1_234_567.8, 1, "\u22121\u202f234\u202f567.8"),
        (None, 1, "unknown"),
        (float("nan"), 1, "unknown"),
        (float("-inf"), 1, "unknown"),
    ],
)
def test_number_as_text(value, decimals, text):
    assert number(value, decimals) == text


def test_a_sign_is_shown_when_asked_and_never_before_zero():
    assert [number(value, 1, sign=True) for value in (1.0, 0.0, -0.01, -1.0)] == ["+1.0", "0.0", "0.0", "\u22121.0"]


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "text"),
    [
        (1.3, "bu/ac", 1, "1.3 bu/ac"),
        (1, "points", 0, "1 point"),
        (1, "points", 1, "1.0 points"),
        (0.9, "points", 1, "0.9 points"),
        (1, "days", 0, "1 day"),
        (3, "days", 0, "3 days"),
        (14.2, "$/ac", 0, "$14 an acre"),
        (-14.2, "$/ac", 0, "\u2212$14 an acre"),
        (0.25, "$/head", 2, "$0.25 per head"),
        (2, "$", 0, "$2"),
        (2.5, "%", 1, "2.5\u202f%"),
        (2.5, "", 1, "2.5"),
        (None, "bu/ac", 1, "unknown"),
        (None, "$/ac", 0, "unknown"),
    ],
)
def test_amount_with_its_unit(value, unit, decimals, text):
    assert amount(value, unit, decimals) == text


def test_counts_are_singular_for_one():
    assert [count(n, "pair") for n in (0, 1, 2)] == ["0 pairs", "1 pair", "2 pairs"]
    assert [counted(n, "year") for n in (1, 12, 13)] == ["One year", "Twelve years", "13 years"]


def test_level_is_said_in_hundreds():
    assert [level_words(level) for level in (0.95, 0.9, 0.8, 0.995)] == [
        "95 in 100",
        "90 in 100",
        "80 in 100",
        "99.5 in 100",
    ]


# --- these fields


def test_standing_higher():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2))
    assert wording.these_fields_sentence(one) == (
        "On these 14 field-years over 5 years standing gave 1.3 bu/ac more (0.4 to 2.2): a real difference here."
    )


def test_standing_lower_names_the_range_from_the_far_end():
    one = comparison(answer(LOWER, -1.3, -2.2, -0.4))
    assert "standing gave 1.3 bu/ac less (2.2 to 0.4 less): a real difference here." in wording.sentence(one)


def test_small_says_that_it_would_not_matter():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8, small=True))
    assert wording.these_fields_sentence(one).endswith(
        "(0.2 to 0.8): a real difference here, but smaller than the 1.0 bu/ac that would matter."
    )


def test_no_difference_that_matters():
    one = comparison(answer(SAME, 0.05, -0.6, 0.7))
    assert wording.these_fields_sentence(one) == (
        "On these 14 field-years over 5 years yield is the same for practical purposes: "
        "the difference lies between 0.6 less and 0.7 more, inside the 1.0 bu/ac that would matter."
    )


def test_range_is_not_called_inside_the_margin_when_only_the_two_one_sided_tests_are():
    one = comparison(answer(SAME, -0.2, -1.1, 0.7))
    assert wording.these_fields_sentence(one).endswith(
        "standing gave 0.2 bu/ac less (1.1 less to 0.7 more), "
        "and a gap of 1.0 bu/ac or more, either way, is ruled out at the 95 in 100 level."
    )


def test_not_settled_says_what_could_have_been_seen():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), field_years=9, years=3, detectable_difference=2.6)
    assert wording.these_fields_sentence(one) == (
        "On these 9 field-years over 3 years it is not settled: standing gave 0.3 bu/ac more, "
        "but the difference could be anything between 2.4 less and 3.1 more."
    )
    seen = "Nine such field-years would find a gap of 2.6 bu/ac or more in 8 of 10 cases; yours may be smaller."
    assert wording.what_could_be_seen(one) == seen
    assert seen in wording.sentence(one)


def test_what_could_be_seen_is_kept_for_null_results():
    assert wording.what_could_be_seen(comparison(answer(HIGHER, 1.3, 0.4, 2.2), detectable_difference=1.0)) == ""
    assert wording.what_could_be_seen(comparison(answer(OPEN, 0.3, -2.4, 3.1))) == ""


def test_too_few_gives_the_reason_and_the_number_there_is():
    few = answer(FEW, 2.1, reason="There are 2 field-years; at least 3 are needed.", replicates=2)
    one = comparison(few, pairs=2, field_years=2, years=2)
    assert wording.these_fields_sentence(one) == (
        "Too few to judge. There are 2 field-years; at least 3 are needed. "
        "On these 2 field-years over 2 years standing gave 2.1 bu/ac more."
    )


def test_no_spread_is_not_called_too_few():
    one = comparison(answer(FEW, 1.0, reason="All differences are the same."))
    assert wording.these_fields_sentence(one).startswith("It cannot be judged. All differences are the same. On these")


def test_no_pair_at_all_is_one_sentence():
    nothing = answer(FEW, reason="There is no complete pair.", replicates=0)
    one = comparison(nothing, nothing, pairs=0, field_years=0, years=0)
    assert wording.sentence(one) == "There is nothing to compare yet: no pair has both sides for yield."


def test_one_reason_for_both_questions_is_said_once():
    same = answer(FEW, 1.0, reason="All differences are the same.")
    assert wording.sentence(comparison(same, same)).count("All differences are the same.") == 1


def test_difference_that_rounds_to_nothing_is_called_level():
    one = comparison(answer(OPEN, -0.01, -2.0, 2.0), answer(OPEN, 0.0, -3.0, 3.0))
    assert "the two ways came out level, but the difference could be" in wording.these_fields_sentence(one)


# --- years to come


def test_both_questions_as_on_the_screen():
    future = answer(OPEN, 1.2, -1.1, 3.6, prediction_low=-7.1, prediction_high=9.4)
    assert wording.sentence(comparison(answer(HIGHER, 1.3, 0.4, 2.2), future)) == (
        "On these 14 field-years over 5 years standing gave 1.3 bu/ac more (0.4 to 2.2): a real difference here. "
        "For years to come it is not settled: the average could lie between 1.1 less and 3.6 more, "
        "and a single new field between 7 less and 9 more."
    )


def test_years_to_come_alone_carries_the_unit():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 1.2, -1.1, 3.6))
    assert wording.years_to_come_sentence(one) == (
        "For years to come it is not settled: the average could lie between 1.1 less and 3.6 bu/ac more."
    )


def test_real_difference_for_years_to_come():
    future = answer(LOWER, -1.2, -2.0, -0.4, prediction_low=-5.0, prediction_high=-0.6)
    assert wording.years_to_come_sentence(comparison(answer(LOWER, -1.3, -2.2, -0.4), future)) == (
        "For years to come standing would give 1.2 bu/ac less on average (2.0 to 0.4 less): "
        "a real difference, as far as 5 years can tell; a single new field could lie between 5 and 1 less."
    )


def test_small_difference_for_years_to_come():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8), answer(HIGHER, 0.5, 0.1, 0.9, small=True))
    assert "can tell, but smaller than the 1.0 bu/ac that would matter." in wording.years_to_come_sentence(one)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-0.6, 0.7, "the difference lies between 0.6 less and 0.7 more, inside the 1.0 bu/ac that would matter."),
        (-1.1, 0.7, "standing would give 0.1 bu/ac more (1.1 less to 0.7 more), and a gap of 1.0 bu/ac or more"),
    ],
)
def test_no_difference_that_matters_for_years_to_come(low, high, words):
    one = comparison(answer(SAME, 0.1, -0.5, 0.7), answer(SAME, 0.1, low, high))
    assert "For years to come yield is the same for practical purposes on average: " + words in (
        wording.years_to_come_sentence(one)
    )


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (0.4, 2.0, "0.4 and 2.0 bu/ac more"),
        (-0.4, 2.0, "0.4 less and 2.0 bu/ac more"),
        (-2, -1, "2.0 and 1.0 bu/ac less"),
    ],
)
def test_two_years_are_told_by_their_averages(first, second, words):
    by_year = tuple(
        YearResult(crop_year=year, field_years=3, estimate=estimate, low=None, high=None)
        for year, estimate in ((2022, first), (2023, second))
    )
    few = answer(FEW, 1.2, reason="There are 2 years; at least 3 are needed.", replicates=2)
    one = comparison(answer(OPEN, 1.2, -0.5, 2.9), few, years=2, by_year=by_year)
    assert wording.years_to_come_sentence(one) == (
        "For years to come nothing can be said yet. There are 2 years; at least 3 are needed. "
        f"The two yearly averages were {words}."
    )


# --- measures and units


@pytest.mark.parametrize(
    ("measure", "unit", "more", "less"),
    [
        ("yield", "bu/ac", "standing gave 1.5 bu/ac more (1.0 to 2.0)", "standing gave 1.5 bu/ac less"),
        ("yield", "t/ha", "standing gave 1.50 t/ha more (1.00 to 2.00)", "standing gave 1.50 t/ha less"),
        ("yield", "kg/ha", "standing gave 2 kg/ha more (1 to 2)", "standing gave 2 kg/ha less"),
        ("yield_as_sold", "lb/ac", "standing gave 2 lb/ac more as sold (1 to 2)", "2 lb/ac less as sold (2 to 1 less)"),
        (
            "green_seed",
            "points",
            "had 1.50 points more green seed",
            "had 1.50 points less green seed (2.00 to 1.00 less)",
        ),
        ("loss", "bu/ac", "standing lost 1.5 bu/ac more", "standing lost 1.5 bu/ac less"),
        ("dockage", "points", "standing had 1.50 points more dockage", "standing had 1.50 points less dockage"),
        ("moisture", "points", "standing was 1.50 points wetter", "1.50 points drier (2.00 to 1.00 drier)"),
        ("test_weight", "kg/hL", "standing was 1.5 kg/hL higher in test weight", "1.5 kg/hL lower in test weight"),
        ("thousand_seed", "g", "standing was 1.50 g higher in thousand seed weight", "1.50 g lower"),
        ("days_to_harvest", "days", "standing came to harvest 1.5 days later", "1.5 days earlier (2.0 to 1.0 earlier)"),
        (
            "net_return",
            "$/ac",
            "left $1.50 an acre more ($1.00 to $2.00)",
            "left $1.50 an acre less ($2.00 to $1.00 less)",
        ),
        ("sleep", "h", "standing was 1.50 h higher in sleep", "standing was 1.50 h lower in sleep"),
        ("seeds_lost", "", "standing was 1.50 higher in seeds lost", "standing was 1.50 lower in seeds lost"),
        ("", "", "standing was 1.50 higher in the measure", "standing was 1.50 lower in the measure"),
    ],
)
def test_each_measure_has_its_own_words(measure, unit, more, less):
    up = comparison(answer(HIGHER, 1.5, 1.0, 2.0), measure=measure, unit=unit, margin=None)
    down = comparison(answer(LOWER, -1.5, -2.0, -1.0), measure=measure, unit=unit, margin=None)
    assert more in wording.these_fields_sentence(up)
    assert less in wording.these_fields_sentence(down)


def test_every_phrase_belongs_to_a_measure():
    assert set(PHRASES) <= set(MEASURES)


def test_money_is_whole_dollars_when_it_is_large():
    one = comparison(answer(HIGHER, 14.2, 2.4, 26.1), measure="net_return", unit="$/ac", margin=10.0)
    assert "standing left $14 an acre more ($2 to $26)" in wording.sentence(one)


@pytest.mark.parametrize(
    ("estimate", "low", "high", "words"),
    [(350.0, 250.0, 450.0, "350 h"), (35.0, 25.0, 45.0, "35.0 h"), (0.035, 0.025, 0.045, "0.0350 h")],
)
def test_unknown_measure_shows_three_figures_of_its_largest_number(estimate, low, high, words):
    one = comparison(answer(HIGHER, estimate, low, high), measure="sleep", unit="h", margin=None)
    assert f"{words} higher in sleep" in wording.sentence(one)


def test_real_difference_never_seems_to_touch_zero():
    one = comparison(answer(HIGHER, 1.2, 0.03, 2.4))
    assert "(0.03 to 2.40)" in wording.sentence(one)


def test_range_inside_the_margin_never_seems_to_reach_it():
    one = comparison(answer(SAME, 0.2, -0.58, 0.98))
    assert "between 0.58 less and 0.98 more, inside the 1.0 bu/ac" in wording.sentence(one)


def test_margin_is_shown_as_it_was_set():
    assert "from 1.25 bu/ac." in wording.level_and_margin(comparison(answer(HIGHER, 1.3, 0.4, 2.2), margin=1.25))


def test_unit_change_changes_only_numbers_and_unit():
    one = compare(
        [41.2, 39.9, 43.0, 40.1, 38.7, 42.2],
        [40.0, 40.3, 40.1, 39.0, 39.9, 40.4],
        crop_year=[2021, 2021, 2022, 2022, 2023, 2023],
        measure="yield",
        unit="bu/ac",
        margin=1.0,
    )

    def without_numbers(text):
        return re.sub(r"\d+(\.\d+)?", "0", text)

    for unit, per_bu_ac in PER_BU_AC.items():
        other = scaled(one, per_bu_ac, unit)
        for before, after in zip(every_text(one), every_text(other), strict=True):
            assert without_numbers(before) == without_numbers(after.replace(unit, "bu/ac"))


# --- what it rests on, settings, next steps


def test_rests_on():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2))
    assert wording.rests_on(one) == "22 pairs, 14 field-years, 5 years; 2 pairs left out."
    single = replace(one, pairs=1, field_years=1, years=1, left_out=1)
    assert wording.rests_on(single) == "1 pair, 1 field-year, 1 year; 1 pair left out."
    assert wording.rests_on(replace(one, left_out=0)).endswith("; none left out.")


@pytest.mark.parametrize(
    ("counts", "ground"),
    [
        ({"pairs": 1, "field_years": 1, "years": 1}, "On this one pair standing"),
        ({"pairs": 4, "field_years": 1, "years": 1}, "On this one field-year, by its 4 strip pairs, standing"),
        ({"pairs": 6, "field_years": 6, "years": 1}, "On these 6 field-years in one year standing"),
        ({"pairs": 6, "field_years": 6, "years": 2}, "On these 6 field-years over 2 years standing"),
    ],
)
def test_grammar_of_where_it_was_seen(counts, ground):
    assert wording.these_fields_sentence(comparison(answer(HIGHER, 1.3, 0.4, 2.2), **counts)).startswith(ground)


def test_single_crop_year_is_named_when_known():
    by_year = (YearResult(crop_year=2023, field_years=6, estimate=1.3, low=0.4, high=2.2),)
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), field_years=6, years=1, by_year=by_year)
    assert wording.these_fields_sentence(one).startswith("On these 6 field-years in 2023 standing")


def test_strips_of_one_field_are_named_in_what_could_be_seen():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), pairs=4, field_years=1, years=1, detectable_difference=2.6)
    assert wording.what_could_be_seen(one).startswith("Four such strip pairs would find a gap of 2.6 bu/ac or more")


def test_level_and_margin_are_said():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), level=0.9)
    assert wording.level_and_margin(one) == (
        "Level 90 in 100: so often do ranges made this way hold the true difference. "
        "A difference in yield matters from 1.0 bu/ac."
    )
    assert "No difference in yield is set" in wording.level_and_margin(replace(one, margin=None))


def test_next_steps_say_how_much_more_is_needed():
    one = comparison(
        answer(OPEN, 0.3, -2.4, 3.1), answer(OPEN, 0.3, -4.0, 4.6), field_years_needed=23, years_needed=12, left_out=1
    )
    assert wording.next_steps(one) == [
        "Complete the 1 pair that lacks a side, where the papers are still there: that takes no new harvest.",
        "23 field-years in all, 9 more than now, would show a true gap of 1.0 bu/ac here, in 8 of 10 cases.",
        "Twelve years in all, 7 more than now, would show a lasting gap of 1.0 bu/ac, "
        "with as many fields a year as now, in 8 of 10 cases.",
    ]


@pytest.mark.parametrize(
    ("needed", "begins"),
    [
        (100, "100 field-years in all, 86 more than now, would show"),
        (101, "More than 100 field-years would be needed to show a true gap of 1.0 bu/ac here."),
        (14, "14 field-years would already show a true gap of 1.0 bu/ac here"),
        (15, "15 field-years in all, 1 more than now, would show"),
    ],
)
def test_next_steps_at_the_edges(needed, begins):
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), field_years_needed=needed, left_out=0)
    assert wording.next_steps(one)[0].startswith(begins)


def test_next_steps_say_nothing_of_what_is_unknown():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), answer(OPEN, 0.3, -4.0, 4.6), left_out=0)
    assert wording.next_steps(one) == []


def test_next_steps_ask_for_a_margin_when_there_is_none():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), answer(OPEN, 0.3, -4.0, 4.6), margin=None, left_out=0)
    assert wording.next_steps(one) == ["Say which difference in yield would matter; then what it takes can be told."]


def test_next_steps_after_both_are_settled():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(SAME, 0.1, -0.4, 0.5), left_out=0)
    assert wording.next_steps(one) == ["Both questions are settled for yield at the 95 in 100 level."]


@pytest.mark.parametrize("years", [1, 2, 3])
def test_years_asked_for_are_those_the_comparison_asks_for(years):
    one = compare(
        [1.0 + 0.1 * year for year in range(years)],
        [0.0] * years,
        crop_year=[2020 + year for year in range(years)],
        measure="sleep",
        unit="h",
    )
    asked = [step for step in wording.next_steps(one) if "more year" in step]
    assert [step.split()[0] for step in asked] == {1: ["Two"], 2: ["One"], 3: []}[years]
    assert wording.FEWEST == FEWEST_REPLICATES


# --- tables


@pytest.mark.parametrize(
    ("finding", "small", "words"),
    [
        (HIGHER, False, "standing higher"),
        (LOWER, False, "standing lower"),
        (HIGHER, True, "standing slightly higher"),
        (LOWER, True, "standing slightly lower"),
        (SAME, False, "same in practice"),
        (OPEN, False, "not settled"),
        (FEW, False, "too few"),
    ],
)
def test_finding_in_two_or_three_words(finding, small, words):
    assert wording.finding_words(answer(finding, small=small)) == words


def test_difference_for_a_column_is_signed():
    one = comparison(answer(LOWER, -0.9, -1.4, -0.5), answer(FEW, reason="There is only one year.", replicates=1))
    assert wording.estimate_with_range(one, one.these_fields) == "\u22120.9 (\u22121.4 to \u22120.5)"
    assert wording.estimate_with_range(one, one.years_to_come) == "unknown"
    year = YearResult(crop_year=2023, field_years=1, estimate=0.4, low=None, high=None)
    assert wording.year_with_range(one, year) == "0.4"
    assert wording.year_with_range(one, replace(year, low=-0.1, high=0.9)) == "0.4 (\u22120.1 to 0.9)"


def test_checker_finds_every_number():
    these = answer(HIGHER, 1.3, 0.4, 2.2, std_error=0.41, df=9, p_value=0.0123, equivalence_p=0.8)
    future = answer(
        OPEN, 1.2, -1.1, 3.6, df=4, year_sd=1.5, field_sd=0.7, prediction_low=-7.1, prediction_high=9.4, replicates=5
    )
    rows = {row.name: (row.these_fields, row.years_to_come) for row in wording.checker_rows(comparison(these, future))}
    assert rows == {
        "method": ("paired t", "paired t"),
        "independent values": ("14", "5"),
        "estimate, standing minus windrowed, bu/ac": ("1.300", "1.200"),
        "standard error, bu/ac": ("0.410", "unknown"),
        "degrees of freedom": ("9", "4"),
        "interval, bu/ac": ("0.400 to 2.200", "\u22121.100 to 3.600"),
        "level": ("95 in 100", "95 in 100"),
        "p, two-sided": ("0.012", "unknown"),
        "difference that matters": ("1.0 bu/ac", "1.0 bu/ac"),
        "p, equivalence (two one-sided tests)": ("0.800", "unknown"),
        "exact sign-flip p": ("0.012", "–"),
        "Wilcoxon signed-rank p, exact": ("below 0.001", "–"),
        "sign test p": ("unknown", "–"),
        "Hodges-Lehmann estimate, bu/ac": ("1.250", "–"),
        "Hodges-Lehmann interval, bu/ac": ("unknown", "–"),
        "standard deviation between years (tau), bu/ac": ("–", "1.500"),
        "standard deviation of fields within a year, bu/ac": ("–", "0.700"),
        "prediction for a new field in a new year, bu/ac": ("–", "\u22127.100 to 9.400"),
    }


# --- years


def test_years_of_opposite_sign_are_told_by_the_extreme_ones():
    one = compare(
        [4.8, 4.9, 5.0, 5.1, -4.6, -4.7, -4.75, -4.65],
        [0.0] * 8,
        crop_year=[2023] * 4 + [2024] * 4,
        field=list("ABCDABCD"),
        measure="yield",
        unit="bu/ac",
        margin=1.0,
    )
    assert wording.these_fields_sentence(one) == (
        "On these 8 field-years over 2 years it depends on the year: 4.9 bu/ac more in 2023, 4.7 less in 2024. An "
        "average would say nothing."
    )
    assert wording.finding_words(one.these_fields) == "depends on the year"
    assert not any("settled" in step for step in wording.next_steps(one))


# --- help


def test_each_help_text_is_one_sentence():
    for text in HELP.values():
        assert re.fullmatch(r"[A-Z][^.!?]*\.", text.replace("0.", "0,")), text


# --- what is never said

FORBIDDEN = re.compile(
    r"significan|prove[sdn]?\b|insight|\bbest\b|trend|great|!|\bnan\b|\binf\b|None|[-\u2212]0(\.0+)?(?![.\d])"
    r"|(?<![.\d])1 (pairs|field-years|years|days)\b|  |\.\.| [.,;:)]"
)
finite = st.floats(-1e4, 1e4)


@st.composite
def answers(draw):
    """An answer whose numbers agree with its finding, as comparison makes them."""
    finding = draw(st.sampled_from([HIGHER, LOWER, SAME, OPEN, FEW]))
    low, estimate, high = sorted(draw(st.tuples(finite, finite, finite)))
    small = False
    if finding == FEW:
        estimate = draw(st.none() | finite)
        return answer(FEW, estimate, reason=draw(st.none() | st.just("There are 2 years.")), replicates=2)
    if finding in (HIGHER, LOWER):
        ends = sorted(draw(st.tuples(*[st.floats(1e-3, 1e4)] * 3)))
        low, estimate, high = ends if finding == HIGHER else [-end for end in reversed(ends)]
        small = draw(st.booleans())
    if finding in (OPEN, SAME):
        low, high = -abs(low), abs(high)
        estimate = min(max(estimate, low), high)
    reach = draw(st.none() | st.floats(0, 1e4))
    return answer(
        finding,
        estimate,
        low,
        high,
        small=small,
        std_error=draw(st.none() | st.floats(0, 1e4)),
        df=draw(st.sampled_from([1, 4, 9.5])),
        p_value=draw(st.none() | st.floats(0, 1)),
        prediction_low=None if reach is None else low - reach,
        prediction_high=None if reach is None else high + reach,
    )


@st.composite
def comparisons(draw):
    measure, unit = draw(
        st.sampled_from(
            [(measure.name, measure.unit) for measure in MEASURES.values()]
            + [("yield", "kg/ha"), ("loss", "t/ha"), ("yield", "lb/ac"), ("sleep", "h"), ("seed_count", ""), ("x", "%")]
        )
    )
    years = draw(st.integers(1, 4))
    field_years = draw(st.integers(years, 15))
    pairs = draw(st.integers(field_years, 20))
    by_year = tuple(
        YearResult(crop_year=2020 + year, field_years=1, estimate=draw(finite), low=None, high=None)
        for year in range(years)
    )
    return comparison(
        draw(answers()),
        draw(answers()),
        measure=measure,
        unit=unit,
        level=draw(st.sampled_from([0.8, 0.9, 0.95, 0.995])),
        margin=draw(st.none() | st.floats(1e-3, 1e4)),
        pairs=pairs,
        field_years=field_years,
        years=years,
        left_out=draw(st.integers(0, 3)),
        by_year=by_year,
        detectable_difference=draw(st.none() | st.floats(1e-3, 1e4)),
        field_years_needed=draw(st.none() | st.integers(3, 200)),
        years_needed=draw(st.none() | st.integers(3, 200)),
    )


@given(comparisons())
@settings(max_examples=300, deadline=None)
def test_no_text_ever_says_what_the_voice_forbids(one):
    for text in every_text(one):
        assert not FORBIDDEN.search(text), text
    assert len(wording.next_steps(one)) <= 3


@given(comparisons())
@settings(max_examples=100, deadline=None)
def test_every_sentence_begins_large_and_ends_with_a_stop(one):
    for text in (wording.sentence(one), wording.rests_on(one), *wording.next_steps(one)):
        assert re.match(r"[A-Z0-9]", text)
        assert text.endswith(".")


@given(st.lists(st.floats(-9, 9), min_size=1, max_size=8), st.integers(1, 3), st.sampled_from(["higher", "lower"]))
@settings(max_examples=100, deadline=None)
def test_whatever_the_comparison_finds_can_be_said(differences, years, direction):
    one = compare(
        differences,
        [0.0] * len(differences),
        crop_year=[2020 + place % years for place in range(len(differences))],
        measure="yield",
        unit="bu/ac",
        direction=direction,
        margin=1.0,
    )
    for text in every_text(one):
        assert not FORBIDDEN.search(text), text


@given(st.floats(0.15, 9), st.floats(0.1, 0.9))
@settings(max_examples=100, deadline=None)
def test_swapping_sides_swaps_more_and_less(estimate, share):
    low, high = estimate * share, estimate * (2 - share)
    up = wording.these_fields_sentence(comparison(answer(HIGHER, estimate, low, high)))
    down = wording.these_fields_sentence(comparison(answer(LOWER, -estimate, -high, -low)))
    assert sorted(re.findall(r"\d+\.\d+", up)) == sorted(re.findall(r"\d+\.\d+", down))
    assert up.count(" more") == 1
    assert " less" not in up
    assert " more" not in down

"""An answer in a table: its mark, its range, every number for a statistician, and what carries it."""

from dataclasses import replace

import pytest

from analytics.answer import marks, wording
from analytics.answer.statistics_rows import carried_notes, carried_rows, statistics_rows
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Finding, YearsAgree
from analytics.trade.measures import MEASURES
from tests.answer.made import (
    AHEAD,
    BY_YEAR,
    FEW,
    HERE,
    HIGHER,
    LOWER,
    ONE_FIELD,
    OPEN,
    SAME,
    answer,
    carries,
    comparison,
)


@pytest.mark.parametrize(
    ("measure", "finding", "words"),
    [
        ("yield", HIGHER, "more (better)"),
        ("yield", LOWER, "less (worse)"),
        ("green_seed", LOWER, "less green (better)"),
        ("loss", HIGHER, "more lost (worse)"),
        ("moisture", LOWER, "drier (better)"),
        ("days_to_harvest", HIGHER, "later (worse)"),
        ("yield", SAME, "same in practice"),
        ("yield", BY_YEAR, "depends on the year"),
        ("yield", OPEN, "not settled"),
        ("yield", FEW, "too few"),
    ],
)
def test_finding_in_the_measures_own_words(measure, finding, words):
    """Loss and days were told as "standing higher", which reads as praise, or as the height of a crop."""
    direction = MEASURES[measure].direction
    better = (
        {HIGHER: "standing", LOWER: "windrowed"} if direction == "higher" else {HIGHER: "windrowed", LOWER: "standing"}
    )
    one = comparison(answer(finding, 1.0, 0.5, 1.5, better=better.get(finding)), measure=measure)
    assert marks.finding_words(one, one.these_fields) == words


def test_a_small_difference_is_slight():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8, small=True))
    assert marks.finding_words(one, one.these_fields) == "slightly more (better)"
    assert marks.mark(one, one.these_fields) == "0.5 more (better)"


def test_every_finding_has_a_look_of_its_own_in_black_and_white():
    looks = {
        marks.mark_look(answer(finding, 1.0), HERE).shape + marks.mark_look(answer(finding, 1.0), HERE).fill
        for finding in (HIGHER, LOWER, SAME, BY_YEAR, OPEN)
    }
    assert len(looks) == 5


def test_questions_are_told_apart_by_the_bar_and_never_by_the_filling():
    here, ahead = (marks.mark_look(answer(HIGHER, 1.0), question) for question in (HERE, AHEAD))
    assert here.fill == ahead.fill == here.colour
    assert here.thickness > ahead.thickness


def test_difference_for_a_column_is_signed():
    one = comparison(answer(LOWER, -0.9, -1.4, -0.5), answer(FEW, reason="There is only one year.", replicates=1))
    assert wording.estimate_with_range(one, one.these_fields) == "\u22120.9 (\u22121.4 to \u22120.5)"
    assert wording.estimate_with_range(one, one.years_to_come) == "unknown"
    year = YearResult(crop_year=2023, field_years=1, estimate=0.4, low=None, high=None)
    assert wording.year_with_range(one, year) == "0.4"
    assert wording.year_with_range(one, replace(year, low=-0.1, high=0.9)) == "0.4 (\u22120.1 to 0.9)"


def test_a_statistician_finds_every_number():
    these = answer(HIGHER, 1.3, 0.4, 2.2, std_error=0.41, df=9, p_value=0.0123, equivalence_p=0.8)
    future = answer(OPEN, 1.2, -1.1, 3.6, df=4, year_sd=1.5, field_sd=0.7, replicates=5)
    one = comparison(
        these,
        future,
        new_field=(-7.1, 9.4),
        years_agree=YearsAgree(f_p=0.03, gail_simon_p=0.4, disagree=True, highest=2023, lowest=2024),
    )
    rows = {row.name: (row.these_fields, row.years_to_come) for row in statistics_rows(one)}
    assert rows == {
        "rests on": ("all pairs: 14 field-years in 5 years", "all pairs: 14 field-years in 5 years"),
        "method": ("paired t", "paired t"),
        "independent values": ("14", "5"),
        "estimate, standing minus windrowed, bu/ac": ("1.300", "1.200"),
        "standard error, bu/ac": ("0.410", "unknown"),
        "degrees of freedom": ("9", "4"),
        "95\u202f% range, bu/ac": ("0.400 to 2.200", "\u22121.100 to 3.600"),
        "p, two-sided": ("0.012", "unknown"),
        "difference that matters": ("1.0 bu/ac", "1.0 bu/ac"),
        "90\u202f% range, for the same in practice, bu/ac": ("0.400 to 2.200", "\u22121.100 to 3.600"),
        "p, equivalence (two one-sided tests)": ("0.800", "unknown"),
        "do the years agree? F test p": ("0.030", "–"),
        "do they change sides? Gail-Simon p": ("0.400", "–"),
        "exact sign-flip p": ("0.012", "–"),
        "Wilcoxon signed-rank p, exact": ("below 0.001", "–"),
        "sign test p": ("unknown", "–"),
        "Hodges-Lehmann estimate, bu/ac": ("1.250", "–"),
        "Hodges-Lehmann range, bu/ac": ("unknown", "–"),
        "standard deviation between years (tau), bu/ac": ("–", "1.500"),
        "standard deviation of fields within a year, bu/ac": ("–", "0.700"),
        "a field not tried yet, in a new year, bu/ac": ("–", "\u22127.100 to 9.400"),
        "how a field not tried yet is judged": ("–", "t over year means"),
        "winters in which three years or more could be looked at": ("–", "3"),
    }


def test_what_carries_it_has_always_the_same_rows():
    rows = carried_rows(
        comparison(answer(OPEN, 0.3, -1.8, 2.4, basis=ONE_FIELD), carries=carries(one_field=(0.3, -1.8, 2.4)))
    )
    assert [row.name for row in rows] == [
        "one field cut both ways *",
        "two separate fields",
        "matched after harvest",
        "drawn by lot",
        "chosen",
        "lot or choice not known",
        "no windrow before 60 % colour",
        "all pairs",
    ]
    assert rows[0].these_fields == "0.3 (\u22121.8 to 2.4)"
    assert {row.these_fields for row in rows[1:]} == {"no pair"}


def test_rows_that_years_to_come_alone_rest_on_have_two_stars():
    """One star stood for both questions, also where years to come rested on all pairs."""
    rows = carries(one_field=(0.3, -1.8, 2.4), all=(2.0, -1.0, 5.0))
    one = comparison(answer(OPEN, 0.3, -1.8, 2.4, basis=ONE_FIELD), answer(OPEN, 2.0, -1.0, 5.0), carries=rows)
    starred = [row.name for row in carried_rows(one) if row.name.endswith("*")]
    assert starred == ["one field cut both ways *", "all pairs **"]
    assert "** for years to come it rests on these" in carried_notes(one)
    assert "All pairs are without those matched after harvest." in carried_notes(one)


def test_beside_a_finding_stands_the_range_that_belongs_to_it():
    """A range at 95 % that pokes out of the band stood beside "same in practice", which is said by the one at 90 %."""
    same = answer(Finding.NO_DIFFERENCE_THAT_MATTERS, 0.1, -0.9, 1.1, equivalence_low=-0.7, equivalence_high=0.9)
    open_ = answer(Finding.NOT_SETTLED, 0.1, -0.9, 1.1, equivalence_low=-0.7, equivalence_high=0.9)
    assert (same.shown_low, same.shown_high) == (-0.7, 0.9)
    assert wording.estimate_with_range(comparison(same), same) == "0.1 (\u22120.7 to 0.9)"
    assert wording.estimate_with_range(comparison(open_), open_) == "0.1 (\u22120.9 to 1.1)"

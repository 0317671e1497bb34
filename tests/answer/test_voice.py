"""Whatever is said of any comparison, in any unit: what a grower would say, and nothing that he would not."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.answer import marks, wording
from analytics.answer.next_steps import next_steps
from analytics.answer.statistics_rows import carried_rows, statistics_rows
from analytics.statistics.another_unit import scaled
from analytics.statistics.comparison import compare
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Finding
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from analytics.trade.units import PER_BU_AC
from tests.answer.made import (
    AHEAD,
    BY_YEAR,
    FEW,
    HERE,
    HIGHER,
    LOWER,
    OPEN,
    SAME,
    answer,
    comparison,
)


def every_text(one):
    """All that is said about a comparison."""
    return [
        wording.sentence(one),
        wording.these_fields_sentence(one),
        wording.years_to_come_sentence(one),
        wording.firm_sentence(one, HERE),
        wording.firm_sentence(one, AHEAD),
        wording.carries_sentence(one),
        wording.what_could_be_seen(one),
        wording.rests_on(one),
        wording.level_and_margin(one),
        *next_steps(one),
        marks.mark(one, one.these_fields),
        marks.mark(one, one.years_to_come),
        wording.estimate_with_range(one, one.these_fields),
        wording.estimate_with_range(one, one.years_to_come),
        *(wording.year_with_range(one, year) for year in one.by_year),
        *(text for row in statistics_rows(one) for text in (row.name, row.these_fields, row.years_to_come)),
        *(text for row in carried_rows(one) for text in (row.name, row.these_fields, row.years_to_come)),
    ]


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
        return re.sub(r"\d[\d,]*(\.\d+)?", "0", text)

    for unit, per_bu_ac in PER_BU_AC.items():
        other = scaled(one, per_bu_ac, unit)
        for before, after in zip(every_text(one), every_text(other), strict=True):
            assert without_numbers(before) == without_numbers(after.replace(unit, "bu/ac"))


def test_each_help_text_is_one_sentence():
    for text in HELP.values():
        assert re.fullmatch(r"[A-Z][^.!?]*\.", text.replace("0.", "0,")), text


FORBIDDEN = re.compile(
    r"significan|\breal\b|prove[sdn]?\b|insight|\bbest\b|trend|great|!|\bnan\b|\binf\b|None|[-\u2212]0(\.0+)?(?![.\d])"
    r"|(?<![.\d])1 (pairs|field-years|years|days)\b|  |\.\.| [.,;:)]"
)
finite = st.floats(-1e4, 1e4)


@st.composite
def answers(draw):
    """An answer whose numbers agree with its finding, as comparison makes them."""
    finding = draw(st.sampled_from(list(Finding)))
    low, estimate, high = sorted(draw(st.tuples(finite, finite, finite)))
    small = False
    if finding == FEW:
        estimate = draw(st.none() | finite)
        return answer(FEW, estimate, reason=draw(st.none() | st.just("There are 2 years.")), replicates=2)
    if finding in (HIGHER, LOWER):
        ends = sorted(draw(st.tuples(*[st.floats(1e-3, 1e4)] * 3)))
        low, estimate, high = ends if finding == HIGHER else [-end for end in reversed(ends)]
        small = draw(st.booleans())
    if finding in (OPEN, SAME, BY_YEAR):
        low, high = -abs(low), abs(high)
        estimate = min(max(estimate, low), high)
    return answer(
        finding,
        estimate,
        low,
        high,
        small=small,
        std_error=draw(st.none() | st.floats(0, 1e4)),
        df=draw(st.sampled_from([1, 4, 9.5])),
        p_value=draw(st.none() | st.floats(0, 1)),
    )


@st.composite
def comparisons(draw):
    measure, unit = draw(
        st.sampled_from(
            [(measure.name, measure.unit) for measure in MEASURES.values()]
            + [("yield", "kg/ha"), ("loss", "t/ha"), ("yield", "lb/ac"), ("sleep", "h"), ("seed_count", ""), ("x", "%")]
        )
    )
    these, future = draw(answers()), draw(answers())
    years = draw(st.integers(2 if BY_YEAR in (these.finding, future.finding) else 1, 4))
    field_years = draw(st.integers(years, 15))
    pairs = draw(st.integers(field_years, 20))
    by_year = tuple(
        YearResult(crop_year=2020 + year, field_years=1, estimate=draw(finite), low=None, high=None)
        for year in range(years)
    )
    return comparison(
        these,
        future,
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


def found(finding, question):
    """An answer of that finding, with numbers that agree with it."""
    low, estimate, high = {HIGHER: (0.4, 1.3, 2.2), LOWER: (-2.2, -1.3, -0.4)}.get(finding, (-0.7, 0.1, 0.9))
    if finding is FEW:
        years = question is AHEAD
        return answer(FEW, estimate, reason="There are 2 years." if years else "There are 2 field-years.", replicates=2)
    return answer(finding, estimate, low, high, std_error=0.4, df=4, p_value=0.03)


@pytest.mark.parametrize("measure", ["yield", "loss", "net_return", "sleep"])
@pytest.mark.parametrize("ahead", Finding)
def test_no_two_findings_together_say_what_the_voice_forbids(measure, ahead):
    unit = MEASURES[measure].unit if measure in MEASURES else "h"
    by_year = tuple(
        YearResult(crop_year=2023 + place, field_years=7, estimate=estimate, low=None, high=None)
        for place, estimate in enumerate((4.9, -4.7))
    )
    for here in Finding:
        one = comparison(found(here, HERE), found(ahead, AHEAD), measure=measure, unit=unit, years=2, by_year=by_year)
        for text in every_text(one):
            assert not FORBIDDEN.search(text), text


@given(comparisons())
def test_no_text_ever_says_what_the_voice_forbids(one):
    for text in every_text(one):
        assert not FORBIDDEN.search(text), text
    assert len(next_steps(one)) <= 3


@given(comparisons())
def test_every_sentence_begins_large_and_ends_with_a_stop(one):
    for text in (wording.sentence(one), wording.rests_on(one), *next_steps(one)):
        assert re.match(r"[A-Z0-9]", text)
        assert text.endswith(".")


@given(st.lists(st.floats(-9, 9), min_size=1, max_size=8), st.integers(1, 3), st.sampled_from(["higher", "lower"]))
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
def test_swapping_sides_swaps_more_and_less(estimate, share):
    low, high = estimate * share, estimate * (2 - share)
    up = wording.these_fields_sentence(comparison(answer(HIGHER, estimate, low, high)))
    down = wording.these_fields_sentence(comparison(answer(LOWER, -estimate, -high, -low)))
    assert sorted(re.findall(r"\d+\.\d+", up)) == sorted(re.findall(r"\d+\.\d+", down))
    assert up.replace("more than chance", "").count(" more") == 1
    assert " less" not in up
    assert " more" not in down.replace("more than chance", "")

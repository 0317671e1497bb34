"""What others found beside the farm's own answers: whose each line is, on which scale, and where it comes from."""

import pytest

from analytics.answer.beside_published import (
    NOT_YET,
    Whose,
    beside_published,
    lines_in_words,
    results_words,
    started_of,
)
from analytics.answer.published import PRIORS, what_others_found
from analytics.answer.review import in_yield_unit, what_it_depends_on
from analytics.statistics.comparison import compare
from analytics.statistics.results import Question


def two_years(measure="yield", unit="bu/ac", **other):
    """Two fields in each of two years; standing 1.2, 3.4, 2.0 more and 1.0 less."""
    given = {
        "crop_year": [2024, 2024, 2025, 2025],
        "field": ["North half", "Creek quarter"] * 2,
        "measure": measure,
        "unit": unit,
        "margin": 1.0,
    }
    return compare([41.2, 43.4, 42.0, 39.0], [40.0] * 4, **(given | other))


@pytest.fixture(scope="module")
def farm(demo, compared):
    return compared, what_it_depends_on(demo, "yield", "bu/ac")


def beside(farm, measure):
    found, asked = farm
    return beside_published(found[measure], grain=found["yield"], asked=asked)


@pytest.mark.parametrize("measure", ["yield", "loss"])
def test_lines_are_those_of_others_then_the_farms_own_then_both(farm, measure):
    whose = [line.whose for line in beside(farm, measure).differences]
    assert whose == sorted(whose, key=list(Whose).index)
    assert [whose.count(one) for one in (Whose.FARM, Whose.BOTH)] == [2, 3]


def test_the_farms_own_lines_are_its_two_answers(farm):
    here, ahead = (line for line in beside(farm, "yield").differences if line.whose is Whose.FARM)
    comparison = farm[0]["yield"]
    assert (here.question, ahead.question) == tuple(Question)
    assert (here.low, here.estimate, here.high) == (
        comparison.these_fields.low,
        comparison.these_fields.estimate,
        comparison.these_fields.high,
    )
    assert (ahead.low, ahead.high) == (comparison.years_to_come.low, comparison.years_to_come.high)


def test_both_together_show_where_they_start_and_where_the_farms_years_move_them(farm):
    """1.96 standard deviations to either side, the stated prior, half as wide, two and a half times as wide."""
    both = [line for line in beside(farm, "yield").differences if line.whose is Whose.BOTH]
    sd = PRIORS["yield"].mean_sd
    assert [line.start for line in both] == pytest.approx([1.95996 * sd * times for times in (1, 0.5, 2.5)], rel=1e-5)
    assert all(-line.start < line.low < line.estimate < line.high < line.start for line in both)


def test_no_survey_is_on_a_scale_and_each_is_told_apart(farm):
    for measure in ("yield", "loss"):
        found = beside(farm, measure)
        surveys = {row.found for row in what_others_found(measure, unit="bu/ac", yield_bu_ac=40) if row.is_survey}
        assert {row.found for row in found.surveys} == surveys != set()
        lines = (*found.differences, *found.each_way, *found.early)
        assert not any("six standing growers" in line.told or "standing lost more" in line.told for line in lines)


def test_only_loss_has_values_of_each_way_and_the_farms_own_beside_them(farm):
    loss = beside(farm, "loss")
    assert beside(farm, "yield").each_way == ()
    assert {line.side for line in loss.each_way} == {"standing", "windrowed"}
    standing, windrowed = (line for line in loss.each_way if line.whose is Whose.FARM)
    comparison = farm[0]["loss"]
    assert (standing.estimate, windrowed.estimate) == (comparison.mean_standing, comparison.mean_windrowed)


def test_shares_of_the_yield_are_taken_of_the_farms_own(farm):
    """7 % lost standing, of the 39.8 bu/ac that windrowed plots of the demo yielded."""
    line = next(line for line in beside(farm, "loss").each_way if "high shattering" in line.words)
    assert line.low == pytest.approx(0.07 * farm[0]["yield"].mean_windrowed)
    assert line.size == "2.8 bu/ac"


def test_early_cutting_stands_with_yield_and_the_farm_tells_it_sideways(farm):
    early = beside(farm, "yield").early
    assert [line.whose for line in early] == [Whose.PUBLISHED] * 3 + [Whose.FARM]
    asked = next(line for line in farm[1] if line.name == "early_cut")
    assert early[-1].estimate == asked.found.fixed.difference
    assert beside(farm, "green_seed").early == ()


def test_green_seed_has_words_of_others_and_no_joint_answer(farm):
    found = beside(farm, "green_seed")
    assert all(line.low is None and line.words for line in found.differences if line.whose is Whose.PUBLISHED)
    assert found.started is None
    assert found.joint_words == ()
    assert found.how_to_read.startswith("What others published is in words alone")


@pytest.mark.parametrize("measure", ["moisture", "net_return", "days_to_harvest"])
def test_nothing_is_shown_where_nothing_is_published(farm, measure):
    assert beside(farm, measure) is None


def test_a_farm_of_two_years_has_both_together_and_is_told_what_it_cannot_know():
    found = beside_published(two_years())
    own, ahead = (line for line in found.differences if line.whose is Whose.FARM)
    assert own.low is not None
    assert (ahead.low, ahead.size) == (None, "1.4 more, too few")
    assert found.unlike == NOT_YET
    assert found.joint_words[0] == (
        "From the published trials alone the likely range is 8 bu/ac less to 8 more; "
        "with two years of yours it is 2 less to 4 more."
    )


def test_a_single_year_has_no_joint_answer():
    assert started_of(two_years(crop_year=[2025] * 4, field=list("ABCD"))) is None
    assert beside_published(two_years(crop_year=None, field=None)).started is None


@pytest.mark.parametrize(("measure", "unit"), [("yield", "g"), ("green_seed", "%"), ("oil", "points")])
def test_a_measure_or_unit_of_ones_own_has_nothing_published(measure, unit):
    assert beside_published(two_years(measure, unit)) is None
    assert started_of(two_years(measure, unit)) is None


def test_another_unit_moves_every_line_alike(farm):
    found, _ = farm
    metric = beside_published(in_yield_unit(found["yield"], "kg/ha"))
    for line, other in zip(beside_published(found["yield"]).differences, metric.differences, strict=True):
        assert (line.low is None) == (other.low is None)
        if line.low is not None:
            assert other.low == pytest.approx(56.0426 * line.low, rel=1e-3, abs=0.05)


def test_the_picture_in_words_says_whose_each_line_is(farm):
    told = lines_in_words(beside(farm, "yield").differences)
    assert told[1] == (
        "Published by others, Saskatchewan 2009-2010: standing gave more at favourable sites: 2.5 to 6.6 more."
    )
    assert told[-1].startswith("Both together, years to come: if nearly nothing was published: 0.3 more (")


def test_each_source_is_named_once_with_how_where_and_what_it_cannot_tell(farm):
    rows = beside(farm, "yield").trials
    told = results_words(rows)
    assert len(told) == len({row.source for row in rows}) < len(rows)
    for row in rows:
        (text,) = (text for text in told if text.endswith(f"{row.source}."))
        assert row.cannot_tell in text
        assert row.where in text
        assert text.count(row.source) == 1

"""From the demo farm's records to an answer: what is left out, what weakens it, and units that change no finding."""

from dataclasses import replace

import pytest

from analytics.answer.review import in_yield_unit, review
from analytics.answer.statistics_rows import together_rows
from analytics.errors import BadInput
from analytics.pairs.compared_pairs import pair_cautions, pair_facts, pair_rows, unpaired_plots
from analytics.settings import change_settings
from analytics.statistics.given_pairs import Kind
from analytics.statistics.results import Basis, CarriedBy, Finding, Question
from analytics.storage.database import open_records
from analytics.trade.measures import MEASURES, find_measure
from analytics.trade.units import PER_BU_AC
from tests.prepared import copied


def test_one_measure_by_itself_is_as_among_the_others_but_for_its_place_among_them(demo, compared):
    alone = review(demo, "yield")
    assert alone == replace(compared["yield"], holm=alone.holm)


def test_every_measure_of_the_demo_has_an_answer(compared):
    assert list(compared) == list(MEASURES)
    assert all(one.these_fields.finding is not Finding.TOO_FEW for one in compared.values())


def test_the_demo_rests_on_field_years_not_on_strips(compared):
    answer = compared["yield"]
    assert (answer.all_pairs.pairs, answer.all_pairs.field_years, answer.all_pairs.years) == (24, 15, 6)
    assert (answer.pairs, answer.field_years, answer.years, answer.left_out) == (17, 8, 6, 2)
    assert answer.these_fields.basis is answer.years_to_come.basis is Basis.ONE_FIELD
    assert {pair.in_these for pair in answer.pair_differences if pair.kind is not Kind.ONE_FIELD} == {False}


def test_the_demo_says_at_once_that_one_field_shows_nothing_and_separate_fields_do(compared):
    """Said before of all together: "3.3 bu/ac more (0.6 to 6.0): a real difference here"."""
    answer = compared["yield"]
    rows = {row.row: row for row in answer.carries if row.question is Question.THESE_FIELDS}
    one, drawn = rows[CarriedBy.ONE_FIELD], rows[CarriedBy.DRAWN]
    assert (one.field_years, round(one.estimate, 2), round(one.low, 2), round(one.high, 2)) == (8, 0.28, -1.84, 2.40)
    assert (drawn.field_years, round(drawn.estimate, 2)) == (4, 0.09)
    assert (rows[CarriedBy.TWO_FIELDS].estimate > 5, rows[CarriedBy.MATCHED].estimate > 5) == (True, True)
    assert answer.these_fields.finding is answer.years_to_come.finding is Finding.NOT_SETTLED


def test_a_load_without_moisture_blocks_one_basis_and_names_the_ticket(demo):
    missing = {
        measure: pair_rows(demo, measure).filter(pair="H1", crop_year=2022)["missing"].item()
        for measure in ("yield", "yield_as_sold")
    }
    assert "moisture on ticket" in missing["yield"]
    assert missing["yield_as_sold"] is None


def test_one_moisture_scales_both_sides_alike(demo_records, compared, tmp_path):
    before = compared["yield"].these_fields
    with open_records(copied(demo_records, tmp_path / "copy.duckdb")) as connection:
        change_settings(connection, {"one_moisture_pct": "8.5"}, done_by="test", why="test")
        after = review(connection, "yield").these_fields
    assert after.estimate == pytest.approx(before.estimate * 90 / 91.5)
    assert after.p_value == pytest.approx(before.p_value)


@pytest.mark.parametrize("unit", PER_BU_AC)
@pytest.mark.parametrize("measure", ["yield", "loss", "green_seed"])
def test_a_finding_never_changes_with_the_unit(compared, measure, unit):
    plain = compared[measure]
    shown = in_yield_unit(plain, unit)
    factor = PER_BU_AC[unit] if find_measure(measure).follows_yield_unit else 1.0
    for before, after in ((plain.these_fields, shown.these_fields), (plain.years_to_come, shown.years_to_come)):
        assert (after.finding, after.small, after.better, after.p_value) == (
            before.finding,
            before.small,
            before.better,
            before.p_value,
        )
        assert after.estimate == pytest.approx(before.estimate * factor)
    assert in_yield_unit(shown, "bu/ac").these_fields.estimate == pytest.approx(plain.these_fields.estimate)


def test_cautions_count_only_the_pairs_that_are_compared(demo):
    rows = pair_rows(demo, "yield")
    complete = rows.filter(rows["difference"].is_not_null())
    found = {caution.code: caution.text for caution in pair_cautions(pair_facts(demo), find_measure("yield"), rows)}
    assert found["different_variety"].startswith(f"In 1 of {complete.height} pairs")
    assert {
        "windrowed_early",
        "weighed_differently",
        "seeded_apart",
        "allocation_chosen",
        "left_out",
    } <= set(found)


def test_scales_are_no_caution_for_a_count_of_seeds(demo):
    rows = pair_rows(demo, "green_seed")
    codes = {caution.code for caution in pair_cautions(pair_facts(demo), find_measure("green_seed"), rows)}
    assert "weighed_differently" not in codes


def test_no_pairs_no_cautions(demo):
    assert pair_cautions(pair_facts(demo), find_measure("yield"), pair_rows(demo, "yield").clear()) == ()


def test_a_plot_in_no_pair_is_listed(demo):
    assert unpaired_plots(demo).select("method").to_series().to_list() == ["standing"]


def test_an_unknown_measure_names_the_known_ones(demo):
    with pytest.raises(BadInput, match="'colour' given; allowed yield"):
        review(demo, "colour")


def test_measures_looked_at_together_get_a_p_no_smaller_than_alone(compared):
    found = compared
    rows = {row.name: row.these_fields for row in together_rows(found)}
    others = [
        name for name in found if name not in ("yield", "yield_as_sold")
    ]  # the main measure, and the same question
    p = found["green_seed"].these_fields.p_value
    smaller = sorted(found[name].these_fields.p_value for name in others if found[name].these_fields.p_value <= p)
    stepped = max(value * (len(others) - place) for place, value in enumerate(smaller))  # Holm 1979, by hand
    assert rows["Green seed"] == f"p {p:.3f}; with all {len(others)} p {stepped:.3f}"
    assert stepped > p
    assert rows["Yield"] == f"p {found['yield'].these_fields.p_value:.3f}"

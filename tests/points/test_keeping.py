"""Strips in the records: one act of plots, loads and pairs whose difference is the one put in; taken back as one."""

from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from analytics.answer.review import review
from analytics.errors import BadInput, Refused
from analytics.files.exporting import export
from analytics.files.importing import bring_in
from analytics.pairs.compared_pairs import pair_rows
from analytics.points import keeping
from analytics.points.neighbours import neighbours_as_pairs
from analytics.points.thinned import CELLS_A_STRIP
from analytics.records.grown_tables import FIELDS, OPERATIONS, PAIRS, PLOTS
from analytics.records.harvest_tables import FIELD_TOTALS, LOADS
from analytics.records.own_tables import MONITOR_CELLS, MONITOR_REMOVALS, MONITOR_STRIPS
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.undoing import plan_undo, undo, undo_lines
from analytics.trade.units import KG_HA_PER_BU_AC
from tests.prepared import begun, copied

OF_A_MONITOR = (MONITOR_STRIPS, MONITOR_REMOVALS, MONITOR_CELLS)
PLACE = {"crop_year": 2025, "field": "Creek flat"}


def kept(connection, found, **how):
    planned = keeping.plan_keeping(connection, found, neighbours_as_pairs(found.strips), **how)
    return planned, keeping.keep_strips(connection, planned, done_by="test", source="screen")


@pytest.fixture(scope="module")
def kept_file(found, tmp_path_factory):
    """Records in which the scaled strips were kept by one act, as drawn by lot."""
    path = tmp_path_factory.mktemp("kept") / "records.duckdb"
    with begun(path) as connection:
        kept(connection, found, allocation="drawn by lot")
    return path


@pytest.fixture(scope="module")
def looked_at(kept_file):
    """A connection to them, for a test that only looks."""
    with open_records(kept_file) as connection:
        yield connection


@pytest.fixture
def own(kept_file, tmp_path):
    """A connection to a copy of them, for a test that changes something."""
    with open_records(copied(kept_file, tmp_path / "records.duckdb"), leaves_log=True) as connection:
        yield connection


def test_what_was_put_in_comes_out_of_the_records(looked_at, field, found):
    answer = review(looked_at, "yield").these_fields
    put_in = field.difference_kg_ha / KG_HA_PER_BU_AC
    assert answer.low < put_in < answer.high
    assert answer.estimate == pytest.approx(put_in, abs=0.6)  # at one moisture and clean of dockage it is a little less
    loads = read_table(looked_at, "loads")
    assert set(loads["weighed_by"]) == {"yield monitor"}
    assert loads.height == 12
    yields = read_table(looked_at, "plot_yield")
    assert yields["is_scaled"].all()
    assert yields["scale_factor"].unique().to_list() == [pytest.approx(field.certified_kg / found.field_monitor_kg)]
    assert set(read_table(looked_at, "pairs")["layout"]) == {"strips"}
    assert set(read_table(looked_at, "plots")["harvested_on"].cast(pl.String)) == {"2025-09-14"}
    assert failed_checks(looked_at) == []


def test_an_unscaled_strip_says_so_and_is_scaled_once_the_ticket_is_typed(connection, field, found, unscaled, add):
    kept(connection, unscaled)
    assert not read_table(connection, "plot_yield")["is_scaled"].any()
    answer = review(connection, "yield")
    assert (answer.all_pairs.pairs, answer.these_fields.finding) == (0, "too_few")
    assert answer.all_pairs.barred == (("weighed by a yield monitor, unscaled", 6),)
    assert "6 pairs in no answer: weighed by a yield monitor, unscaled." in [one.text for one in answer.cautions]
    assert pair_rows(connection, "moisture")["barred"].null_count() == 6
    add(connection, FIELD_TOTALS, PLACE | {"certified_kg": float(field.certified_kg)})
    assert pair_rows(connection, "yield")["barred"].null_count() == 6
    yields = read_table(connection, "plot_yield").sort("plot")
    assert yields["is_scaled"].all()
    weighed = {one.strip.plot: one.weight_kg * one.scale_factor for one in found.strips}
    got = yields["weight_kg"] * yields["scale_factor"]
    assert got.to_list() == pytest.approx([weighed[plot] for plot in yields["plot"]], rel=0.01)


def test_all_of_it_is_one_act_and_is_taken_back_as_one(own):
    (act,) = read_table(own, "acts")["act_id"]
    lines = undo_lines(plan_undo(own, act))
    assert lines[:3] == ["monitor cells: 826 records", "monitor removals: 120 records", "monitor strips: 12 records"]
    assert len(lines) == 3 + 1 + 1 + 12 + 6 + 12  # field total, field, loads, pairs and plots
    undo(own, plan_undo(own, act), done_by="test")
    for name in ("plots", "loads", "pairs", "fields", "field_totals", *(table.name for table in OF_A_MONITOR)):
        assert read_table(own, name).is_empty(), name


def test_what_is_left_of_the_points_is_a_summary_and_a_thin_picture(looked_at, found):
    summary = read_table(looked_at, "monitor_strips").sort("plot").row(0, named=True)
    one = found.strips[0]
    assert (summary["file_name"], summary["fingerprint"]) == (found.file.name, found.file.fingerprint)
    assert (summary["points"], summary["kept"], summary["delay_s"]) == (one.points, one.kept, found.delay_s)
    assert summary["thresholds"].startswith("gap_s 10, headland_m 10, start_m 20")
    assert summary["outline"].startswith("-107.25")
    removed = read_table(looked_at, "monitor_removals").group_by("plot").agg(pl.col("points").sum())
    assert dict(removed.iter_rows())["strip 01"] == one.points - one.kept
    cells = read_table(looked_at, "monitor_cells")
    assert cells.group_by("plot").len()["len"].max() <= CELLS_A_STRIP * 1.1
    assert cells.filter(pl.col("kg_ha").is_null() == pl.col("removed_by").is_null()).is_empty()
    mean = cells.filter(pl.col("plot") == "strip 01")["kg_ha"].mean()
    assert mean == pytest.approx(one.kg_ha / one.scale_factor, rel=0.03)


def test_bringing_the_same_file_in_again_changes_nothing_and_leaves_nothing_over(own, found):
    names = ("plots", "loads", "pairs", *(table.name for table in OF_A_MONITOR))
    before = {name: read_table(own, name).sort(pl.all()) for name in names}
    planned, _ = kept(own, found)
    assert planned.pairs == ()
    assert "stays as it is" in planned.remarks[0]
    for name in names:
        assert read_table(own, name).sort(pl.all()).equals(before[name]), name


def test_a_plot_on_record_keeps_its_acres_and_its_day(connection, found, add):
    add(connection, FIELDS, {"field": "Creek flat"})
    add(connection, PLOTS, PLACE | {"plot": "strip 01", "method": "standing", "acres": 4.0, "notes": "mine"})
    planned, _ = kept(connection, found)
    assert planned.remarks[0].startswith("strip 01: its 4 acres on record count; the outline has 3.37")
    row = read_table(connection, "plot_yield").filter(pl.col("plot") == "strip 01").row(0, named=True)
    assert row["weight_kg"] * row["scale_factor"] / 4.0 / 0.40468564224 == pytest.approx(
        found.strips[0].kg_ha, rel=1e-3
    )
    assert read_table(connection, "plots").filter(pl.col("plot") == "strip 01")["notes"].to_list() == ["mine"]


def test_a_plot_cut_the_other_way_or_with_tickets_is_refused(connection, found, add):
    pairs = neighbours_as_pairs(found.strips)
    add(connection, FIELDS, {"field": "Creek flat"})
    add(connection, PLOTS, PLACE | {"plot": "strip 01", "method": "windrowed"})
    with pytest.raises(Refused, match="standing given; on record it is windrowed"):
        keeping.plan_keeping(connection, found, pairs)
    add(connection, PLOTS, PLACE | {"plot": "strip 01", "method": "standing"})
    add(connection, LOADS, PLACE | {"plot": "strip 01", "ticket": "17", "weight_kg": 9000.0})
    with pytest.raises(Refused, match="1 ticket on record already"):
        keeping.plan_keeping(connection, found, pairs)


def test_the_combines_hours_are_noted_where_asked_and_none_is_there(connection, found, add):
    add(connection, FIELDS, {"field": "Creek flat"})
    add(connection, PLOTS, PLACE | {"plot": "strip 01", "method": "standing"})
    own = PLACE | {"plot": "strip 01", "done_on": date(2025, 9, 14), "operation": "Harvest", "hours": 0.5}
    add(connection, OPERATIONS, own)
    kept(connection, found, with_hours=True)
    hours = dict(read_table(connection, "operations").select("plot", "hours").iter_rows())
    assert hours["strip 01"] == 0.5
    assert hours["strip 02"] == round(found.strips[1].hours, 2)
    assert len(hours) == 12


def test_what_breaks_a_rule_of_the_records_is_refused(connection, found, add):
    """The points are of September 2025."""
    pairs = neighbours_as_pairs(found.strips)
    add(connection, FIELDS, {"field": "Creek flat"})
    later = PLACE | {"plot": "strip 02", "method": "windrowed", "windrowed_on": date(2025, 9, 20)}
    add(connection, PLOTS, later)
    with pytest.raises(Refused, match="combined on the day of windrowing or later"):
        keeping.plan_keeping(connection, found, pairs)
    dry = replace(found, strips=tuple(replace(one, moisture_pct=0.8) for one in found.strips))
    add(connection, PLOTS, later | {"windrowed_on": None})
    with pytest.raises(Refused, match=r"moisture_pct: 0.8 given; allowed a number from 2 to 30"):
        keeping.plan_keeping(connection, dry, pairs)


def test_a_word_that_is_no_allocation_is_refused(connection, found):
    with pytest.raises(BadInput, match="allocation: by hand given; allowed drawn by lot, chosen"):
        keeping.plan_keeping(connection, found, neighbours_as_pairs(found.strips), allocation="by hand")


def test_a_name_of_a_pair_that_is_taken_gets_a_number(looked_at, found):
    """The same strips under other names."""
    others = tuple(replace(one, strip=replace(one.strip, plot=f"{one.strip.plot} b")) for one in found.strips)
    other = replace(found, strips=others, plots=tuple(f"{plot} b" for plot in found.plots))
    planned = keeping.plan_keeping(looked_at, other, neighbours_as_pairs(others))
    (pairs,) = (one.saved for one in planned.saves if one.table is PAIRS)
    assert "Creek flat strips 1 (2)" in set(pairs["pair"])


def test_strips_go_out_and_come_in_again_to_the_same_records(looked_at, tmp_path):
    export(looked_at, tmp_path / "out")
    with begun(tmp_path / "again.duckdb", thrown_away=True) as again:
        brought = bring_in(again, tmp_path / "out", done_by="test", reason="moved")
        assert brought.act_id is not None
        for name in ("loads", *(table.name for table in OF_A_MONITOR)):
            assert read_table(again, name).sort(pl.all()).equals(read_table(looked_at, name).sort(pl.all())), name

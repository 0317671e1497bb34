"""What is missing: from hand-made records to words, papers and links, and the screen that shows them."""

import re
from collections.abc import Callable
from datetime import date
from html import unescape
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import duckdb
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from analytics.pairs.gaps import PairGaps, ToLookFor, first_line, grouped_gaps, progress, read_gaps, to_look_for
from analytics.records.papers import PAPERS
from analytics.storage.database import open_records, read_table
from analytics.trade.measures import MEASURES
from dashboard.pictures import gap_grid

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
Row = dict[str, object]
Tables = dict[str, list[Row]]
Tiny = Callable[[Tables], duckdb.DuckDBPyConnection]

EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
WEST = {"crop_year": 2026, "field": "North half", "plot": "west"}
SIDES = {"standing_field": "North half", "standing_plot": "east", "windrowed_field": "North half"}
PAIR = {"crop_year": 2026, "pair": "7", "layout": "split field", "windrowed_plot": "west"} | SIDES


def farm(**more: list[Row]) -> Tables:
    """One pair of 40 acres a side, its loads without a fault; `more` replaces or adds tables."""
    plots = [EAST | {"method": "standing", "acres": 40.0}, WEST | {"method": "windrowed", "acres": 40.0}]
    tables = {"fields": [{"field": "North half"}], "plots": plots, "pairs": [PAIR]}
    return tables | {"loads": [load(EAST, "1187"), load(WEST, "1190")]} | more


def load(plot: Row, ticket: str, **more: object) -> Row:
    return {**plot, "ticket": ticket, "weight_kg": 18_000.0, "moisture_pct": 9.0, "dockage_pct": 2.0, **more}


@pytest.fixture(scope="module")
def gaps_of_demo(demo_records: Path) -> tuple[PairGaps, ...]:
    with open_records(demo_records) as connection:
        return read_gaps(connection)


def things(rows: tuple[PairGaps, ...]) -> dict[str, ToLookFor]:
    return {one.lack.missing: one for one in to_look_for(rows)}


def only(connection: duckdb.DuckDBPyConnection) -> PairGaps:
    (row,) = read_gaps(connection)
    return row


def test_moisture_lacking_on_a_ticket_names_ticket_paper_and_what_it_blocks(tiny: Tiny) -> None:
    (row,) = read_gaps(tiny(farm(loads=[load(EAST, "1187", moisture_pct=None), load(WEST, "1190")])))
    found = things((row,))["moisture on ticket 1187"]
    assert found.words == ("North half, east, 2026: no moisture on ticket 1187. Pair 7 waits for it (yield, moisture).")
    lack = found.lack
    assert (lack.paper, lack.crop_year, lack.field, lack.plot) == ("loads", 2026, "North half", "east")
    assert lack.row == "1187"
    cells = row.cells
    assert (cells["yield"].state, cells["yield"].known_side) == ("one side", "windrowed")
    assert cells["yield_as_sold"].state == "complete"
    assert cells["loss"].state == "missing"


def test_each_cell_is_a_letter_and_in_words_for_those_who_do_not_see_it(tiny: Tiny) -> None:
    connection = tiny(farm(loads=[load(EAST, "1187", dockage_pct=None), load(WEST, "1190", moisture_pct=None)]))
    html = gap_grid.grid(read_gaps(connection), "")
    cells = dict(zip(MEASURES, re.findall(r"<td>(.*?)</td>", html), strict=True))
    letters = {name: re.sub(r"<[^>]*>", "", cell) for name, cell in cells.items()}
    assert letters["moisture"] == letters["yield"] == "\u2212"
    assert (letters["dockage"], letters["yield_as_sold"]) == ("W", "W")
    assert "aria-label='Pair 7, 2026, dockage: one side. Look for Tickets: dockage on ticket 1187" in cells["dockage"]
    whole = gap_grid.grid(read_gaps(tiny(farm())), "")
    assert "<span role='img' aria-label='complete' title='complete'>B</span>" in whole


def test_each_of_several_tickets_is_a_thing_of_its_own(tiny: Tiny) -> None:
    loads = [load(EAST, "1", moisture_pct=None), load(EAST, "2", moisture_pct=None), load(WEST, "3")]
    connection = tiny(farm(loads=loads))
    assert [lack.row for lack in only(connection).cells["yield"].lacks] == ["1", "2"]
    assert first_line(read_gaps(connection)) == "The one pair is not complete for yield; two tickets would complete it."


def test_a_ticket_may_have_any_name(tiny: Tiny) -> None:
    connection = tiny(farm(loads=[load(EAST, "A; the / 1", moisture_pct=None), load(WEST, "3")]))
    assert [lack.row for lack in only(connection).cells["yield"].lacks] == ["A; the / 1"]


def test_all_that_yield_lacks_is_counted_not_the_first_thing_only(tiny: Tiny) -> None:
    plots = [EAST | {"method": "standing"}, WEST | {"method": "windrowed", "acres": 40.0}]
    connection = tiny(farm(plots=plots, loads=[load(EAST, "1", weight_kg=None), load(WEST, "3")]))
    assert first_line(read_gaps(connection)) == (
        "The one pair is not complete for yield; one ticket and the acres of one plot would complete it."
    )


def test_the_first_line_counts_pairs_and_tickets(tiny: Tiny) -> None:
    tables = farm()
    for name, lacking in (("8", "moisture_pct"), ("9", "dockage_pct")):
        for plot, method in (("east", "standing"), ("west", "windrowed")):
            where = {"crop_year": 2026, "field": f"Field {name}", "plot": plot}
            tables["plots"].append(where | {"method": method, "acres": 40.0})
            tables["loads"].append(load(where, f"{name} {plot}", **({lacking: None} if plot == "east" else {})))
        fields = {"standing_field": f"Field {name}", "windrowed_field": f"Field {name}"}
        tables["pairs"].append(PAIR | fields | {"pair": name})
        tables["fields"].append({"field": f"Field {name}"})
    rows = read_gaps(tiny(tables))
    assert first_line(rows) == "1 of 3 pairs is complete for yield; two tickets would complete two more."


def test_a_side_without_loads_and_a_pair_without_a_plot_are_named(tiny: Tiny) -> None:
    pairs = [PAIR, PAIR | {"pair": "8", "standing_field": None, "standing_plot": None}]
    connection = tiny(farm(pairs=pairs, loads=[load(WEST, "1190")]))
    found = things(read_gaps(connection))
    assert found["a ticket"].words.startswith(
        "North half, east, 2026: no ticket is typed. Pair 7 waits for it (yield, yield as sold"
    )
    assert (found["a ticket"].lack.paper, found["a ticket"].lack.row) == ("loads", "")
    assert (found["the standing plot"].lack.paper, found["the standing plot"].lack.row) == ("pairs", "8")
    assert found["the standing plot"].words == ("2026: no standing plot. Pair 8 waits for it (every measure).")


def test_a_planned_pair_is_not_harvested_yet_and_lacks_nothing(tiny: Tiny) -> None:
    plots = [plot | {"crop_year": 2027} for plot in farm()["plots"]]
    tables = farm()
    tables["plots"] += plots
    tables["pairs"].append(PAIR | {"crop_year": 2027})
    rows = read_gaps(tiny(tables))
    assert [(row.crop_year, row.is_planned) for row in rows] == [(2027, True), (2026, False)]
    assert {cell.state for cell in rows[0].cells.values()} == {"not harvested yet"}
    assert first_line(rows) == "The one pair is complete for yield. 1 pair is not harvested yet."
    assert {one.lack.crop_year for one in to_look_for(rows)} == {2026}


def test_no_pair_at_all_is_said() -> None:
    assert first_line(()) == "There is no pair on record."


def test_states_agree_with_what_the_comparison_uses(
    demo: duckdb.DuckDBPyConnection, gaps_of_demo: tuple[PairGaps, ...]
) -> None:
    view = read_table(demo, "pair_measures")
    complete = {
        (year, pair, measure)
        for year, pair, measure, difference in view.select("crop_year", "pair", "measure", "difference").iter_rows()
        if difference is not None
    }
    rows = gaps_of_demo
    assert complete == {
        (row.crop_year, row.pair, name) for row in rows for name, cell in row.cells.items() if cell.state == "complete"
    }
    assert len(rows) * len(MEASURES) > len(complete) > 0
    assert {(row.crop_year, row.pair): row.field for row in rows} == {
        (year, pair): field for year, pair, field in view.select("crop_year", "pair", "field").iter_rows()
    }


def test_the_demo_lacks_what_its_readme_says(gaps_of_demo: tuple[PairGaps, ...]) -> None:
    rows = gaps_of_demo
    assert first_line(rows) == (
        "24 of 26 pairs are complete for yield; one ticket and the tickets of one plot would complete two more."
    )
    found = {(one.lack.crop_year, one.lack.field, one.lack.missing) for one in to_look_for(rows)}
    assert {(2022, "Home quarter", "moisture on ticket 4292"), (2025, "Slough eighty", "a ticket")} <= found
    assert (2021, "North half", "a pan behind the combine") in found


BLANK_LOAD = {"weight_kg": None, "moisture_pct": None, "dockage_pct": None}
EVERYTHING_BLANK = {"loads": [load(EAST, "1") | BLANK_LOAD, load(WEST, "2") | BLANK_LOAD]}
LACKING = {
    "no row at all": ({"loads": []}, {"loads", "samples.green_seeds", "loss_checks", "plantings.seeded_on"}),
    "blank loads": (EVERYTHING_BLANK, {"loads.weight_kg", "loads.moisture_pct", "loads.dockage_pct"}),
    "no price": ({"samples": [EAST | {"sample": "1", "grade": "1"}]}, {"prices", "samples.grade"}),
}


@pytest.mark.parametrize(("tables", "named"), LACKING.values(), ids=LACKING)
def test_what_the_view_says_is_missing_stands_in_a_column_of_a_paper(
    tiny: Tiny, tables: Tables, named: set[str]
) -> None:
    lacks = read_table(tiny(farm(**tables)), "plot_measures")["lacks"].explode(keep_nulls=False, empty_as_null=False)
    found = set(lacks.struct.field("missing_in"))
    assert named <= found
    for paper, _, column in (one.partition(".") for one in found):
        assert paper in PAPERS
        assert column in ("", *PAPERS[paper].table.column_names)


def test_progress_counts_plots_that_have_each_paper(tiny: Tiny) -> None:
    plots = [
        EAST | {"method": "standing", "harvested_on": date(2026, 9, 20)},
        WEST | {"method": "windrowed"},
    ]
    samples = [EAST | {"sample": "1", "seeds_crushed": 500, "green_seeds": 2}, WEST | {"sample": "1", "grade": "1"}]
    checks = [WEST | {"checked_on": date(2026, 9, 1), "place": "pan behind combine", "spot": "1", "area_m2": 1.0}]
    connection = tiny(farm(plots=plots, samples=samples, loss_checks=checks))
    records = {name: read_table(connection, name) for name in ("loads", "samples", "loss_checks")}
    found = progress(read_table(connection, "plots"), records, 2026)
    assert found.words == (
        "2026: 2 of 2 plots have tickets, 1 has a harvest day, 1 has green seed, 1 has a loss check."
    )
    assert (found.papers_in, found.papers) == (5, 8)


# --- the screen


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Callable[[duckdb.DuckDBPyConnection], AppTest]:
    st.cache_resource.clear()

    def run(connection: duckdb.DuckDBPyConnection) -> AppTest:
        ((path,),) = connection.execute("select path from duckdb_databases() where not internal").fetchall()
        connection.close()
        monkeypatch.setenv("STANDROW_RECORDS", path)
        return AppTest.from_file(APP, default_timeout=60).switch_page("screens/gaps.py").run()

    return run


def shown(app: AppTest) -> str:
    assert not app.exception
    parts = [element.value for part in (app.header, app.markdown, app.info, app.caption) for element in part]
    return "\n".join([*parts, *(element.proto.body for element in app.get("html"))]).replace("\\", "")


def links(text: str) -> list[dict[str, str]]:
    """What the addresses of a screen name, in their order."""
    return [dict(parse_qsl(urlsplit(unescape(found)).query)) for found in re.findall(r"href='([^']*)'", text)]


def test_a_missing_cell_leads_to_its_plot_paper_and_ticket(tiny: Tiny, screen: Callable[..., AppTest]) -> None:
    app = screen(tiny(farm(loads=[load(EAST, "A&1", moisture_pct=None), load(WEST, "1190")])))
    text = shown(app)
    assert "The one pair is not complete for yield; one ticket would complete it." in text
    assert links(text)[0] == EAST | {"crop_year": "2026", "paper": "loads", "row": "A&1"}
    assert "Pair 7, 2026, yield: one side. Look for Tickets: moisture on ticket A&amp;1" in text


def test_names_are_shown_as_text(tiny: Tiny) -> None:
    field = "<b>x</b>' onclick='alert(1)"
    plots = [plot | {"field": field} for plot in farm()["plots"]]
    pair = PAIR | {"standing_field": field, "windrowed_field": field}
    rows = read_gaps(tiny(farm(fields=[{"field": field}], plots=plots, pairs=[pair], loads=[])))
    rows_without_plan = [row for row in rows if row.cells]
    text = gap_grid.grid(rows_without_plan, "<i>me</i>") + gap_grid.to_do(grouped_gaps(to_look_for(rows)), "<i>me</i>")
    assert "<b>" not in text
    assert "<i>" not in text
    assert "' onclick" not in text


def test_a_farm_without_plots_or_without_pairs_is_told_what_to_type(tiny: Tiny, screen: Callable[..., AppTest]) -> None:
    app = screen(tiny({"fields": [{"field": "North half"}]}))
    assert "There is no plot on record yet. Type the first ticket" in shown(app)
    assert "paper=loads" in [link.proto.query_string for link in app.get("page_link")]


def test_plots_without_a_partner_are_listed(tiny: Tiny, screen: Callable[..., AppTest]) -> None:
    text = shown(screen(tiny(farm(pairs=[]))))
    assert "There is no pair on record here." in text
    assert "- North half, east, 2026 (standing)" in text


def test_the_newest_crop_year_comes_first_and_another_can_be_chosen(tiny: Tiny, screen: Callable[..., AppTest]) -> None:
    tables = farm()
    tables["plots"].append(EAST | {"crop_year": 2025, "method": "standing", "acres": 40.0})
    tables["pairs"].append(PAIR | {"crop_year": 2025, "pair": "old", "windrowed_field": None, "windrowed_plot": None})
    app = screen(tiny(tables))
    assert "old, 2025" not in shown(app)
    app.selectbox(key="gaps_of").set_value("All crop years").run()
    assert "old, 2025" in shown(app)


def test_the_screen_says_no_pair_is_left_to_look_for_when_all_is_there(gaps_of_demo: tuple[PairGaps, ...]) -> None:
    rows = [row for row in gaps_of_demo if all(not cell.lacks for cell in row.cells.values())]
    assert first_line(rows) == f"All {len(rows)} pairs are complete for yield."
    assert to_look_for(rows) == ()
    states = {cell.state for row in rows for cell in row.cells.values()}
    assert states == {"complete", "not noted that year"}  # machine hours were noted from 2022 on


def test_what_is_missing_is_grouped_by_paper_and_pair(tiny: Tiny) -> None:
    connection = tiny(farm(loads=[load(EAST, "1187", moisture_pct=None), load(WEST, "1190", dockage_pct=None)]))
    looked_for = to_look_for(read_gaps(connection))
    groups = grouped_gaps(looked_for)
    words = [group.words for group in groups]
    assert len(set(words)) == len(words)
    tickets = groups[words.index("Tickets for pair 7, 2026")]
    assert {thing.lack.row for thing in tickets.things} == {"1187", "1190"}
    assert sum(len(group.things) for group in groups) == len(looked_for)

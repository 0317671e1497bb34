"""What is missing: from hand-made records to words, papers and links, and the screen that shows them."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from html import unescape
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import duckdb
import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from analytics.pairs.gaps import PairGaps, ToLookFor, first_line, grouped_gaps, progress, read_gaps, to_look_for
from analytics.records.papers import PAPERS
from analytics.records.tables import TABLES
from analytics.storage.database import read_table
from analytics.trade.measures import MEASURES
from dashboard.pictures import gap_grid
from tests.conftest import small_records

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
Row = dict[str, object]
Tables = dict[str, list[Row]]

EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
WEST = {"crop_year": 2026, "field": "North half", "plot": "west"}
SIDES = {"standing_field": "North half", "standing_plot": "east", "windrowed_field": "North half"}
PAIR = {"crop_year": 2026, "pair": "7", "layout": "split field", "windrowed_plot": "west"} | SIDES
BLANK_LOAD = {"weight_kg": None, "moisture_pct": None, "dockage_pct": None}
MARKS = "<b>x</b>' onclick='alert(1)"


def farm(**more: list[Row]) -> Tables:
    """One pair of 40 acres a side, its loads without a fault; `more` replaces or adds tables."""
    plots = [EAST | {"method": "standing", "acres": 40.0}, WEST | {"method": "windrowed", "acres": 40.0}]
    tables = {"fields": [{"field": "North half"}], "plots": plots, "pairs": [PAIR]}
    return tables | {"loads": [load(EAST, "1187"), load(WEST, "1190")]} | more


def load(plot: Row, ticket: str, **more: object) -> Row:
    return {**plot, "ticket": ticket, "weight_kg": 18_000.0, "moisture_pct": 9.0, "dockage_pct": 2.0, **more}


FARMS = {
    "whole": farm(),
    "no moisture": farm(loads=[load(EAST, "1187", moisture_pct=None), load(WEST, "1190")]),
    "no dockage": farm(loads=[load(EAST, "1187", dockage_pct=None), load(WEST, "1190")]),
    "one of each": farm(loads=[load(EAST, "1187", dockage_pct=None), load(WEST, "1190", moisture_pct=None)]),
    "two tickets": farm(
        loads=[load(EAST, "1", moisture_pct=None), load(EAST, "2", moisture_pct=None), load(WEST, "3")]
    ),
    "an odd ticket": farm(loads=[load(EAST, "A; the / 1", moisture_pct=None), load(WEST, "3")]),
    "no acres, no weight": farm(
        plots=[EAST | {"method": "standing"}, WEST | {"method": "windrowed", "acres": 40.0}],
        loads=[load(EAST, "1", weight_kg=None), load(WEST, "3")],
    ),
    "no ticket": farm(loads=[load(WEST, "1190")]),
    "no plot": farm(pairs=[PAIR | {"standing_field": None, "standing_plot": None}]),
    "next year": farm(
        plots=[plot | {"crop_year": 2027} for plot in farm()["plots"]], pairs=[PAIR | {"crop_year": 2027}], loads=[]
    ),
    "no row at all": farm(loads=[]),
    "blank loads": farm(loads=[load(EAST, "1") | BLANK_LOAD, load(WEST, "2") | BLANK_LOAD]),
    "no price": farm(samples=[EAST | {"sample": "1", "grade": "1"}]),
    MARKS: farm(loads=[load(EAST, "1187", moisture_pct=None), load(WEST, "1190")]),
}


def beside_each_other() -> Tables:
    """All of FARMS as one, the field and the pair of each named as it is."""
    together: Tables = {}
    for name, tables in FARMS.items():
        for table, rows in tables.items():
            named = [{key: name if text in ("North half", "7") else text for key, text in row.items()} for row in rows]
            together.setdefault(table, []).extend(named)
    return together


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    with small_records(tmp_path_factory.mktemp("gaps") / "records.duckdb", beside_each_other()) as connection:
        yield connection


@pytest.fixture(scope="module")
def gaps(records: duckdb.DuckDBPyConnection) -> dict[str, PairGaps]:
    """Each of FARMS and what its pair lacks."""
    return {row.pair: row for row in read_gaps(records)}


@pytest.fixture(scope="module")
def gaps_of_demo(demo: duckdb.DuckDBPyConnection) -> tuple[PairGaps, ...]:
    return read_gaps(demo)


def things(*rows: PairGaps) -> dict[str, ToLookFor]:
    return {one.lack.missing: one for one in to_look_for(rows)}


def test_moisture_lacking_on_a_ticket_names_ticket_paper_and_what_it_blocks(gaps: dict[str, PairGaps]) -> None:
    row = gaps["no moisture"]
    found = things(row)["moisture on ticket 1187"]
    assert found.words == (
        "no moisture, east, 2026: no moisture on ticket 1187. Pair no moisture waits for it (yield, moisture)."
    )
    lack = found.lack
    assert (lack.paper, lack.crop_year, lack.field, lack.plot) == ("loads", 2026, "no moisture", "east")
    assert lack.row == "1187"
    cells = row.cells
    assert (cells["yield"].state, cells["yield"].known_side) == ("one side", "windrowed")
    assert cells["yield_as_sold"].state == "complete"
    assert cells["loss"].state == "missing"


def test_each_cell_is_a_letter_and_in_words_for_those_who_do_not_see_it(gaps: dict[str, PairGaps]) -> None:
    html = gap_grid.grid([gaps["one of each"]], "")
    cells = dict(zip(MEASURES, re.findall(r"<td>(.*?)</td>", html), strict=True))
    letters = {name: re.sub(r"<[^>]*>", "", cell) for name, cell in cells.items()}
    assert letters["moisture"] == letters["yield"] == "\u2212"
    assert (letters["dockage"], letters["yield_as_sold"]) == ("W", "W")
    words = "aria-label='Pair one of each, 2026, dockage: one side. Look for Tickets: dockage on ticket 1187"
    assert words in cells["dockage"]
    whole = gap_grid.grid([gaps["whole"]], "")
    assert "<span role='img' aria-label='complete' title='complete'>B</span>" in whole


def test_each_of_several_tickets_is_a_thing_of_its_own(gaps: dict[str, PairGaps]) -> None:
    row = gaps["two tickets"]
    assert [lack.row for lack in row.cells["yield"].lacks] == ["1", "2"]
    assert first_line([row]) == "The one pair is not complete for yield; two tickets would complete it."


def test_a_ticket_may_have_any_name(gaps: dict[str, PairGaps]) -> None:
    assert [lack.row for lack in gaps["an odd ticket"].cells["yield"].lacks] == ["A; the / 1"]


def test_all_that_yield_lacks_is_counted_not_the_first_thing_only(gaps: dict[str, PairGaps]) -> None:
    assert first_line([gaps["no acres, no weight"]]) == (
        "The one pair is not complete for yield; one ticket and the acres of one plot would complete it."
    )


def test_the_first_line_counts_pairs_and_tickets(gaps: dict[str, PairGaps]) -> None:
    rows = [gaps[name] for name in ("whole", "no moisture", "no dockage")]
    assert first_line(rows) == "1 of 3 pairs is complete for yield; two tickets would complete two more."
    assert first_line(rows[1:]) == "None of the 2 pairs is complete for yield; two tickets would complete all two."


def test_a_side_without_loads_and_a_pair_without_a_plot_are_named(gaps: dict[str, PairGaps]) -> None:
    found = things(gaps["no ticket"], gaps["no plot"])
    assert found["a ticket"].words.startswith(
        "no ticket, east, 2026: no ticket is typed. Pair no ticket waits for it (yield, yield as sold"
    )
    assert (found["a ticket"].lack.paper, found["a ticket"].lack.row) == ("loads", "")
    assert (found["the standing plot"].lack.paper, found["the standing plot"].lack.row) == ("pairs", "no plot")
    assert found["the standing plot"].words == ("2026: no standing plot. Pair no plot waits for it (every measure).")


def test_a_planned_pair_is_not_harvested_yet_and_lacks_nothing(gaps: dict[str, PairGaps]) -> None:
    planned, whole = gaps["next year"], gaps["whole"]
    assert next(iter(gaps)) == "next year"  # the newest crop year first
    assert [(row.crop_year, row.is_planned) for row in (planned, whole)] == [(2027, True), (2026, False)]
    assert {cell.state for cell in planned.cells.values()} == {"not harvested yet"}
    assert first_line([planned, whole]) == "The one pair is complete for yield. 1 pair is not harvested yet."
    assert {one.lack.crop_year for one in to_look_for([planned, whole])} == {2026}


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


LACKING = {
    "no row at all": {"loads", "samples.green_seeds", "loss_checks", "plantings.seeded_on"},
    "blank loads": {"loads.weight_kg", "loads.moisture_pct", "loads.dockage_pct"},
    "no price": {"prices", "samples.grade"},
}


@pytest.mark.parametrize(("name", "named"), LACKING.items())
def test_what_the_view_says_is_missing_stands_in_a_column_of_a_paper(
    records: duckdb.DuckDBPyConnection, name: str, named: set[str]
) -> None:
    lacks = read_table(records, "plot_measures").filter(field=name)["lacks"]
    found = set(lacks.explode(keep_nulls=False, empty_as_null=False).struct.field("missing_in"))
    assert named <= found
    for paper, _, column in (one.partition(".") for one in found):
        assert paper in PAPERS
        assert column in ("", *PAPERS[paper].table.column_names)


def test_progress_counts_plots_that_have_each_paper() -> None:
    tables = {
        "plots": [EAST | {"method": "standing", "harvested_on": date(2026, 9, 20)}, WEST | {"method": "windrowed"}],
        "loads": farm()["loads"],
        "samples": [
            EAST | {"sample": "1", "seeds_crushed": 500, "green_seeds": 2},
            WEST | {"sample": "1", "grade": "1"},
        ],
        "loss_checks": [
            WEST | {"checked_on": date(2026, 9, 1), "place": "pan behind combine", "spot": "1", "area_m2": 1.0}
        ],
    }
    frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
    found = progress(frames.pop("plots"), frames, 2026)
    assert found.words == (
        "2026: 2 of 2 plots have tickets, 1 has a harvest day, 1 has green seed, 1 has a loss check."
    )
    assert (found.papers_in, found.papers) == (5, 8)


def test_names_are_shown_as_text(gaps: dict[str, PairGaps]) -> None:
    rows = [gaps[MARKS]]
    text = gap_grid.grid(rows, "<i>me</i>") + gap_grid.to_do(grouped_gaps(to_look_for(rows)), "<i>me</i>")
    assert "&lt;b&gt;x" in text
    assert "<b>" not in text
    assert "<i>" not in text
    assert "' onclick" not in text


def test_nothing_is_left_to_look_for_when_all_is_there(gaps_of_demo: tuple[PairGaps, ...]) -> None:
    rows = [row for row in gaps_of_demo if all(not cell.lacks for cell in row.cells.values())]
    assert first_line(rows) == f"All {len(rows)} pairs are complete for yield."
    assert to_look_for(rows) == ()
    states = {cell.state for row in rows for cell in row.cells.values()}
    assert states == {"complete", "not noted that year"}  # machine hours were noted from 2022 on


def test_what_is_missing_is_grouped_by_paper_and_pair(gaps: dict[str, PairGaps]) -> None:
    looked_for = to_look_for([gaps["one of each"]])
    groups = grouped_gaps(looked_for)
    words = [group.words for group in groups]
    assert len(set(words)) == len(words)
    tickets = groups[words.index("Tickets for pair one of each, 2026")]
    assert {thing.lack.row for thing in tickets.things} == {"1187", "1190"}
    assert sum(len(group.things) for group in groups) == len(looked_for)


# --- the screen


@contextmanager
def screen(path: Path, tables: Tables) -> Iterator[AppTest]:
    """The screen, opened on records of just these rows."""
    with small_records(path / "records.duckdb", tables):
        pass
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("STANDROW_RECORDS", str(path / "records.duckdb"))
        yield AppTest.from_file(APP, default_timeout=60).switch_page("screens/gaps.py").run()


def shown(app: AppTest) -> str:
    assert not app.exception
    parts = [element.value for part in (app.header, app.markdown, app.info, app.caption) for element in part]
    return "\n".join([*parts, *(element.proto.body for element in app.get("html"))]).replace("\\", "")


def links(text: str) -> list[dict[str, str]]:
    """What the addresses of a screen name, in their order."""
    return [dict(parse_qsl(urlsplit(unescape(found)).query)) for found in re.findall(r"href='([^']*)'", text)]


@pytest.fixture(scope="module")
def texts(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """The screen of 2027, where a plot has no partner, and of 2026, where a pair lacks a number."""
    tables = farm(loads=[load(EAST, "A&1", moisture_pct=None), load(WEST, "1190")])
    tables["plots"].append(EAST | {"crop_year": 2027, "method": "standing", "acres": 40.0})
    with screen(tmp_path_factory.mktemp("screen"), tables) as app:
        newest = shown(app)
        app.selectbox(key="gaps_of").set_value("2026").run()
        return newest, shown(app)


def test_the_newest_crop_year_comes_first_and_another_can_be_chosen(texts: tuple[str, str]) -> None:
    newest, chosen = texts
    assert "Pair 7, 2026" not in newest
    assert "Pair 7, 2026" in chosen


def test_a_missing_cell_leads_to_its_plot_paper_and_ticket(texts: tuple[str, str]) -> None:
    _, text = texts
    assert "The one pair is not complete for yield; one ticket would complete it." in text
    assert links(text)[0] == EAST | {"crop_year": "2026", "paper": "loads", "row": "A&1"}
    assert "Pair 7, 2026, yield: one side. Look for Tickets: moisture on ticket A&amp;1" in text


def test_plots_without_a_partner_are_listed(texts: tuple[str, str]) -> None:
    text, _ = texts
    assert "There is no pair on record here." in text
    assert "- North half, east, 2027 (standing)" in text


def test_a_farm_without_plots_is_told_what_to_type(tmp_path: Path) -> None:
    with screen(tmp_path, {"fields": [{"field": "North half"}]}) as app:
        assert "There is no plot on record yet. Type the first ticket" in shown(app)
        assert "paper=loads" in [link.proto.query_string for link in app.get("page_link")]

"""The screens, run without a browser on small records and on the demo farm."""

import os
import shutil
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import duckdb
import pytest
from altair import LayerChart
from streamlit.testing.v1 import AppTest

from analytics.answer import review as review_module
from analytics.answer.review import in_yield_unit
from analytics.answer.wording import sentence, these_fields_sentence, years_to_come_sentence
from analytics.errors import Refused
from analytics.records.harvest_tables import LOADS
from analytics.settings import change_settings, read_settings
from analytics.statistics.replicates import PairDifference
from analytics.statistics.results import Comparison, Question
from analytics.storage.database import open_records, read_table
from analytics.trade.numbers_as_text import THIN_SPACE
from dashboard.frame import on_file, shown_words
from dashboard.pictures import charts
from dashboard.pictures.rows import tip_text
from dashboard.winter import many_pairs
from tests.prepared import begun, lent
from tests.screens.shown_tables import column, shown_tables

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
ONE_MEASURE, SETTINGS = "screens/one_measure.py", "screens/settings.py"
UNFOLDED = ("statistics", "published_results", "open_pair")  # on the screen of a measure

Rows = list[dict[str, object]]
Screens = Callable[..., AppTest]


@pytest.fixture
def records(demo_records: Path) -> Iterator[Path]:
    """The demo farm, to be changed."""
    with lent(demo_records) as path:
        yield path


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Screens:
    """screen(path, page): the dashboard on the records at `path`, as it looks after the first run."""

    def run(path: Path, page: str | None = None) -> AppTest:
        monkeypatch.setenv("STANDROW_RECORDS", str(path))
        app = AppTest.from_file(APP, default_timeout=60)
        return (app.switch_page(page) if page else app).run()

    return run


def shown(app: AppTest) -> str:
    """All that is written on the screen, without the backslashes that keep it from being read as markup."""
    assert not app.exception
    parts = (app.title, app.header, app.markdown, app.caption, app.info, app.error, app.success)
    return "\n".join(element.value.replace("\\", "") for part in parts for element in part)


def pair_of(crop_year: int, *, moisture: float | None = 9.0) -> dict[str, Rows]:
    """One field in two halves, 100 acres each, 100 t standing and 90 t windrowed."""
    key = {"crop_year": crop_year, "field": "North half"}
    plots, loads = [], []
    for plot, method, tonnes in (("east", "standing", 100), ("west", "windrowed", 90)):
        plots.append(key | {"plot": plot, "method": method, "acres": 100.0})
        weight = {"ticket": f"{crop_year} {plot}", "weight_kg": tonnes * 1000.0, "dockage_pct": 1.0}
        loads.append(key | {"plot": plot, "moisture_pct": moisture, "weighed_by": "certified scale"} | weight)
    pair = {"crop_year": crop_year, "pair": "A", "layout": "split field"}
    sides = {f"{method}_field": "North half" for method in ("standing", "windrowed")}
    return {
        "fields": [{"field": "North half", "acres": 200.0}],
        "plots": plots,
        "loads": loads,
        "pairs": [pair | sides | {"standing_plot": "east", "windrowed_plot": "west"}],
    }


def tiny_path(connection: duckdb.DuckDBPyConnection) -> Path:
    """The file of a connection, which is closed so that the screen finds the records free."""
    ((path,),) = connection.execute("select path from duckdb_databases() where not internal").fetchall()
    connection.close()
    return Path(path)


def test_answer_opens_with_the_sentence_for_yield(as_opened: Screens, compared: dict[str, Comparison]) -> None:
    expected = sentence(compared["yield"])
    app = as_opened("answer")
    assert app.title[0].value == "What do these records say?"
    assert app.main.markdown[0].value.replace("\\", "") == expected


def test_answer_says_what_it_rests_on_and_every_caution(as_opened: Screens, compared: dict[str, Comparison]) -> None:
    cautions = compared["yield"].cautions
    text = shown(as_opened("answer"))
    assert "What it rests on" in text
    assert len(cautions) > 3
    for caution in cautions:
        assert caution.text in text


def test_sidebar_names_the_farm_its_years_and_what_governs(screen: Screens, records: Path) -> None:
    with open_records(records) as connection:
        change_settings(connection, {"farm_name": "Hillside"}, done_by="tester", why=None)
    app = screen(records, SETTINGS)
    assert app.sidebar.header[0].value == "Hillside"
    assert app.sidebar.caption[0].value == "Crop years 2020 to 2025"
    labels = [link.value for link in app.sidebar.page_link]
    governs = f"95{THIN_SPACE}% ranges · gaps under 1.0 bu/ac don't matter · yields at 10{THIN_SPACE}% moisture"
    assert {"What do these records say?", "Is there a difference?"} <= set(labels)
    assert labels[-1] == governs


def test_answer_links_to_every_measure(as_opened: Screens) -> None:
    labels = [link.value for link in as_opened("answer").main.page_link]
    assert {"Yield", "Green seed", "Loss", "Days to harvest"} <= set(labels)


@pytest.mark.parametrize("name", ["net_return", "green_seed"])
def test_one_measure_answers_both_questions(as_opened: Screens, compared: dict[str, Comparison], name: str) -> None:
    text = shown(as_opened("one_measure", measure=name))
    assert these_fields_sentence(compared[name]) in text
    assert years_to_come_sentence(compared[name]) in text


def test_another_measure_can_be_chosen(screen: Screens, records: Path, compared: dict[str, Comparison]) -> None:
    app = screen(records, ONE_MEASURE)
    assert these_fields_sentence(compared["yield"]) in shown(app)
    text = shown(app.selectbox(key="measure").select("days_to_harvest").run())
    assert these_fields_sentence(compared["days_to_harvest"]) in text
    assert app.query_params["measure"] == "days_to_harvest"


def test_one_measure_shows_the_statistics_for_a_statistician(as_opened: Screens) -> None:
    (table,) = shown_tables(as_opened("one_measure", *UNFOLDED))
    assert "exact sign-flip p" in column(table, "")


def test_one_measure_sets_published_trials_beside_the_farm_where_there_are_some(
    as_opened: Screens,
) -> None:
    text = shown(as_opened("one_measure", *UNFOLDED))
    assert "What have others found?" in text
    assert "8 bu/ac less to 8 more; with six years of yours, where one field was cut both ways, it is" in text
    assert "It cannot tell what a wide header loses on a whole field." in text
    assert "What have others found?" not in shown(as_opened("one_measure", measure="net_return"))


def test_of_many_pairs_only_one_crop_year_is_drawn_at_a_time(
    screen: Screens, records: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn, draw = [], charts.pairs_chart

    def noted(comparison: Comparison, pairs: Sequence[PairDifference]) -> LayerChart:
        drawn.extend(pairs)
        return draw(comparison, pairs)

    monkeypatch.setattr(many_pairs, "MOST_PAIRS", 10)
    monkeypatch.setattr(charts, "pairs_chart", noted)
    app = screen(records, ONE_MEASURE)
    assert app.selectbox(key="pairs_of_year").value == 2025
    assert {pair.crop_year for pair in drawn} == {2025}


def test_pairs_left_out_are_listed_with_the_paper_that_is_missing(as_opened: Screens) -> None:
    assert "moisture on ticket" in shown(as_opened("one_measure", *UNFOLDED))


def test_a_unit_chosen_in_the_sidebar_is_used_everywhere_and_changes_no_finding(
    screen: Screens, records: Path, compared: dict[str, Comparison]
) -> None:
    in_bushels = compared["yield"]
    app = screen(records)
    app.selectbox(key="yield_unit").select("kg/ha").run()
    text = shown(app)
    assert sentence(in_yield_unit(in_bushels, "kg/ha")) in text
    assert "bu/ac" not in text
    with open_records(records) as connection:
        assert read_settings(connection).yield_unit == "kg/ha"


def test_records_put_in_the_place_of_others_are_read_anew(screen: Screens, tmp_path: Path) -> None:
    """Though the number of their last act is the same."""
    names = ("Hillside", "Creekside")
    for name in names:
        with begun(tmp_path / f"{name}.duckdb") as connection:
            change_settings(connection, {"farm_name": name}, done_by="tester", why=None)
    for name in names:
        shutil.copy(tmp_path / f"{name}.duckdb", tmp_path / "records.duckdb")
        assert screen(tmp_path / "records.duckdb", SETTINGS).sidebar.header[0].value == name


def test_a_level_changed_without_a_reason_is_refused_and_what_was_typed_stays(screen: Screens, records: Path) -> None:
    app = screen(records, SETTINGS)
    app.selectbox(key="level").select("0.8")
    app.button(key="keep_settings").click().run()
    assert "no reason given" in app.error[0].value
    assert app.selectbox(key="level").value == "0.8"
    with open_records(records) as connection:
        assert read_settings(connection).level == 0.95


def test_what_is_changed_with_a_reason_is_kept_with_who_and_why(screen: Screens, records: Path) -> None:
    app = screen(records, SETTINGS)
    app.selectbox(key="level").select("0.8")
    app.text_input(key="asked-same variety").input("2090")
    app.text_input(key="why").input("A cheap choice that can be undone")
    app.text_input(key="done_by").input("R. Tester")
    app.button(key="keep_settings").click().run()
    assert "A cheap choice that can be undone" in shown(app)
    assert app.text_input(key="asked-same variety").value == "2090"
    assert app.sidebar.page_link[-1].value.startswith(f"80{THIN_SPACE}% ranges")
    with open_records(records) as connection:
        act = read_table(connection, "acts").sort("act_id").row(-1, named=True)
        assert read_settings(connection).requirements == ("same variety from 2090",)
    assert (act["done_by"], act["source"], act["why"]) == (
        "R. Tester",
        "setting",
        "A cheap choice that can be undone",
    )


def test_whose_grade_limits_are_read_can_be_chosen_without_a_reason(screen: Screens, records: Path) -> None:
    app = screen(records, SETTINGS)
    app.selectbox(key="grading").select("US")
    app.button(key="keep_settings").click().run()
    assert not app.error
    with open_records(records) as connection:
        assert read_settings(connection).grading == "US"


def test_a_margin_is_typed_in_the_unit_shown_and_kept_in_bushels(screen: Screens, records: Path) -> None:
    with open_records(records) as connection:
        change_settings(connection, {"yield_unit": "lb/ac"}, done_by="tester", why=None)
    app = screen(records, SETTINGS)
    assert app.text_input(key="margin.yield").value == "50"
    app.text_input(key="margin.yield").input("75")
    app.text_input(key="why").input("Break-even of last year")
    app.button(key="keep_settings").click().run()
    assert not app.error
    with open_records(records) as connection:
        assert read_settings(connection).margins["yield"] == pytest.approx(1.5)


def test_a_margin_that_cannot_be_is_refused_as_it_was_typed_in_plain_words(screen: Screens, records: Path) -> None:
    app = screen(records, SETTINGS)
    for typed in ("-75", "about one"):
        app.text_input(key="margin.yield").input(typed)
        app.text_input(key="why").input("because")
        app.button(key="keep_settings").click().run()
        assert "smallest difference that matters, yield" in app.error[0].value
        assert typed in app.error[0].value
        assert app.text_input(key="margin.yield").value == typed


def test_what_was_worked_out_is_kept_until_an_act_that_changes_it(
    screen: Screens,
    tiny: Callable[[dict[str, Rows]], duckdb.DuckDBPyConnection],
    add: Callable[..., None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A picture until the next act or another measure; a comparison until an act on what it rests on.

    On a farm of 20 seasons another unit took 0.9 s while all was compared anew for it.
    """
    compared, compare, drawn, draw = [], review_module.compare_pairs, [], charts.by_year_chart
    read, review_all = [], review_module.review_all

    def noted_reading(*given: object) -> dict[str, Comparison]:
        read.append(given)
        return review_all(*given)

    def noted_comparing(*given: object, **named: object) -> Comparison:
        compared.append(named["measure"])
        return compare(*given, **named)

    def noted_drawing(comparison: Comparison) -> LayerChart:
        drawn.append((comparison.measure, comparison.unit))
        return draw(comparison)

    monkeypatch.setattr(charts, "by_year_chart", noted_drawing)
    tables = pair_of(2019)
    path = tiny_path(tiny(tables))
    app = screen(path, ONE_MEASURE)
    assert "Too few to judge" in shown(app)
    app.run()
    assert drawn == [("yield", "bu/ac")]
    app.query_params["measure"] = "moisture"
    app.run()
    app.query_params["measure"] = "yield"
    app.run()
    assert drawn == [("yield", "bu/ac"), ("moisture", "points")]
    monkeypatch.setattr(review_module, "compare_pairs", noted_comparing)
    monkeypatch.setattr(on_file, "review_all", noted_reading)
    app.selectbox(key="yield_unit").select("t/ha").run()
    assert "t/ha" in shown(app)
    assert drawn[2:] == [("yield", "t/ha")]
    assert compared == read == []
    with open_records(path) as connection:
        change_settings(connection, {"margin.dockage": "2"}, done_by="test", why="for a test")
        add(connection, LOADS, tables["loads"][0] | {"moisture_pct": 9.5})
    app.run()
    assert len(read) == 1
    assert set(compared) == {"yield", "moisture", "dockage"}  # and not yield as sold
    compared.clear()
    with open_records(path) as connection:
        change_settings(connection, {"level": "0.8"}, done_by="test", why="a cheap choice")
    app.run()
    assert {"yield", "moisture", "dockage", "yield_as_sold"} <= {*compared}


def test_a_farm_of_two_years_sees_published_trials_and_what_both_say(
    screen: Screens, tiny: Callable[[dict[str, Rows]], duckdb.DuckDBPyConnection]
) -> None:
    tables = pair_of(2024)
    for name, rows in pair_of(2025).items():
        tables[name] = tables[name] if name == "fields" else [*tables[name], *rows]
    tables["loads"][0]["weight_kg"] = 97_000.0  # so that the two years differ
    text = shown(screen(tiny_path(tiny(tables)), ONE_MEASURE))
    assert "From the published trials alone the likely range is" in text
    assert "cannot be told yet: too few years" in text


def test_without_a_file_the_screen_says_how_to_begin(screen: Screens, tmp_path: Path) -> None:
    text = shown(screen(tmp_path / "none.duckdb"))
    assert "There are no records yet" in text
    assert "standrow demo" in text
    assert not (tmp_path / "none.duckdb").exists()


def test_records_that_nobody_wrote_to_are_not_opened_again_for_a_screen(
    screen: Screens, records: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def opened(work: object) -> None:
        raise Refused("opened")

    os.utime(records, (time.time() - 60,) * 2)
    app = screen(records, "screens/bring_in_files.py")
    monkeypatch.setattr(on_file, "read_records", opened)
    assert not app.run().error
    os.utime(records)
    assert [error.value for error in app.run().error] == ["opened"]


def test_without_a_pair_the_screen_says_what_a_pair_is(
    screen: Screens, tiny: Callable[[dict[str, Rows]], duckdb.DuckDBPyConnection]
) -> None:
    path = tiny_path(tiny({"fields": [{"field": "North half", "acres": 200.0}]}))
    for page in (None, ONE_MEASURE):
        assert "There is no pair on record yet" in shown(screen(path, page))


def test_without_a_complete_pair_the_screen_names_the_missing_paper(
    screen: Screens, tiny: Callable[[dict[str, Rows]], duckdb.DuckDBPyConnection]
) -> None:
    tables = pair_of(2024)
    path = tiny_path(tiny(tables | {"loads": tables["loads"][:1]}))
    app = screen(path)
    assert "No pair has both sides yet" in shown(app)
    (table,) = shown_tables(app)
    assert "North half, west (windrowed)" in table[1][-1]


def test_a_file_that_holds_no_records_gets_one_clear_message(screen: Screens, tmp_path: Path) -> None:
    path = tmp_path / "letter.duckdb"
    path.write_text("Dear sir, this is not a file of records." * 200)
    app = screen(path)
    assert "this is not a file of records" in app.error[0].value.replace("\\", "")
    assert not app.exception


def test_what_is_written_cannot_turn_into_markup() -> None:
    assert shown_words.plain("$14 (2 to 26) on *A_1*") == r"\$14 (2 to 26) on \*A\_1\*"


def test_better_is_to_the_right_whatever_the_direction(compared: dict[str, Comparison]) -> None:
    found = compared
    assert found["green_seed"].these_fields.better == "standing"
    assert found["green_seed"].these_fields.estimate < 0
    marks = charts.all_measure_rows(found).frame
    for name, comparison in found.items():
        tip = tip_text(comparison, Question.THESE_FIELDS, comparison.these_fields)
        here = marks.filter(tip=tip).row(0, named=True)
        assert (here["low"] or 0) <= here["estimate"] <= (here["high"] or 0), name
        if comparison.these_fields.better:
            assert (here["low"] > 0) == (comparison.these_fields.better == "standing"), name


def test_each_pair_is_drawn_once_on_either_side(compared: dict[str, Comparison]) -> None:
    comparison = compared["yield"]
    marks = charts.pairs_chart_rows(comparison, comparison.pair_differences).frame
    assert marks.filter(shape="circle").height == comparison.all_pairs.pairs
    assert marks.filter(shape="square").height == comparison.all_pairs.pairs

"""The screen of one pair without a browser: what it shows, how it is reached, and that every text is escaped."""

from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pytest
from streamlit.testing.v1 import AppTest

from analytics.pairs.facts import Fact, Group, Papers
from analytics.pairs.one_pair import one_pair
from analytics.pairs.timing import calendar_bars, calendar_weather, exploration
from analytics.records.columns import METHODS
from analytics.records.grown_tables import PAIRS, PLOTS
from analytics.storage.database import open_records
from dashboard.frame.shown_picture import specification
from dashboard.pictures import calendar_chart, side_by_side_table
from dashboard.winter import exploring, pair_links
from tests.prepared import begun, lent, only_read
from tests.screens.shown_tables import column, shown_tables

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
ONE_PAIR = "screens/one_pair.py"

Screens = Callable[..., AppTest]


@pytest.fixture
def records(demo_records: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The demo farm, which the dashboard opens, to be changed."""
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with lent(demo_records) as path:
        yield path


@pytest.fixture
def looked_at(demo_records: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The demo farm, which the dashboard opens and nobody changes."""
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with only_read(demo_records) as path:
        yield path


def opened(page: str = ONE_PAIR, **address: str) -> AppTest:
    app = AppTest.from_file(APP, default_timeout=60).switch_page(page)
    for name, value in address.items():
        app.query_params[name] = value
    assert not app.run().exception
    return app


def facts_of(app: AppTest) -> str:
    """The side-by-side rows as HTML."""
    return "".join(found.proto.body for found in app.get("html") if "pair-facts" in found.proto.body)


def test_it_opens_on_the_newest_crop_year_with_the_pairs_sentence(as_opened: Screens, demo_records: Path) -> None:
    with open_records(demo_records) as connection:
        expected = one_pair(connection, 2025, "H1").sentence
    app = as_opened("one_pair", "seeds_per_ft2")
    assert app.title[0].value == "Pair H1, 2025: what was different?"
    assert app.markdown[0].value == expected


def test_pairs_that_are_not_harvested_yet_come_last(records: Path, add: Callable[..., None]) -> None:
    with open_records(records) as connection:
        plot = {"crop_year": 2026, "field": "North half"}
        add(connection, PLOTS, plot | {"plot": "s", "method": "standing"}, plot | {"plot": "w", "method": "windrowed"})
        sides = {f"{side}_field": "North half" for side in METHODS} | {"standing_plot": "s", "windrowed_plot": "w"}
        add(connection, PAIRS, {"crop_year": 2026, "pair": "P1", "layout": "split field", **sides})
    app = opened()
    assert app.title[0].value == "Pair H1, 2025: what was different?"
    assert app.selectbox(key="pair").options[-1] == "P1, 2026: North half"


def test_of_many_pairs_the_crop_year_is_chosen_first(looked_at: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pair_links, "MOST_PAIRS", 10)
    app = opened(pair="H2, 2025: Willow quarter")
    assert app.title[0].value == "Pair H2, 2025: what was different?"
    assert app.selectbox(key="pair_year").value == 2025
    assert len(app.selectbox(key="pair").options) == 4
    app.selectbox(key="pair_year").select(2024).run()
    assert app.title[0].value == "Pair M1, 2024: what was different?"
    app.button(key="Previous pair").click().run()
    assert app.title[0].value == "Pair N1, 2025: what was different?"
    assert app.selectbox(key="pair_year").value == 2025
    # as the browser keeps it where the pair is the year's first
    for address, first in (("2024", "M1, 2024"), ("1999", "H1, 2025")):
        assert opened(pair_year=address).title[0].value == f"Pair {first}: what was different?"


def test_next_and_previous_lead_through_the_pairs_and_a_marked_row_has_its_tickets(looked_at: Path) -> None:
    app = opened()
    assert app.button(key="Previous pair").disabled
    app.button(key="Next pair").click().run()
    assert app.title[0].value == "Pair H2, 2025: what was different?"
    html = facts_of(app)
    assert "▲ The loads were weighed in different ways" in html
    assert "<td>monitor 4634</td>" in html
    assert html.count("<summary>") > 15
    app.button(key="Previous pair").click().run()
    assert app.title[0].value == "Pair H1, 2025: what was different?"


def test_the_table_of_seeds_per_square_foot_is_on_the_screen(as_opened: Screens) -> None:
    """Canola Council of Canada 2012: 261, 174, 130 and 104 at 2, 3, 4 and 5 g; exact 260, 174, 130, 104."""
    (table,) = shown_tables(as_opened("one_pair", "seeds_per_ft2"))
    by_weight = dict(zip(column(table, "g a thousand seeds"), column(table, "seeds/ft2 at 1 bu/ac"), strict=True))
    assert [by_weight[weight] for weight in ("2.0", "3.0", "4.0", "5.0")] == ["260", "174", "130", "104"]


def test_without_any_pair_it_says_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "empty.duckdb"
    with begun(path):
        pass
    monkeypatch.setenv("STANDROW_RECORDS", str(path))
    app = opened()
    assert app.title[0].value == "What was different inside a pair?"
    assert app.info[0].value.startswith("There is no pair on record yet.")


def test_the_measure_leads_to_every_pair_and_the_exploration_is_labelled(as_opened: Screens) -> None:
    app = as_opened("one_measure", "statistics", "published_results", "open_pair")
    links = [found.proto.label.replace("\\", "") for found in app.get("page_link")]
    assert "H2, 2025: Willow quarter" in links
    labels = [found.label for found in app.expander]
    assert "Exploration: look, do not conclude" in labels


def test_texts_of_the_grower_are_shown_letter_by_letter() -> None:
    papers = Papers(columns=("a<b",), rows=(("<script>x</script>",),))
    fact = Fact(label="<i>", standing="1 & 2", windrowed="'\"", caution="<b>", standing_papers=papers)
    html = side_by_side_table.side_by_side([Group(name="<g>", facts=(fact,))])
    assert "<script>" not in html
    assert "&lt;script&gt;x&lt;/script&gt;" in html
    assert "1 &amp; 2" in html
    assert "<h2>&lt;g&gt;</h2>" in html


def test_the_calendar_has_a_bar_a_plot_and_a_stroke_for_weather_while_it_was_out(
    demo: duckdb.DuckDBPyConnection,
) -> None:
    """2025: the wind of 3 September met only the three plots that were still out; two thin bars start by a partner."""
    chart = specification(calendar_chart.calendar(calendar_bars(demo, 2025), calendar_weather(demo, 2025)))
    bars, *_, strokes = (chart["datasets"][layer["data"]["name"]] for layer in chart["layer"])
    assert bars.height == 8
    assert bars["dash"].sum() == 2
    assert strokes["tip"].to_list().count("3 Sep: wind 71 km/h") == 3


def test_a_picture_of_the_exploration_says_how_many_pairs_it_holds(demo: duckdb.DuckDBPyConnection) -> None:
    rows = exploration(demo)
    chart = specification(exploring.against_wind(rows, "loss_difference", "Loss, standing minus windrowed, bu/ac"))
    assert chart["title"] == "Loss, standing minus windrowed, bu/ac: 12 pairs"
    assert max(rows.height for rows in chart["datasets"].values()) == 12

"""What lies below the window, where the page's own script does not press the button: everybody can."""

from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest
from streamlit.testing.v1 import AppTest

from analytics.trade.cautions import PANS
from tests.prepared import only_read

HARVESTED = {2024: 25, 2025: 26}  # pairs by crop year
APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")


def test_the_rest_comes_at_a_press_stays_until_the_screen_is_left_and_is_always_there_without_a_window(
    demo_records: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with only_read(demo_records):
        app = AppTest.from_file(APP, default_timeout=60).switch_page("screens/one_pair.py")
        app.context = {"url": "http://127.0.0.1/one_pair"}  # as a browser tells
        assert not has_all(app.run())
        assert has_all(app.button(key="show_rest").click().run())
        assert has_all(app.selectbox[0].select_index(1).run())
        app.switch_page("screens/settings.py").run()
        assert not has_all(app.switch_page("screens/one_pair.py").run())
        app.context = {}
        assert has_all(app.run())


def test_a_table_longer_than_a_window_is_cut_there_until_the_rest_is_wanted(
    tiny: Callable[..., duckdb.DuckDBPyConnection], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A window holds 25 pairs: those of 2024, and not those of 2025."""
    fields = {crop_year: [f"Field {number}" for number in range(pairs)] for crop_year, pairs in HARVESTED.items()}
    sides = (("east", "standing"), ("west", "windrowed"))
    connection = tiny(
        {
            "fields": [{"field": field, "acres": 100.0} for field in fields[2025]],
            "plots": [
                {"crop_year": crop_year, "field": field, "plot": plot, "method": method, "acres": 50.0}
                for crop_year in fields
                for field in fields[crop_year]
                for plot, method in sides
            ],
            "pairs": [
                {"crop_year": crop_year, "pair": field, "layout": "split field"}
                | {
                    f"{method}_{what}": name
                    for plot, method in sides
                    for what, name in (("field", field), ("plot", plot))
                }
                for crop_year in fields
                for field in fields[crop_year]
            ],
        }
    )
    ((path,),) = connection.execute("select path from duckdb_databases() where not internal").fetchall()
    connection.close()
    monkeypatch.setenv("STANDROW_RECORDS", path)
    app = AppTest.from_file(APP, default_timeout=60).switch_page("screens/gaps.py")
    app.context = {"url": "http://127.0.0.1/gaps"}
    assert rows_of_gaps(app.run()) == 25
    assert not is_at_its_end(app)
    assert rows_of_gaps(app.button(key="show_rest").click().run()) == 26
    assert is_at_its_end(app)
    other = AppTest.from_file(APP, default_timeout=60).switch_page("screens/gaps.py")
    other.context = {"url": "http://127.0.0.1/gaps"}
    other.query_params["crop_year"] = "2024"
    assert rows_of_gaps(other.run()) == 25
    assert is_at_its_end(other)


def is_at_its_end(app: AppTest) -> bool:
    return any(part.value == "How far the season is in" for part in app.header)


def rows_of_gaps(app: AppTest) -> int:
    assert not app.exception
    (grid,) = (part.proto.body for part in app.get("html") if "<thead>" in part.proto.body)
    return int(grid.count("<th scope='row'>"))


def has_all(app: AppTest) -> bool:
    """Whether the caution below the facts of the pair is there; the first facts always are."""
    assert not app.exception
    assert any("pair-facts" in part.proto.body for part in app.get("html"))
    return any(text.value == PANS for text in app.markdown)

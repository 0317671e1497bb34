"""What does the monitor say? A fault in one box is told, and what stands in the others stays."""

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.points.simulated import POINTS_FILE, SEED, simulate
from tests.prepared import begun

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
CERTIFIED = "certified-0"


@pytest.fixture
def screen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], AppTest]:
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    monkeypatch.setenv("STANDROW_RECORDS", str(path))
    return lambda: AppTest.from_file(APP, default_timeout=60).switch_page("screens/monitor_points.py").run()


def test_a_fault_in_the_strips_is_told_and_nothing_typed_is_lost(screen):
    field, app = simulate(SEED), screen()
    app.file_uploader[0].upload(POINTS_FILE, field.points_csv.encode(), "text/csv").run()
    app.text_input(CERTIFIED).input("29 727").run()
    first, *rows = field.strips_csv.splitlines()
    app.text_area[0].input("\n".join([first, *rows[:2]]).replace("windrowed", "mown")).run()
    assert "mown given; allowed standing, windrowed" in app.error[0].value
    assert app.text_input(CERTIFIED).value == "29 727"
    app.text_area[0].input("\n".join([first, *rows[:2]])).run()
    assert not app.error
    assert "Scaled before cleaning" in " ".join(one.value for one in app.markdown)
    assert app.button("keep_strips").label == "Keep 2 strips and 1 pair"
    app.text_input("threshold-start_m").input("many").run()
    assert "start\\_m: many given; allowed 0 to 500 m" in app.error[0].value
    assert app.text_area[0].value

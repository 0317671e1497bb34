"""What would the group see? Shown row by row before a file can be taken; codes are drawn first."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.pool.share import farm_code
from analytics.storage.database import open_records
from tests.prepared import lent

APP = Path(__file__).resolve().parents[2] / "dashboard" / "app.py"


@pytest.fixture
def path(demo_records, monkeypatch):
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with lent(demo_records) as path:
        yield path


def test_codes_are_drawn_then_every_row_is_shown_then_a_file_may_be_taken(path):
    app = AppTest.from_file(str(APP), default_timeout=120)
    app.switch_page("screens/sharing.py").run()
    assert app.title[0].value == "What would the group see?"
    assert "Nothing leaves this machine until you take a file" in app.main.markdown[0].value
    assert not app.get("download_button")
    app.button("draw_codes").click().run()
    assert not app.exception
    with open_records(path) as connection:
        code = farm_code(connection)
    assert f"under the code {code}" in app.main.markdown[0].value
    assert [button.label for button in app.get("download_button")] == ["Take it as Parquet", "Take it as CSV"]
    rows = app.dataframe[0].value
    assert "net_return" not in set(rows["measure"])
    app.multiselect("share_measures").set_value(["yield"])
    app.multiselect("share_years").set_value([2024])
    app.run()
    shown = app.dataframe[0].value
    assert (set(shown["measure"]), set(shown["crop_year"])) == ({"yield"}, {2024})
    app.multiselect("share_measures").set_value([])
    app.run()
    assert "nothing would leave this farm" in app.main.markdown[0].value

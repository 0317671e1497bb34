"""What do the others' fields say? Files of the group in, three questions out, and this farm beside the others."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.pool.share import keep_codes, prepare_share, share_bytes
from analytics.storage.database import open_records
from sample_records.make_demo_group import shares
from tests.prepared import lent

APP = Path(__file__).resolve().parents[2] / "dashboard" / "app.py"


@pytest.fixture
def path(demo_records, monkeypatch):
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with lent(demo_records) as path:
        yield path


def words_of(app):
    kinds = (app.markdown, app.caption, app.error)
    return " ".join(item.value for kind in kinds for item in kind).replace("\\", "")


def test_the_group_answers_and_this_farm_stands_beside_it(path):
    with open_records(path) as connection:
        own = prepare_share(connection)
        keep_codes(connection, own, done_by="test", source="screen")
    files = [(f"{code}.csv", rows.write_csv().encode(), "text/csv") for code, rows in shares(farms=2, years=4).items()]
    app = AppTest.from_file(str(APP), default_timeout=120)
    app.switch_page("screens/others_fields.py").run()
    assert "It takes three farms" in app.main.markdown[0].value
    app.file_uploader("group_files").set_value([*files, ("own.parquet", share_bytes(own, ".parquet"), "")])
    app.run()
    assert not app.exception
    said = words_of(app)
    assert "3 farms sent this in." in said
    assert "On another farm in years to come" in said
    assert f"Farm {own.farm} by itself:" in said
    assert [button.label for button in app.get("download_button")] == [
        "Take it as PDF",
        "As HTML page",
        "Numbers as XLSX",
    ]
    app.file_uploader("group_files").set_value([files[0], ("x.csv", files[1][1].replace(b"one_field", b"=x"), "")])
    app.run()
    assert "Nothing was pooled, because of" in words_of(app)

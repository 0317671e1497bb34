"""What lies below the window, where the page's own script does not press the button: everybody can."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.trade.cautions import PANS
from tests.prepared import only_read

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


def has_all(app: AppTest) -> bool:
    """Whether the caution below the facts of the pair is there; the first facts always are."""
    assert not app.exception
    assert any("pair-facts" in part.proto.body for part in app.get("html"))
    return any(text.value == PANS for text in app.markdown)

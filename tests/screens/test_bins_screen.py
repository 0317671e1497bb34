"""Is the bin safe to leave? The caution about going in stands first; alarms and the next look stand by each bin."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.trade import cautions

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")


@pytest.fixture
def app(monkeypatch: pytest.MonkeyPatch, demo_records: Path) -> AppTest:
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    return AppTest.from_file(APP, default_timeout=60).switch_page("screens/bins.py").run()


def test_the_caution_comes_first_in_normal_text_and_no_bin_is_called_safe(app: AppTest) -> None:
    assert not app.exception
    said = [element.value.replace("\\", "") for element in app.main.markdown]
    assert said[0] == cautions.BINS
    assert said[1] == "Bin 4 wants a look now; 1 bin on record holds grain."
    assert cautions.HEATING in said
    told = "\n".join(said)
    assert "It holds standing only: Ridge sixty, whole." in told
    assert "Last check, 13 November 2025: core 11.6 C, smell musty" in told
    warnings = [warning.value.replace("\\", "") for warning in app.warning]
    rose = "Look now: the core rose by 4.1 C from 30 October 2025 to 13 November 2025 while outside fell by 9.2 C."
    assert rose in warnings
    assert " safe" not in told.replace("not safe", "")

"""Screens of the demo farm as they open, each run once for all tests that only look at it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from tests.prepared import only_read
from tests.screens.unfolding import can_be_unfolded

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")


@pytest.fixture(scope="session")
def as_opened(demo_records: Path) -> Callable[..., AppTest]:
    """as_opened(screen, part, ..., name=text): a screen of the demo farm with these parts unfolded, and an address.

    Others look at the same one: a test that clicks or types opens one of its own.
    """
    kept: dict[object, AppTest] = {}

    def look(screen: str, *parts: str, **address: str) -> AppTest:
        under = (screen, parts, *address.items())
        if under not in kept:
            app = AppTest.from_file(APP, default_timeout=60).switch_page(f"screens/{screen}.py")
            app.query_params.update(address)
            for part in parts:
                app.session_state[part] = True
            with pytest.MonkeyPatch.context() as patched, only_read(demo_records) as records:
                patched.setenv("STANDROW_RECORDS", str(records))
                kept[under] = app.run()
            assert not app.exception
            assert can_be_unfolded(app) >= {*parts}
        return kept[under]

    return look

"""The entry pad's side of the talk without a browser: what it is given, and what it tells when somebody types."""

import json
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.after_harvest import entry_pad


class ToldPad:
    """Stands where the browser's pad is; `data` is what it was given last."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.data: dict[str, Any] = {}
        self.typed = 0
        monkeypatch.setattr(entry_pad, "PAD", self._show)

    def _show(self, *, data: list[dict[str, Any]], **_: object) -> None:
        (self.data,) = json.loads(json.dumps(data))  # as it would arrive

    @property
    def row(self) -> dict[str, str]:
        """The row that is open; {} for a new one."""
        rows, at = self.data["rows"], self.data["at"]
        return rows[at] if 0 <= at < len(rows) else {}

    @property
    def save_words(self) -> str:
        """The words on the save button."""
        return str(self.data["save"]["words"])

    @property
    def is_save_off(self) -> bool:
        """Whether there is nothing to save."""
        return bool(self.data["save"]["isOff"])

    @property
    def words(self) -> str:
        """Everything that the pad shows beside rows and under them."""
        shown = [self.data["done"], self.save_words]
        for answer in filter(None, self.data["answers"]):
            shown += [answer["makes"], *answer["asks"]]
            shown += [f"{columns}: {words}" for kind in ("refused", "unlikely") for columns, words in answer[kind]]
        return "\n".join(shown)

    def type_in(self, app: AppTest, *, row: int | None = None, **cells: str) -> AppTest:
        """Cells of a row, the open one if none is named; told as a draft."""
        rows = [dict(one) for one in self.data["rows"]]
        at = self.data["at"] if row is None else row
        at = len(rows) if at < 0 else at
        rows += [{} for _ in range(at + 1 - len(rows))]
        rows[at] |= cells
        self.data["rows"] = rows
        return self._tell(app, {})

    def press(self, app: AppTest, what: str = "save") -> AppTest:
        """A button of the pad."""
        return self._tell(app, {"press": {"what": what, "number": self.typed + 1}})

    def _tell(self, app: AppTest, more: dict[str, object]) -> AppTest:
        self.typed += 1
        message = {"sheet": self.data["sheet"], "pad": "test", "seq": self.typed, "rows": self.data["rows"]}
        app.session_state[entry_pad.KEY] = {"draft": message | {"units": self.data["units"]} | more}
        app.run()
        assert not app.exception
        return app

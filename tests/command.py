"""The command in this process, where another test starts it as a program of its own."""

import sys
from collections.abc import Callable

import pytest

from analytics import cli

Ended = tuple[int, str, str]  # exit code, stdout, stderr


def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ended]:
    """Call with arguments for how it ended."""

    def run(*arguments: object) -> Ended:
        monkeypatch.setattr(sys, "argv", ["standrow", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            cli.run_command()
        printed = capsys.readouterr()
        return int(end.value.code or 0), printed.out, printed.err

    return run

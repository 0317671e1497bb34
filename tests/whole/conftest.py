"""The command in this process, and records where it looks for them."""

import sys

import pytest

from analytics import cli
from analytics.commands import common
from tests.prepared import begun, copied


@pytest.fixture
def standrow(monkeypatch, capsys, tmp_path):
    """Call with arguments for (exit code, stdout, stderr); records are in a folder of the test's own."""
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))
    monkeypatch.setattr(common.out, "width", 120)

    def run(*arguments: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["standrow", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            cli.run_command()
        printed = capsys.readouterr()
        return int(end.value.code or 0), printed.out, printed.err

    return run


@pytest.fixture
def demo_farm(demo_records, tmp_path):
    """The demo farm is where the command looks for the records."""
    copied(demo_records, tmp_path / "records.duckdb")


@pytest.fixture
def empty_farm(tmp_path):
    """Records without a row are where the command looks for them."""
    with begun(tmp_path / "records.duckdb"):
        pass

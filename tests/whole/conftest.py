"""The command in this process, and records where it looks for them."""

import pytest

from analytics.commands import common
from tests.command import command
from tests.prepared import begun, copied


@pytest.fixture
def standrow(monkeypatch, capsys, tmp_path):
    """Call with arguments for (exit code, stdout, stderr); records are in a folder of the test's own."""
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))
    monkeypatch.setattr(common.out, "width", 120)
    return command(monkeypatch, capsys)


@pytest.fixture
def demo_farm(demo_records, tmp_path):
    """The demo farm is where the command looks for the records."""
    copied(demo_records, tmp_path / "records.duckdb")


@pytest.fixture
def empty_farm(tmp_path):
    """Records without a row are where the command looks for them."""
    with begun(tmp_path / "records.duckdb"):
        pass

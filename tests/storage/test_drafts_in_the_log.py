"""What is typed stays in the log, while that is short, and comes out of it as it went in."""

import random
from dataclasses import replace
from pathlib import Path

import pytest

from analytics.storage import checkpoints
from analytics.storage.checkpoints import log_of
from analytics.storage.database import open_records
from analytics.storage.drafts import (
    DraftPlace,
    all_drafts,
    bring_back,
    drafts_at,
    drop_draft,
    keep_draft,
    throw_away,
    thrown_away,
)
from tests.prepared import begun


@pytest.fixture
def path(tmp_path) -> Path:
    """Records without a row."""
    with begun(tmp_path / "records.duckdb"):
        return tmp_path / "records.duckdb"


DRAFTED = DraftPlace(paper="loads", crop_year=2026, field="North", plot="east", typed_by="Ann")


def keep_typed(path: Path, key: int, *, letters: int = 0) -> None:
    """What the entry screen does at each key."""
    with open_records(path, leaves_log=True) as connection:
        rows, before = [{"ticket": str(key), "notes": "x" * letters}], {f"w:{key - 1}"}
        keep_draft(connection, DRAFTED, rows=rows, loaded=[], units={}, mark=f"w:{key}", onto=before)


def typed_in(path: Path) -> list[str]:
    with open_records(path) as connection:
        return [row["ticket"] for draft in all_drafts(connection) for row in draft.rows]


def everything_typed(connection) -> list[tuple[object, ...]]:
    return connection.execute("select * exclude (typed_at) from drafts order by all").fetchall()


def test_what_is_typed_stays_in_the_log_until_the_next_closing(path):
    before = path.read_bytes()
    for key in range(3):
        keep_typed(path, key)
    assert path.read_bytes() == before
    assert typed_in(path) == ["2"]
    assert not log_of(path).exists()


def test_a_log_that_has_grown_long_is_moved_into_the_file_all_the_same(path):
    for key in range(3):
        keep_typed(path, key, letters=checkpoints.SHORT_LOG // 2)
        assert not log_of(path).exists() or log_of(path).stat().st_size < checkpoints.SHORT_LOG
    assert typed_in(path) == ["2"]


@pytest.mark.parametrize("keys", [12, pytest.param(60, marks=pytest.mark.slow)])
def test_drafts_written_over_again_and_again_come_out_of_the_log_as_they_went_in(path, monkeypatch, keys):
    """Kept, thrown away, brought back, dropped, by two windows at two places, and the log read at each opening."""
    monkeypatch.setattr(checkpoints, "SHORT_LOG", 10**9)
    dice = random.Random(7)
    places = [DRAFTED, replace(DRAFTED, plot="west")]
    left: list[tuple[object, ...]] = []
    for key in range(keys):
        place, window = dice.choice(places), dice.choice("ab")
        with open_records(path, leaves_log=True) as connection:
            assert everything_typed(connection) == left
            here = [draft for draft in drafts_at(connection, place) if draft.mark.startswith(window)]
            act = dice.random()
            if here and act < 0.1:
                drop_draft(connection, here[0])
            elif here and act < 0.2:
                throw_away(connection, here[0])
            elif (thrown := thrown_away(connection, place)) and act < 0.3:
                bring_back(connection, thrown)
            else:
                mark = f"{window}:{key}"
                keep_draft(connection, place, rows=[{"ticket": mark}], loaded=[], units={}, mark=mark, onto=())
            left = everything_typed(connection)
    assert log_of(path).exists()
    with open_records(path) as connection:
        assert everything_typed(connection) == left
    assert not log_of(path).exists()
    with open_records(path, leaves_log=True) as connection:
        assert everything_typed(connection) == left
    assert len(left) > 1

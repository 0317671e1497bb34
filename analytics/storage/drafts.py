"""What was typed and not saved yet, kept in the records so that a closed browser or a stopped server loses nothing.

A draft is no record: nothing counts it, and saving removes it. Two windows that type at one place keep a draft each.
One that was thrown away waits, out of sight, until it is brought back or another is thrown away in its place.
"""

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime

import duckdb

from analytics.storage.sql_texts import query_text
from analytics.storage.transactions import transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPlace:
    """What a draft is of, and whose it is. Field and plot are None where the paper is not of one plot."""

    paper: str
    crop_year: int
    field: str | None
    plot: str | None
    typed_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A draft as kept.

    rows : texts by column name, as typed
    loaded : the rows of the records, as typed texts, that the person had before them when the typing began
    units : unit by column name
    mark : the window that wrote it last and how far its typing was, "window:number"; "" where that is not known
    """

    place: DraftPlace
    typed_at: datetime
    rows: tuple[Mapping[str, str], ...]
    loaded: tuple[Mapping[str, str], ...]
    units: Mapping[str, str]
    mark: str
    is_thrown_away: bool

    @property
    def waiting(self) -> int:
        """How many rows wait to be saved: typed, changed, or to be taken out."""
        typed, loaded = ([_filled(row) for row in rows] for rows in (self.rows, self.loaded))
        return max(sum(row not in loaded for row in typed), sum(row not in typed for row in loaded))


def _filled(row: Mapping[str, str]) -> dict[str, str]:
    return {name: text for name, text in row.items() if text.strip()}


def _everything(connection: duckdb.DuckDBPyConnection) -> list[tuple[int, Draft]]:
    """Each draft, thrown away or not, under the number of its row; the newest first.

    A farm has a handful of drafts at a time, so all of them are read and the right ones picked here.
    """
    found = []
    for row, paper, crop_year, field, plot, typed_by, typed_at, content in connection.execute(
        query_text("all_drafts")
    ).fetchall():
        kept = json.loads(content)
        draft = Draft(
            place=DraftPlace(paper=paper, crop_year=crop_year, field=field, plot=plot, typed_by=typed_by),
            typed_at=typed_at,
            rows=tuple(kept["rows"]),
            loaded=tuple(kept["loaded"]),
            units=kept["units"],
            mark=kept.get("mark", ""),
            is_thrown_away=kept.get("thrown_away", False),
        )
        found.append((row, draft))
    return found


def all_drafts(connection: duckdb.DuckDBPyConnection) -> list[Draft]:
    """Everybody's drafts of every place, the newest first."""
    return [draft for _, draft in _everything(connection) if not draft.is_thrown_away]


def drafts_at(connection: duckdb.DuckDBPyConnection, place: DraftPlace) -> list[Draft]:
    """The drafts of this person for this paper and place, the newest first; one in all but rare cases."""
    return [draft for draft in all_drafts(connection) if draft.place == place]


def thrown_away(connection: duckdb.DuckDBPyConnection, place: DraftPlace) -> Draft | None:
    """The draft that this person threw away here last, for as long as it can be brought back."""
    found = (draft for _, draft in _everything(connection) if draft.place == place and draft.is_thrown_away)
    return next(found, None)


def keep_draft(
    connection: duckdb.DuckDBPyConnection,
    place: DraftPlace,
    *,
    rows: Sequence[Mapping[str, str]],
    loaded: Sequence[Mapping[str, str]],
    units: Mapping[str, str],
    mark: str = "",
    onto: Collection[str] = ("",),
) -> None:
    """Keep what is typed now in the place of the drafts that it goes on from, and beside any other.

    mark : the window and how far its typing is
    onto : marks that this typing goes on from; an earlier one of the same window is gone on from as well
    """
    draft = Draft(
        place=place,
        typed_at=datetime.now(),
        rows=tuple(rows),
        loaded=tuple(loaded),
        units=units,
        mark=mark,
        is_thrown_away=False,
    )
    with transaction(connection):
        for other in drafts_at(connection, place):
            if any(_goes_on_from(one, other.mark) for one in (mark, *onto)):
                _delete(connection, other)
        _insert(connection, draft)


def drop_drafts(connection: duckdb.DuckDBPyConnection, place: DraftPlace, marks: Collection[str]) -> None:
    """Forget the drafts at a place that typing with one of these marks goes on from: what they held is saved."""
    with transaction(connection):
        for draft in drafts_at(connection, place):
            if any(_goes_on_from(mark, draft.mark) for mark in marks):
                _delete(connection, draft)


def _goes_on_from(mark: str, earlier: str) -> bool:
    (window, _, number), (other, _, before) = mark.partition(":"), earlier.partition(":")
    return mark == earlier or (window == other and bool(before) and bool(number) and int(before) <= int(number))


def _insert(connection: duckdb.DuckDBPyConnection, draft: Draft) -> None:
    content = {
        "rows": [dict(row) for row in draft.rows],
        "loaded": [dict(row) for row in draft.loaded],
        "units": dict(draft.units),
        "mark": draft.mark,
        "thrown_away": draft.is_thrown_away,
    }
    connection.execute(query_text("add_draft"), asdict(draft.place) | {"content": json.dumps(content)})


def _delete(connection: duckdb.DuckDBPyConnection, draft: Draft) -> None:
    for row, found in _everything(connection):
        if (found.place, found.mark, found.is_thrown_away) == (draft.place, draft.mark, draft.is_thrown_away):
            connection.execute(query_text("drop_draft"), {"row": row})


def drop_draft(connection: duckdb.DuckDBPyConnection, draft: Draft) -> None:
    """Remove a draft, because it was saved or became part of another."""
    with transaction(connection):
        _delete(connection, draft)


def throw_away(connection: duckdb.DuckDBPyConnection, draft: Draft) -> None:
    """Put a draft out of sight; it can be brought back until another is thrown away here."""
    with transaction(connection):
        if before := thrown_away(connection, draft.place):
            _delete(connection, before)
        _put(connection, draft, replace(draft, is_thrown_away=True))


def bring_back(connection: duckdb.DuckDBPyConnection, draft: Draft) -> None:
    """The draft that was thrown away, as it was."""
    with transaction(connection):
        _put(connection, draft, replace(draft, is_thrown_away=False))


def move_drafts(connection: duckdb.DuckDBPyConnection, place: DraftPlace, to: DraftPlace) -> None:
    """The drafts of a place under another name of the person, whose own drafts there stay beside them."""
    with transaction(connection):
        for draft in reversed(drafts_at(connection, place)):
            _put(connection, draft, replace(draft, place=to))


def _put(connection: duckdb.DuckDBPyConnection, before: Draft, after: Draft) -> None:
    _delete(connection, before)
    _insert(connection, after)


def last_place(connection: duckdb.DuckDBPyConnection, typed_by: str) -> DraftPlace | None:
    """Where this person typed last and has not saved yet."""
    places = (draft.place for draft in all_drafts(connection) if draft.place.typed_by == typed_by)
    return next(places, None)

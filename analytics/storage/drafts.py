"""What was typed and not saved yet, kept in the records so that a closed browser or a stopped server loses nothing.

A draft is no record: nothing counts it, and saving or throwing it away removes it.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import duckdb

from analytics.storage.database import query_text, transaction


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
    """

    typed_at: datetime
    rows: tuple[Mapping[str, str], ...]
    loaded: tuple[Mapping[str, str], ...]
    units: Mapping[str, str]


def _values(place: DraftPlace) -> dict[str, object]:
    return {
        "paper": place.paper,
        "crop_year": place.crop_year,
        "field": place.field,
        "plot": place.plot,
        "typed_by": place.typed_by,
    }


def keep_draft(
    connection: duckdb.DuckDBPyConnection,
    place: DraftPlace,
    *,
    rows: Sequence[Mapping[str, str]],
    loaded: Sequence[Mapping[str, str]],
    units: Mapping[str, str],
) -> None:
    """Keep what is typed now in the place of what was kept before."""
    content = {"rows": [dict(row) for row in rows], "loaded": [dict(row) for row in loaded], "units": dict(units)}
    with transaction(connection):
        connection.execute(query_text("drop_draft"), _values(place))
        connection.execute(query_text("add_draft"), _values(place) | {"content": json.dumps(content)})


def find_draft(connection: duckdb.DuckDBPyConnection, place: DraftPlace) -> Draft | None:
    """The draft of this person for this paper and place."""
    rows = connection.execute(query_text("find_draft"), _values(place)).fetchall()
    if not rows:
        return None
    typed_at, content = rows[0]
    kept = json.loads(content)
    return Draft(typed_at=typed_at, rows=tuple(kept["rows"]), loaded=tuple(kept["loaded"]), units=kept["units"])


def drop_draft(connection: duckdb.DuckDBPyConnection, place: DraftPlace) -> None:
    """Remove a draft, because it was saved or thrown away."""
    with transaction(connection):
        connection.execute(query_text("drop_draft"), _values(place))


def last_place(connection: duckdb.DuckDBPyConnection, typed_by: str) -> DraftPlace | None:
    """Where this person typed last and has not saved yet."""
    rows = connection.execute(query_text("last_draft"), {"typed_by": typed_by}).fetchall()
    if not rows:
        return None
    paper, crop_year, field, plot, name = rows[0]
    return DraftPlace(paper=paper, crop_year=crop_year, field=field, plot=plot, typed_by=name)

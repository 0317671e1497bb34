"""Which side stands is drawn by lot, once and in the open: the seed is kept, so that anyone can draw it again.

The drawn methods are written back as the plots and pairs of the crop year. A draw that could not be kept to is noted
with its reason.
"""

import random
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import duckdb
import polars as pl

from analytics.errors import BadInput, Refused
from analytics.planning.pairing import PlannedPair, PlannedSide
from analytics.records.columns import METHODS
from analytics.records.grown_tables import PAIRS, PLOTS
from analytics.records.own_tables import BROKEN_DRAWS, DRAWS
from analytics.storage.database import read_query, read_table
from analytics.storage.history import TableSave, save

LARGEST_SEED = 999_999


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPair:
    """A pair after the lot fell; `first_method` is what the side named first became."""

    planned: PlannedPair
    place: int
    first_method: str

    @property
    def standing(self) -> PlannedSide:
        """The side to cut standing."""
        return self.planned.first if self.first_method == "standing" else self.planned.second

    @property
    def windrowed(self) -> PlannedSide:
        """The side to windrow."""
        return self.planned.second if self.first_method == "standing" else self.planned.first


def new_seed() -> int:
    """A seed nobody chose, 0 to 999 999."""
    return secrets.randbelow(LARGEST_SEED + 1)


def draw(pairs: Sequence[PlannedPair], *, seed: int) -> list[DrawnPair]:
    """The lot for each pair in turn: below one half, the side named first stands.

    Python's random() gives the same numbers for a seed in every version, so the seed and the order repeat the draw.
    Raises BadInput for a seed outside 0 to 999 999.
    """
    if not 0 <= seed <= LARGEST_SEED:
        raise BadInput(f"draw number: {seed} given; allowed a whole number from 0 to {LARGEST_SEED}.")
    lot = random.Random(seed)
    return [
        DrawnPair(planned=pair, place=place, first_method=METHODS[0] if lot.random() < 0.5 else METHODS[1])
        for place, pair in enumerate(pairs, 1)
    ]


def repeats(kept: pl.DataFrame) -> bool:
    """Whether drawing again from the seed gives what was kept. `kept`: rows of draws, all pairs of one draw."""
    rows = kept.sort("place")
    lot = random.Random(rows["seed"][0])
    lots = [lot.random() for _ in range(rows["place"].max())]  # type: ignore[arg-type]
    again = [METHODS[0] if lots[place - 1] < 0.5 else METHODS[1] for place in rows["place"]]
    return again == rows["first_method"].to_list()


def keep_plan(
    connection: duckdb.DuckDBPyConnection,
    pairs: Sequence[PlannedPair],
    *,
    crop_year: int,
    seed: int,
    drawn_at: datetime,
    done_by: str,
    source: str,
) -> list[DrawnPair]:
    """Draw the methods and keep them: the draw, the plots and the pairs of `crop_year`, in one act.

    source : "screen" or "terminal", where it is drawn
    Raises Refused when a pair or a side is on record for that year already: a lot is drawn once.
    """
    if not pairs:
        raise BadInput("plan: no pair given; choose fields first.")
    _refuse_taken(connection, pairs, crop_year)
    drawn = draw(pairs, seed=seed)
    tables = {
        DRAWS: [
            {
                "crop_year": crop_year,
                "pair": one.planned.pair,
                "drawn_at": drawn_at.isoformat(sep=" ", timespec="seconds"),
                "seed": seed,
                "place": one.place,
                "first_side": one.planned.first.words,
                "second_side": one.planned.second.words,
                "first_method": one.first_method,
            }
            for one in drawn
        ],
        PLOTS: [
            {"crop_year": crop_year, "field": side.field, "plot": side.plot, "method": method}
            for one in drawn
            for side, method in ((one.standing, "standing"), (one.windrowed, "windrowed"))
        ],
        PAIRS: [
            {
                "crop_year": crop_year,
                "pair": one.planned.pair,
                "standing_field": one.standing.field,
                "standing_plot": one.standing.plot,
                "windrowed_field": one.windrowed.field,
                "windrowed_plot": one.windrowed.plot,
                "layout": one.planned.layout,
                "allocation": "drawn by lot",
            }
            for one in drawn
        ],
    }
    saves = []
    for table, rows in tables.items():
        whole = [{name: row.get(name) for name in table.column_names} for row in rows]
        frame = pl.DataFrame(whole, schema=table.polars_schema())
        saves.append(TableSave(table=table, saved=frame, removed=frame.clear()))
    save(
        connection, saves, done_by=done_by, source=source, why=f"methods for {crop_year} drawn with draw number {seed}"
    )
    return drawn


def _refuse_taken(connection: duckdb.DuckDBPyConnection, pairs: Sequence[PlannedPair], crop_year: int) -> None:
    names = [pair.pair for pair in pairs]
    sides = [side for pair in pairs for side in (pair.first, pair.second)]
    if len(set(names)) < len(names) or len({side.words for side in sides}) < len(sides):
        raise BadInput("plan: a pair or a piece of ground is in it twice; allowed once.")
    drawn = read_table(connection, "draws").filter(pl.col("crop_year") == crop_year, pl.col("pair").is_in(names))
    if drawn.height:
        first = drawn.row(0, named=True)
        raise Refused(
            f"Pair {first['pair']}, {crop_year} was drawn on {first['drawn_at']} with draw number {first['seed']}; a "
            "lot is drawn once. If it cannot be kept, note the reason for breaking it."
        )
    taken = read_table(connection, "pairs").filter(pl.col("crop_year") == crop_year, pl.col("pair").is_in(names))
    if taken.height:
        raise Refused(
            f"Pair {taken['pair'][0]}, {crop_year} is on record already. Plan other fields, or undo that one."
        )
    fields = {side.field for side in sides}
    plots = read_table(connection, "plots").filter(pl.col("crop_year") == crop_year, pl.col("field").is_in(fields))
    if plots.height:
        raise Refused(f"{plots['field'][0]} has plots in {crop_year} already. Take it out of the plan, or undo them.")


def kept_draws(connection: duckdb.DuckDBPyConnection, crop_year: int) -> pl.DataFrame:
    """The draws of a crop year with notes on broken ones: columns of draws, and reason (null where it was kept to)."""
    return read_query(connection, "kept_draws", crop_year=crop_year)


def kept_pairs(kept: pl.DataFrame) -> list[DrawnPair]:
    """The drawn pairs of rows as from kept_draws, in the order of the draw."""
    return [
        DrawnPair(
            planned=PlannedPair(
                pair=row["pair"],
                layout="",
                first=_side(row["first_side"]),
                second=_side(row["second_side"]),
            ),
            place=row["place"],
            first_method=row["first_method"],
        )
        for row in kept.iter_rows(named=True)
    ]


def _side(words: str) -> PlannedSide:
    field, _, plot = words.rpartition(", ")
    return PlannedSide(field=field, plot=plot)


def break_draw(
    connection: duckdb.DuckDBPyConnection, *, crop_year: int, pair: str, reason: str, noted_on: date, done_by: str
) -> int:
    """Note why a pair was not cut as drawn; it counts as a caution. The number of the act.

    Raises BadInput without a reason, Refused when the pair was never drawn.
    """
    if not 1 <= len(reason.strip()) <= 2000:
        raise BadInput("reason: nothing, or too much, given; allowed 1 to 2000 letters. Say what forced it.")
    if kept_draws(connection, crop_year).filter(pl.col("pair") == pair).is_empty():
        raise Refused(f"Pair {pair}, {crop_year} was not drawn by lot, so there is no draw to break.")
    row = {"crop_year": crop_year, "pair": pair, "noted_on": noted_on, "reason": reason.strip()}
    rows = pl.DataFrame([row], schema=BROKEN_DRAWS.polars_schema())
    change = TableSave(table=BROKEN_DRAWS, saved=rows, removed=rows.clear())
    return save(connection, [change], done_by=done_by, source="screen", why=f"draw of pair {pair} broken")


# --- the picture of strips


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A half or strip in its place in the field, left to right from 0 to 1."""

    field: str
    plot: str
    pair: str
    method: str  # "" before the lot
    left: float
    right: float


def layout(pairs: Sequence[PlannedPair], drawn: Sequence[DrawnPair] = ()) -> list[Piece]:
    """Where the halves and strips of each split field lie, equal in width; whole fields are not drawn."""
    methods = {one.standing.words: "standing" for one in drawn} | {one.windrowed.words: "windrowed" for one in drawn}
    by_field: dict[str, list[tuple[PlannedSide, str]]] = {}
    for pair in pairs:
        if pair.first.field == pair.second.field:
            by_field.setdefault(pair.first.field, []).extend([(pair.first, pair.pair), (pair.second, pair.pair)])
    return [
        Piece(
            field=field,
            plot=side.plot,
            pair=pair_name,
            method=methods.get(side.words, ""),
            left=place / len(sides),
            right=(place + 1) / len(sides),
        )
        for field, sides in by_field.items()
        for place, (side, pair_name) in enumerate(sides)
    ]

"""Seed left on the ground or thrown over by the combine, as bu/ac: the arithmetic, the parts, and what to question.

The views loss_spots, loss_places, plot_loss and pair_losses hold the same arithmetic for the records; the functions
here serve a number while it is typed, and the table of seeds per square foot.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.storage.database import read, read_query
from analytics.trade.numbers_as_text import amount, number
from analytics.trade.seed_loss import NEGATIVE_WORDS


@dataclass(frozen=True, slots=True, kw_only=True)
class LossQuestion:
    """Something possible but unlikely in the loss checks of a plot; `text` is a sentence that asks."""

    crop_year: int
    field: str
    plot: str
    code: str
    text: str


def pair_losses(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Each part of the loss by pair: crop_year, pair, part (keys of PART_WORDS); standing_, windrowed_ and
    difference_bu_ac (standing minus windrowed). Null where a side was not checked.
    """
    return read(connection, "select * from pair_losses order by crop_year, pair, part_order").drop("part_order")


def questions(connection: duckdb.DuckDBPyConnection) -> list[LossQuestion]:
    """What in the loss checks of all plots is worth a second look, oldest first."""
    rows = read_query(connection, "plots_with_loss_checks")
    return [question for row in rows.iter_rows(named=True) for question in plot_questions(row)]


def questions_about(connection: duckdb.DuckDBPyConnection, plots: Collection[tuple[object, ...]]) -> tuple[str, ...]:
    """What to ask about the losses of some plots, by their keys; nothing is worked out without a loss check."""
    if not plots or read(connection, "select 1 from loss_checks limit 1").is_empty():
        return ()
    return tuple(one.text for one in questions(connection) if (one.crop_year, one.field, one.plot) in plots)


def plot_questions(row: Mapping[str, object]) -> list[LossQuestion]:
    """The same for one plot; row : columns of plot_loss, and yield_as_sold_bu_ac."""
    plot = f"{row['field']} {row['plot']}, {row['crop_year']}"
    found = []

    def ask(code: str, text: str) -> None:
        found.append(
            LossQuestion(
                crop_year=int(str(row["crop_year"])),
                field=str(row["field"]),
                plot=str(row["plot"]),
                code=code,
                text=f"{plot}: {text}",
            )
        )

    for part, words in NEGATIVE_WORDS.items():
        value = row[f"{part}_bu_ac"]
        if isinstance(value, float) and value < 0:
            ask("negative_part", f"{words} ({amount(-value, 'bu/ac', 2)} less). Were two counts exchanged?")
    harvested, pan = row["yield_as_sold_bu_ac"], row["combine_bu_ac"]
    if isinstance(pan, float) and isinstance(harvested, float) and pan > harvested:
        ask(
            "pan_above_yield",
            f"the pan behind the combine says {amount(pan, 'bu/ac', 1)} lost, more than the "
            f"{number(harvested, 1)} that were harvested. Check grams, area and widths.",
        )
    return found

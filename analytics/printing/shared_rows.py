"""What a share file holds, in the terminal."""

import polars as pl
from rich.console import Console

from analytics.pool.share import Share
from analytics.trade.numbers_as_text import count


def print_share(console: Console, prepared: Share) -> None:
    """Every cell of a share file: what stands in all rows alike, then the rows."""
    rows = prepared.told_by_row
    console.print(f"This is all that would leave: {count(rows.height, 'row')}, and in each of them")
    for name, value in prepared.told_once:
        console.print(f"  {name}: {value}", markup=False, soft_wrap=True)
    console.print("A row for each pair and measure:")
    for line in _aligned(rows):
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def _aligned(rows: pl.DataFrame) -> list[str]:
    """The rows below their header as lines in which no cell is cut."""
    cells = [rows.columns, *(["" if cell is None else str(cell) for cell in row] for row in rows.iter_rows())]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]

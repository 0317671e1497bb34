"""Strips out of a yield monitor's points in the terminal."""

from collections.abc import Sequence

import polars as pl
from rich.console import Console

from analytics.points import words
from analytics.points.neighbours import ProposedPair, cut_alike
from analytics.points.strip_yields import FieldYields
from analytics.printing.listed import plain_table, print_list


def print_strips(console: Console, found: FieldYields, pairs: Sequence[ProposedPair]) -> None:
    """What was read, cut and taken out, each strip's yield, the pairs, and how these hang on delay and cleaning."""
    for said in (
        words.points_read_words(found),
        words.delay_words(found),
        words.scale_words(found),
        words.middle_words(found),
    ):
        console.print(said, markup=False, soft_wrap=True)
    _frame(console, "Strips from left to right: wet yield, dockage still in", words.strip_rows(found))
    _frame(console, "Taken out, in this order, by the same rules", words.removal_rows(found))
    if pairs:
        _frame(console, "Neighbours that make a pair", words.neighbour_rows(pairs))
        _frame(console, "The same over a range of delays", words.difference_rows(found, pairs))
        console.print(words.alike_words(cut_alike(found.strips, pairs)), markup=False, soft_wrap=True)
    print_list(console, "To watch", words.points_cautions(found))


def print_passes(console: Console, listed: pl.DataFrame) -> None:
    """The passes of a file with their numbers, for giving them to strips by hand."""
    _frame(console, "Passes, from left to right within each heading", words.pass_rows(listed))


def _frame(console: Console, title: str, rows: pl.DataFrame) -> None:
    table = plain_table(title)
    for name in rows.columns:
        is_number = rows[name].str.contains(r"^[−+x]?\s?[\d,.]+").all()
        table.add_column(name, justify="right" if is_number else "left", no_wrap=name == rows.columns[0])
    for row in rows.iter_rows():
        table.add_row(*(text or "" for text in row))
    console.print(table, markup=False)

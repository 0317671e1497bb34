"""Lists of sentences and plain tables, as every print of the terminal uses them."""

from collections.abc import Iterable, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

ON_ONE_SCREEN = 8  # lines of a list


def print_list(console: Console, title: str, lines: Iterable[str]) -> None:
    """A titled list of sentences; nothing when there are none."""
    kept = list(lines)
    if kept:
        console.print(f"{title}:")
    for line in kept:
        console.print(f"  - {line}", markup=False, soft_wrap=True)


def first_of(lines: Sequence[str], *, how_to_see_all: str = "") -> list[str]:
    """As many as leave room for the rest on one screen, and how to see the others."""
    more = len(lines) - ON_ONE_SCREEN
    how = f"; all of them: {how_to_see_all}" if how_to_see_all else ""
    return [*lines[:ON_ONE_SCREEN], *([f"... and {more} more{how}"] if more > 0 else [])]


def plain_table(title: str) -> Table:
    """A table without frames, its title at the left."""
    return Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))

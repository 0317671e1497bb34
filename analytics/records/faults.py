"""Faults found in what was given: where, what was given, what is allowed, what to do."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import polars as pl

from analytics.trade.numbers_as_text import capital

LISTED = 200  # faults put into words; the rest are counted
LONGEST_GIVEN = 80


def shortened(given: str) -> str:
    """As much of what was given as a sentence can repeat."""
    return given if len(given) <= LONGEST_GIVEN else f"{given[: LONGEST_GIVEN - 3]}..."


def as_remedy(reason: str) -> str:
    """Why a cell was not understood, as a sentence; "" where there is nothing to say.

    >>> as_remedy("is strips meant?"), as_remedy("no month 13")
    ('Is strips meant?', 'No month 13.')
    """
    return f"{capital(reason)}{'' if reason.endswith('?') else '.'}" if reason else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault. `row` is the row as a spreadsheet counts it (the header is 1); a `doubt` is possible but unlikely."""

    file: str
    row: int | None = None
    column: str | None = None
    given: str
    allowed: str
    remedy: str = ""
    is_doubt: bool = False

    def __str__(self) -> str:
        places = (self.file, f"row {self.row}" if self.row else "", self.column or "")
        where = ", ".join(place for place in places if place)
        given = shortened(" ".join(self.given.split()))
        word = "usual is" if self.is_doubt else "allowed"
        return f"{where}: {given or 'nothing'} given; {word} {self.allowed}. {self.remedy}".rstrip()


class Faults:
    """Faults as they are found. At most LISTED of each kind are put into words; all are counted."""

    def __init__(self) -> None:
        self.worded: list[Fault] = []
        self.total = 0

    def add(self, fault: Fault) -> None:
        """One fault."""
        self.worded.append(fault)
        self.total += 1

    def add_rows(self, positions: Sequence[int] | pl.Series, word: Callable[[int], Fault]) -> None:
        """One fault for each position (of a row in a frame); `word` makes it."""
        self.worded += [word(int(position)) for position in positions[:LISTED]]
        self.total += len(positions)

    def add_all(self, others: "Faults") -> None:
        """Every fault of the others."""
        self.worded += others.worded
        self.total += others.total

    def by_row(self) -> dict[int, list[Fault]]:
        """The faults put into words that are of a row, in the order found, under its number."""
        found: dict[int, list[Fault]] = {}
        for fault in self.worded:
            if fault.row is not None:
                found.setdefault(fault.row, []).append(fault)
        return found

    def listed(self) -> tuple[Fault, ...]:
        """The first LISTED, file by file in the order met, row by row."""
        order = {file: place for place, file in enumerate(dict.fromkeys(fault.file for fault in self.worded))}
        return tuple(sorted(self.worded, key=lambda fault: (order[fault.file], fault.row or 0))[:LISTED])


def fault_lines(faults: Sequence[Fault], total: int) -> str:
    """The faults, a line each, and how many more there are."""
    more = [f"... and {total - len(faults):,} more."] if total > len(faults) else []
    return "\n".join([*map(str, faults), *more])

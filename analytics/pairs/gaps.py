"""What is missing: for every pair and measure, in words, the paper it stands on, and what cannot be compared for it.

A pair that is planned and not harvested yet lacks nothing; the view planned_pairs says which those are.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb
import polars as pl

from analytics.records.columns import METHODS, PLOT_KEY
from analytics.records.grown_tables import PAIRS, PLOTS
from analytics.records.harvest_tables import LOADS
from analytics.records.papers import PAPERS
from analytics.records.tables import TABLES
from analytics.storage.database import read_table
from analytics.trade.measures import IF_NOTED, MEASURES
from analytics.trade.numbers_as_text import NUMBER_WORDS, count

Lacking = tuple[Mapping[str, str], ...]  # as in the column `lacks` of the view plot_measures
NO_PLOT: Lacking = ({"missing": "no such plot", "missing_in": "plots"},)

COMPLETE, ONE_SIDE, MISSING = "complete", "one side", "missing"
NOT_HARVESTED, NOT_NOTED = "not harvested yet", "not noted that year"  # nothing is missing then


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """One thing that a side of a pair lacks: in words, and where it is typed.

    paper : the key of the paper on which it stands
    column : the column that is blank; "" where the whole row is not there
    row : the key of the row in that paper, as the entry screen names it; "" for a row that is not there yet
    """

    crop_year: int
    field: str
    plot: str
    missing: str
    paper: str
    column: str
    row: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A pair in one measure: complete, one side, missing, or nothing to look for, as it is not harvested yet or nobody
    noted that year what the machines did; what it lacks, standing first.
    """

    state: str
    known_side: str = ""  # "standing" or "windrowed" where just one is known
    lacks: tuple[Lack, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PairGaps:
    """One pair and its cell for each measure, by the measure's name; `field` as in the view pair_measures."""

    crop_year: int
    pair: str
    field: str
    cells: Mapping[str, Cell]

    @property
    def is_planned(self) -> bool:
        """Whether nothing of it is harvested yet."""
        return all(cell.state == NOT_HARVESTED for cell in self.cells.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class ToLookFor:
    """One thing to look for, and the measures and pairs that wait for it."""

    lack: Lack
    measures: tuple[str, ...]
    pairs: tuple[str, ...]

    @property
    def words(self) -> str:
        """Where what is missing, and which pairs wait for it with which measures."""
        lack = self.lack
        where = ", ".join(part for part in (lack.field, lack.plot, str(lack.crop_year)) if part)
        waits = "Pair {} waits" if len(self.pairs) == 1 else "Pairs {} wait"
        waiting = f"{waits.format(_listed(self.pairs))} for it ({', '.join(_blocked(self.measures))})"
        return f"{where}: {_is_missing(lack.missing)}. {waiting}."


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """What the same pairs lack on one kind of paper, so that it is looked for in one go."""

    things: tuple[ToLookFor, ...]

    @property
    def words(self) -> str:
        """The paper and the pairs: "Tickets for pair 7, 2026"."""
        first = self.things[0]
        pairs = f"pair{'' if len(first.pairs) == 1 else 's'} {_listed(first.pairs)}"
        return f"{PAPERS[first.lack.paper].name} for {pairs}, {first.lack.crop_year}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far the papers of a crop year are in: a line, and how many of the papers that every plot needs."""

    words: str
    papers_in: int
    papers: int


def read_gaps(connection: duckdb.DuckDBPyConnection) -> tuple[PairGaps, ...]:
    """Every pair on record and what it lacks, the newest crop year first."""
    names = ("pairs", "pair_plots", "planned_pairs", "plot_measures", "loads")
    return pair_gaps(**{name: read_table(connection, name) for name in names})


def pair_gaps(
    *,
    pairs: pl.DataFrame,
    pair_plots: pl.DataFrame,
    planned_pairs: pl.DataFrame,
    plot_measures: pl.DataFrame,
    loads: pl.DataFrame,
) -> tuple[PairGaps, ...]:
    """Every pair and what it lacks, the newest crop year first; arguments as the tables and views of that name."""
    planned = set(planned_pairs.select("crop_year", "pair").iter_rows())
    known = {
        (*plot, measure): lacks for *plot, measure, lacks in plot_measures.select(*PLOT_KEY, "measure", "lacks").rows()
    }
    noted = set(
        plot_measures.filter(pl.col("measure").is_in(IF_NOTED), pl.col("value").is_not_null())
        .select("crop_year", "measure")
        .iter_rows()
    )
    tickets = _blank_tickets(loads)
    fields = {(year, pair): field for year, pair, field in pair_plots.select("crop_year", "pair", "pair_field").rows()}
    found = []
    for pair in pairs.sort(["crop_year", "pair"], descending=[True, False]).iter_rows(named=True):
        is_planned = (pair["crop_year"], pair["pair"]) in planned
        cells = {}
        for measure in MEASURES:
            if is_planned:
                cells[measure] = Cell(state=NOT_HARVESTED)
            elif measure in IF_NOTED and (pair["crop_year"], measure) not in noted:
                cells[measure] = Cell(state=NOT_NOTED)
            else:
                cells[measure] = _cell(pair, measure, known, tickets)
        key = (pair["crop_year"], pair["pair"])
        found.append(PairGaps(crop_year=key[0], pair=key[1], field=fields[key], cells=cells))
    return tuple(found)


def _blank_tickets(loads: pl.DataFrame) -> Mapping[tuple[object, ...], list[str]]:
    """The tickets on which a number is blank, by (crop_year, field, plot, column)."""
    found: dict[tuple[object, ...], list[str]] = {}
    for column in (one.name for one in LOADS.columns if one.kind == "number"):
        blank = loads.filter(pl.col(column).is_null()).sort("ticket")
        for *plot, ticket in blank.select(*PLOT_KEY, "ticket").iter_rows():
            found.setdefault((*plot, column), []).append(ticket)
    return found


def _cell(
    pair: Mapping[str, Any],
    measure: str,
    known: Mapping[tuple[object, ...], Lacking],
    tickets: Mapping[tuple[object, ...], list[str]],
) -> Cell:
    lacks = {}
    for side in METHODS:
        plot = (pair["crop_year"], pair[f"{side}_field"], pair[f"{side}_plot"])
        lacks[side] = (
            (_lack_of_side(pair, side),)
            if plot[-1] is None
            else tuple(
                lack for one in known.get((*plot, measure), NO_PLOT) for lack in _lacks_of_plot(plot, one, tickets)
            )
        )
    sides = [side for side in METHODS if not lacks[side]]
    return Cell(
        state={2: COMPLETE, 1: ONE_SIDE, 0: MISSING}[len(sides)],
        known_side=sides[0] if len(sides) == 1 else "",
        lacks=tuple(lack for side in METHODS for lack in lacks[side]),
    )


def _lack_of_side(pair: Mapping[str, Any], side: str) -> Lack:
    return Lack(
        crop_year=pair["crop_year"],
        field=pair[f"{side}_field"] or "",
        plot="",
        missing=f"the {side} plot",
        paper=PAIRS.name,
        column="",
        row=pair["pair"],
    )


def _lacks_of_plot(
    plot: tuple[Any, ...], lack: Mapping[str, str], tickets: Mapping[tuple[object, ...], list[str]]
) -> list[Lack]:
    """One lack, or one for each ticket on which it is blank."""
    crop_year, field, name = plot
    paper, _, column = lack["missing_in"].partition(".")
    key = TABLES[paper].key
    if column and paper == LOADS.name:
        before = lack["missing"].partition(" on ticket ")[0]
        rows = {f"{before} on ticket {ticket}": ticket for ticket in tickets[(*plot, column)]}
    elif set(key) <= set(PLOT_KEY):  # then the plot names the row
        rows = {lack["missing"]: " / ".join(part for part, of in ((field, "field"), (name, "plot")) if of in key)}
    else:
        rows = {lack["missing"]: ""}
    return [
        Lack(crop_year=crop_year, field=field, plot=name, missing=missing, paper=paper, column=column, row=row)
        for missing, row in rows.items()
    ]


def to_look_for(rows: Iterable[PairGaps]) -> tuple[ToLookFor, ...]:
    """Each missing thing once, with all that waits for it; what most measures wait for comes first in its year."""
    measures: dict[Lack, dict[str, None]] = {}
    pairs: dict[Lack, dict[str, None]] = {}
    for row in rows:
        for measure, cell in row.cells.items():
            for lack in cell.lacks:
                measures.setdefault(lack, {})[measure] = None
                pairs.setdefault(lack, {})[row.pair] = None
    found = [ToLookFor(lack=lack, measures=tuple(measures[lack]), pairs=tuple(pairs[lack])) for lack in measures]
    return tuple(sorted(found, key=lambda one: (-one.lack.crop_year, -len(one.measures))))


def grouped_gaps(things: Iterable[ToLookFor]) -> tuple[ToDo, ...]:
    """The same things by paper and pairs, in the order of the first of each."""
    found: dict[tuple[int, str, tuple[str, ...]], list[ToLookFor]] = {}
    for thing in things:
        found.setdefault((thing.lack.crop_year, thing.lack.paper, thing.pairs), []).append(thing)
    return tuple(ToDo(things=tuple(group)) for group in found.values())


def first_line(rows: Sequence[PairGaps]) -> str:
    """What is complete for yield and what would complete more, in one or two sentences."""
    judged = [row for row in rows if not row.is_planned]
    planned = len(rows) - len(judged)
    later = f" {count(planned, 'pair')} {'is' if planned == 1 else 'are'} not harvested yet." if planned else ""
    if not judged:
        return later.strip() or "There is no pair on record."
    waiting = [row.cells["yield"].lacks for row in judged if row.cells["yield"].lacks]
    done, total, word = len(judged) - len(waiting), len(judged), _word(len(waiting))
    if not waiting:
        start = "The one pair is" if total == 1 else f"All {total} pairs are"
        return f"{start} complete for yield.{later}"
    if done:
        start, more = f"{done} of {total} pairs {'is' if done == 1 else 'are'}", f"{word} more"
    elif total > 1:
        start, more = f"None of the {total} pairs is", f"all {word}"
    else:
        start, more = "The one pair is not", "it"
    needed = _needed(lack for lacks in waiting for lack in lacks)
    return f"{start} complete for yield; {needed} would complete {more}.{later}"


def _needed(lacks: Iterable[Lack]) -> str:
    """What is needed, counted by the paper: "two tickets and the acres of one plot"."""
    tickets, loads, acres, plots, sides = set(), set(), set(), set(), 0
    for lack in lacks:
        place = (lack.crop_year, lack.field, lack.plot)
        if lack.paper == LOADS.name and lack.row:
            tickets.add((*place, lack.row))
        elif lack.paper == LOADS.name:
            loads.add(place)
        elif lack.paper == PLOTS.name and lack.column:
            acres.add(place)
        elif lack.paper == PLOTS.name:
            plots.add(place)
        else:
            sides += 1
    counted = {
        "{} ticket{s}": len(tickets),
        "the tickets of {} plot{s}": len(loads),
        "the acres of {} plot{s}": len(acres),
        "{} plot{s} not on record": len(plots),
        "{} missing side{s}": sides,
    }
    parts = [words.format(_word(n), s="" if n == 1 else "s") for words, n in counted.items() if n]
    return _listed(parts)


def progress(plots: pl.DataFrame, records: Mapping[str, pl.DataFrame], crop_year: int) -> Progress:
    """How many plots of a crop year have tickets, a harvest day, green seed and a loss check.

    plots : the table of plots; records : the tables loads, samples and loss_checks
    """
    of_year = plots.filter(pl.col("crop_year") == crop_year)
    green = records["samples"].filter(pl.col("green_seeds").is_not_null() | pl.col("green_pct").is_not_null())
    having = {
        "tickets": _plots_in(of_year, records["loads"]),
        "a harvest day": of_year["harvested_on"].count(),
        "green seed": _plots_in(of_year, green),
        "a loss check": _plots_in(of_year, records["loss_checks"]),
    }
    first, *others = having.items()
    total = of_year.height
    start = f"{first[1]} of {count(total, 'plot')} {'has' if first[1] == 1 else 'have'} {first[0]}"
    rest = [f"{how_many} {'has' if how_many == 1 else 'have'} {what}" for what, how_many in others]
    return Progress(
        words=f"{crop_year}: {', '.join([start, *rest])}.",
        papers_in=sum(having.values()),
        papers=total * len(having),
    )


def _plots_in(plots: pl.DataFrame, papers: pl.DataFrame) -> int:
    return plots.join(papers, on=PLOT_KEY, how="semi").height


def _is_missing(missing: str) -> str:
    """The words of the views as they are said of a plot.

    >>> _is_missing("a ticket"), _is_missing("moisture on ticket 1187"), _is_missing("a crush count")
    ('no ticket is typed', 'no moisture on ticket 1187', 'no crush count')
    """
    said = {"a ticket": "no ticket is typed", "no such plot": "this plot is not on record"}
    first, _, rest = missing.partition(" ")
    return said.get(missing) or f"no {rest if first in ('any', 'the', 'a', 'an') else missing}"


def _blocked(measures: Sequence[str]) -> list[str]:
    if set(measures) >= set(MEASURES) - set(IF_NOTED):
        return ["every measure"]
    return [MEASURES[name].label.lower() for name in measures]


def _listed(parts: Sequence[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _word(how_many: int) -> str:
    return NUMBER_WORDS[how_many] if how_many < len(NUMBER_WORDS) else str(how_many)

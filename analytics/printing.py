"""Results as readable tables and sentences in the terminal."""

from collections.abc import Iterable, Mapping, Sequence

import polars as pl
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from analytics.answer import marks, statistics_rows, wording
from analytics.answer.next_steps import next_steps
from analytics.health import Health
from analytics.health import lines as health_lines
from analytics.planning import plan_wording
from analytics.planning.drawing_lots import DrawnPair, kept_pairs, layout
from analytics.planning.season_plan import SeasonPlan, Start, said_of
from analytics.pool.share import Share
from analytics.statistics.results import Comparison
from analytics.storage.acts import Act
from analytics.storage.backups import Backup
from analytics.storage.restoring import Restore
from analytics.storage.undoing import Undo, conflict_lines
from analytics.storage.undoing import lines as undo_lines
from analytics.trade import days
from analytics.trade.cautions import BINS, LABEL, LEFT_STANDING, NOT_ADVICE
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import count

ON_ONE_SCREEN = 8  # lines of a list


def answers(console: Console, comparisons: Mapping[str, Comparison]) -> None:
    """One row a measure: the difference on these fields and for years to come, with the finding of each."""
    table = _table("Standing minus windrowed")
    table.add_column("measure", min_width=9)
    for question in ("these fields", "years to come"):
        table.add_column(question, justify="right", no_wrap=True)
        table.add_column("finding", min_width=9)
    for comparison in comparisons.values():
        table.add_row(
            f"{MEASURES[comparison.measure].label}, {comparison.unit}",
            wording.estimate_with_range(comparison, comparison.these_fields),
            marks.finding_words(comparison, comparison.these_fields),
            wording.estimate_with_range(comparison, comparison.years_to_come),
            marks.finding_words(comparison, comparison.years_to_come),
        )
    console.print(table)


def one_comparison(console: Console, comparison: Comparison) -> None:
    """The sentence, what carries it, what it rests on, each year, the statistics, and the cautions."""
    console.print(wording.sentence(comparison), markup=False, soft_wrap=True)
    carried(console, comparison)
    years = _table("By crop year")
    for name in ("crop year", "field-years", f"difference, {comparison.unit}"):
        years.add_column(name, justify="right")
    for row in comparison.by_year:
        years.add_row(str(row.crop_year or "all"), str(row.field_years), wording.year_with_range(comparison, row))
    console.print(years)
    statistics = _table("For a statistician")
    statistics.add_column("number")
    statistics.add_column("these fields", justify="right")
    statistics.add_column("years to come", justify="right")
    for line in statistics_rows.statistics_rows(comparison):
        statistics.add_row(line.name, line.these_fields, line.years_to_come)
    console.print(statistics)
    ground(console, comparison)


def carried(console: Console, comparison: Comparison) -> None:
    """What carries the answer: each kind of pair alone; the rows that the headline rests on are starred."""
    table = _table(f"What carries it: {comparison.unit}, standing minus windrowed")
    table.add_column("pairs")
    for name in ("field-years", "these fields", "years", "years to come"):
        table.add_column(name, justify="right")
    for row in statistics_rows.carried_rows(comparison):
        name = f"{row.name} *" if row.is_basis else row.name
        table.add_row(name, row.field_years, row.these_fields, row.years, row.years_to_come)
    console.print(table)
    console.print("* the answer above rests on these", soft_wrap=True)


def _table(title: str) -> Table:
    return Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))


def ground(console: Console, comparison: Comparison) -> None:
    """What a comparison rests on, what governs it, what weakens it and what would settle it."""
    console.print(f"It rests on {wording.rests_on(comparison)} {wording.level_and_margin(comparison)}", soft_wrap=True)
    sentences(console, "Cautions", (caution.text for caution in comparison.cautions))
    sentences(console, "Next", next_steps(comparison))
    console.print(NOT_ADVICE, markup=False, soft_wrap=True)


def sentences(console: Console, title: str, lines: Iterable[str]) -> None:
    """A titled list of sentences; nothing when there are none."""
    kept = list(lines)
    if kept:
        console.print(f"{title}:")
    for line in kept:
        console.print(f"  - {line}", markup=False, soft_wrap=True)


def health(console: Console, report: Health) -> None:
    """The state of the records in one screen."""
    for line in (report.first_line, *health_lines(report)):
        console.print(line, markup=False, soft_wrap=True)
    sentences(console, "Checks found", _first(report.failed))
    if report.interval_doubts:
        sentences(console, days.HEADING, [*_first(report.interval_doubts), LABEL])
    if report.bin_alarms:
        sentences(console, "Bins that want a look now", [*_first(report.bin_alarms), BINS])
    console.print(report.pairs_line, markup=False, soft_wrap=True)
    sentences(console, "Missing", _first(report.missing))
    sentences(console, "Losses worth a look", _first(report.loss_questions))
    sentences(console, "Field work that may be charged twice", _first(report.work_questions))


def _first(lines: Sequence[str]) -> list[str]:
    """As many as leave room for the rest on one screen."""
    more = len(lines) - ON_ONE_SCREEN
    return [*lines[:ON_ONE_SCREEN], *([f"... and {more} more"] if more > 0 else [])]


def plan(console: Console, start: Start, the_plan: SeasonPlan) -> None:
    """The plan of a crop year before the lot, and how the lot fell where it has."""
    year = start.crop_year
    if the_plan.pairs or start.draws.is_empty():
        said = plan_wording.headline(the_plan.pairs, the_plan.alone, the_plan.power, crop_year=year)
    else:
        said = plan_wording.drawn_headline(start.draws, crop_year=year)
    console.print(said, markup=False, soft_wrap=True)
    for caution in (LEFT_STANDING, LABEL, NOT_ADVICE):
        console.print(caution, markup=False, soft_wrap=True)
    if start.draws.height:
        sentences(console, f"How the draw came out for {year}", plan_wording.draw_words(start.draws))
        sentences(console, "As drawn", plan_wording.drawn_words(start.draws))
        _pieces(console, kept_pairs(start.draws))
    sentences(console, "Pairs before the lot", map(plan_wording.pair_words, the_plan.pairs))
    sentences(console, "Pieces in their order", plan_wording.strips_in_order(layout(the_plan.pairs)))
    if to_type := plan_wording.distances_to_type(the_plan.pairs):
        console.print(to_type, markup=False, soft_wrap=True)
    if the_plan.power is not None:
        sentences(console, "What it could show", plan_wording.how_long(the_plan.power))
    for field, found in said_of(start, the_plan).items():
        sentences(console, field, map(plan_wording.sided_words, found))
    if the_plan.fields:
        sentences(console, "What the rules rest on", plan_wording.sources_of(start.rules.values()))


def drawn(console: Console, pairs: Sequence[DrawnPair], *, seed: int) -> None:
    """A draw as it falls with this draw number."""
    sentences(console, f"Drawn with draw number {seed}", map(plan_wording.drawn_pair_words, pairs))
    _pieces(console, pairs)


def _pieces(console: Console, pairs: Sequence[DrawnPair]) -> None:
    """Halves and strips of each split field, from one side to the other."""
    pieces = layout([one.planned for one in pairs], pairs)
    sentences(console, "Pieces in their order", plan_wording.strips_in_order(pieces))


def backups(console: Console, made: Sequence[Backup]) -> None:
    """The backups, newest first, with the number and the name by which each is asked for."""
    table = _table("Backups, newest first")
    for name in ("number", "name", "occasion", "MB"):
        table.add_column(name, justify="right" if name in ("number", "MB") else "left", no_wrap=True)
    for number, backup in enumerate(made, 1):
        table.add_row(str(number), backup.name, backup.reason, f"{backup.path.stat().st_size / 1e6:.1f}")
    console.print(table)


def acts(console: Console, made: Sequence[Act]) -> None:
    """Acts of the history, with the reason of each."""
    for act in made:
        console.print(act.words + (f"; {act.why}" if act.why else ""), markup=False, soft_wrap=True)
    if not made:
        console.print("Nothing has been changed yet.")


def share(console: Console, prepared: Share) -> None:
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


def undo(console: Console, planned: Undo) -> None:
    """What undoing an act would touch, and which later changes would be lost by it."""
    sentences(console, planned.words, undo_lines(planned))
    if not planned.rows:
        console.print(planned.words)
    sentences(
        console,
        "Later acts changed some of it since; undo those first, or give --over-later and their changes go",
        conflict_lines(planned),
    )


def restore(console: Console, planned: Restore) -> None:
    """What restoring a backup would change."""
    console.print(f"Backup {planned.backup.name} ({planned.backup.reason}) in the place of the records:")
    if planned.damage is not None:
        console.print(f"  {planned.damage}", markup=False, soft_wrap=True)
        console.print("  The whole file would be replaced. What is there now would be kept aside.", soft_wrap=True)
    for one in planned.differences:
        words = f"{count(one.added, 'row')} added, {one.changed} changed, {one.removed} removed"
        console.print(f"  {one.table.replace('_', ' ')}: {words}", markup=False, soft_wrap=True)
    sentences(console, "Record by record", _first(planned.lines))
    if planned.damage is None and not planned.differences:
        console.print("  Nothing differs.")

"""Whether the records are safe, in the terminal: their health, backups, acts, and what undoing and restoring change."""

from collections.abc import Sequence

from rich.console import Console

from analytics.health import Health
from analytics.health import health_lines as health_lines
from analytics.printing.listed import first_of, plain_table, print_list
from analytics.storage.acts import Act
from analytics.storage.backups import Backup
from analytics.storage.restoring import Restore
from analytics.storage.undoing import Undo, conflict_lines
from analytics.storage.undoing import undo_lines as undo_lines
from analytics.trade import days
from analytics.trade.cautions import BINS, LABEL
from analytics.trade.numbers_as_text import count


def print_health(console: Console, report: Health, *, is_in_full: bool = False) -> None:
    """The state of the records in one screen; in full, every line of it."""

    def some(lines: Sequence[str]) -> Sequence[str]:
        return lines if is_in_full else first_of(lines, how_to_see_all="standrow check --all")

    for line in (report.first_line, *health_lines(report)):
        console.print(line, markup=False, soft_wrap=True)
    print_list(console, "Checks found", some(report.failed))
    if report.interval_doubts:
        print_list(console, days.HEADING, [*some(report.interval_doubts), LABEL])
    if report.bin_alarms:
        print_list(console, "Bins that want a look now", [*some(report.bin_alarms), BINS])
    console.print(report.pairs_line, markup=False, soft_wrap=True)
    print_list(console, "Missing", some(report.missing))
    print_list(console, "Losses worth a look", some(report.loss_questions))
    print_list(console, "Field work that may be charged twice", some(report.work_questions))


def print_backups(console: Console, made: Sequence[Backup]) -> None:
    """The backups, newest first, with the number and the name by which each is asked for."""
    table = plain_table("Backups, newest first")
    for name in ("number", "name", "occasion", "MB"):
        table.add_column(name, justify="right" if name in ("number", "MB") else "left", no_wrap=True)
    for number, backup in enumerate(made, 1):
        table.add_row(str(number), backup.name, backup.reason, f"{backup.path.stat().st_size / 1e6:.1f}")
    console.print(table)


def print_acts(console: Console, made: Sequence[Act]) -> None:
    """Acts of the history, with the reason of each."""
    for act in made:
        console.print(act.words + (f"; {act.why}" if act.why else ""), markup=False, soft_wrap=True)
    if not made:
        console.print("Nothing has been changed yet.")


def print_undo(console: Console, planned: Undo) -> None:
    """What undoing an act would touch, and which later changes would be lost by it."""
    print_list(console, planned.words, undo_lines(planned))
    if not planned.rows:
        console.print(planned.words)
    print_list(
        console,
        "Later acts changed some of it since; undo those first, or give --over-later and their changes go",
        conflict_lines(planned),
    )


def print_restore(console: Console, planned: Restore) -> None:
    """What restoring a backup would change."""
    console.print(f"Backup {planned.backup.name} ({planned.backup.reason}) in the place of the records:")
    if planned.damage is not None:
        console.print(f"  {planned.damage}", markup=False, soft_wrap=True)
        console.print("  The whole file would be replaced. What is there now would be kept aside.", soft_wrap=True)
    for one in planned.differences:
        words = f"{count(one.added, 'row')} added, {one.changed} changed, {one.removed} removed"
        console.print(f"  {one.table.replace('_', ' ')}: {words}", markup=False, soft_wrap=True)
    print_list(console, "Record by record", first_of(planned.lines))
    if planned.damage is None and not planned.differences:
        console.print("  Nothing differs.")

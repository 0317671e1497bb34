"""Commands about the file of the records: brought in, written out, checked, kept safe, taken back."""

from pathlib import Path
from typing import Annotated

import typer

from analytics.commands.common import Records, app, is_wanted, out, person, say, steps
from analytics.errors import BadInput

ACTS_LISTED = 20


@app.command(name="import")
def import_files(
    path: Annotated[Path, typer.Argument(help="A folder of CSV files, one CSV, one .xlsx or one .zip.")],
    reason: Annotated[str, typer.Option(help="Why settings change, where the files hold settings.")] = "",
    records: Records = None,
) -> None:
    """Bring files into the records. CSV, a workbook or a ZIP: all of it or, with one fault, nothing."""
    from analytics.files.importing import bring_in, faults_text, import_lines
    from analytics.pairs.losses import questions_about
    from analytics.pairs.work_names import work_questions
    from analytics.storage.database import is_new, open_records, records_path

    file = records_path(records)
    is_begun = is_new(file)  # on a drive that is not connected, whoever has records there has to hear of it
    with open_records(file, create=True) as connection, steps(4) as step:
        brought = bring_in(connection, path, done_by=person(), reason=reason, step=step)
        about_plots = questions_about(connection, brought.plots)
        about_work = work_questions(connection, brought.work)
    for line in import_lines(brought, about_plots, about_work):
        say(line)
    if is_begun:
        say(f"There were no records yet; they were begun at {file}.")
    if faults := faults_text(brought):
        raise BadInput(faults)


@app.command()
def templates(folder: Annotated[Path, typer.Argument(help="A folder for the empty files.")]) -> None:
    """Write empty files to fill in. CSV files and one workbook with the right columns, and what each means."""
    from analytics.files.templates import write_templates

    for file in write_templates(folder):
        say(str(file))


@app.command()
def check(
    in_full: Annotated[bool, typer.Option("--all", help="Print every line of what is missing or odd.")] = False,
    records: Records = None,
) -> None:
    """Tell whether the records are safe. And which days after a product are too few, what is missing, what is odd."""
    from analytics.health import examine
    from analytics.printing import safety as printing
    from analytics.storage.database import records_path

    report = examine(records_path(records))
    printing.print_health(out, report, is_in_full=in_full)
    if not report.is_safe:
        raise typer.Exit(1)


@app.command()
def export(
    folder: Annotated[Path, typer.Argument(help="A folder for the files; made if need be.")], records: Records = None
) -> None:
    """Write all records as CSV and as one workbook. Both can be imported again."""
    from analytics.files.exporting import export as export_records
    from analytics.storage.database import open_records, records_path

    with open_records(records_path(records)) as connection:
        for file in export_records(connection, folder):
            say(str(file))


@app.command()
def backup(records: Records = None) -> None:
    """Make a backup of the records now. Others may be using them. Older ones are kept by day and season."""
    from analytics.storage.backups import make_backup
    from analytics.storage.database import open_records, records_path

    with open_records(records_path(records)) as connection:
        say(f"Backup made and verified: {make_backup(connection, 'asked for').path}")


@app.command()
def restore(
    which: Annotated[str | None, typer.Argument(help="Number or name of a backup; without it they are listed.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do it; without this it is only shown.")] = False,
    records: Records = None,
) -> None:
    """List the backups, or restore one. First it shows what that would change."""
    from analytics.printing import safety as printing
    from analytics.storage.backups import find_backup, list_backups
    from analytics.storage.database import records_path
    from analytics.storage.restoring import plan_restore
    from analytics.storage.restoring import restore as restore_backup

    path = records_path(records)
    if which is None:
        printing.print_backups(out, list_backups(path))
        say("See what one would change with: standrow restore NUMBER")
        return
    planned = plan_restore(path, find_backup(path, which))
    printing.print_restore(out, planned)
    if not yes:
        say(f"Nothing was written. To do it: standrow restore {planned.backup.name} --yes")
        return
    done = restore_backup(path, planned, done_by=person())
    if done.kept_aside is not None:
        say(f"Restored. The damaged file is kept as {done.kept_aside}.")
    elif done.act_id is not None:
        say("Restored. A backup of what was there before was made; restore that one to go back.")
    elif planned.damage is not None:
        say("Restored.")
    else:
        say("Nothing was written.")


@app.command()
def undo(
    act: Annotated[int | None, typer.Argument(help="Number of an act; without it the last ones are listed.")] = None,
    why: Annotated[str, typer.Option(help="The reason, kept in the history.")] = "",
    over_later: Annotated[
        bool,
        typer.Option(
            "--over-later", help="Undo it even where later acts changed the same records; those changes go too."
        ),
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    records: Records = None,
) -> None:
    """List the last acts, or undo one. It shows what that would touch, and asks; an undo can be undone too."""
    from analytics.printing import safety as printing
    from analytics.storage.acts import Search, list_acts
    from analytics.storage.database import open_records, records_path
    from analytics.storage.undoing import plan_undo
    from analytics.storage.undoing import undo as undo_act

    path = records_path(records)
    if act is None:
        with open_records(path) as connection:
            printing.print_acts(out, list_acts(connection, Search(), skipped=0, shown=ACTS_LISTED))
        say("See what undoing one would touch with: standrow undo ACT")
        return
    with open_records(path) as connection:
        planned = plan_undo(connection, act)
    printing.print_undo(out, planned)
    if not planned.rows:
        return
    if not yes and not is_wanted(f"Undo act {act}?"):
        say("Nothing was written.")
        return
    with open_records(path) as connection:
        done = undo_act(connection, planned, done_by=person(), why=why, force=over_later)
    say(f"Undone, as act {done}. To take that back: standrow undo {done}")

"""The command `standrow`. Exit code 0: done; 1: refused or not possible; 2: bad input. Reasons go to stderr.

Each command imports what it needs when it is called, so that help and usage errors come at once.
"""

import errno
import getpass
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup, TyperOption

from analytics.errors import BadInput, Refused, StandrowError
from analytics.serving.addresses import ADDRESS
from analytics.sheet.reader import Reader
from analytics.storage.what_happened import take_mended, what_was_done
from analytics.terminal import open_outputs
from analytics.trade.measures import MEASURES, gaps_to_plan_for

if TYPE_CHECKING:
    from analytics.pool.farm_answers import FarmAnswers
    from analytics.statistics.exploration import DependsOn
    from analytics.statistics.results import Comparison

    # What may be asked of it, the farms where a column names them, and yield by which shares become bushels.
    Compared = tuple[Comparison, tuple[DependsOn, ...], FarmAnswers | None, Comparison | None]

SAMPLE_RECORDS = Path(__file__).resolve().parents[1] / "sample_records"
ACTS_LISTED = 20


class Commands(TyperGroup):
    """Our commands, with a --help that is off unless asked for.

    Typer's own is neither on nor off, and to find that out it loads a library that takes longer than all of ours.
    """

    def get_help_option(self, ctx: Any) -> TyperOption | None:
        """The option --help."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.default = False
        return option


app = typer.Typer(
    cls=Commands,
    help="Records and honest comparison of standing and windrowed canola on paired fields.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
out, err = open_outputs()

Records = Annotated[
    Path | None, typer.Option(help="The file of the records. Default: what STANDROW_RECORDS names, or your own file.")
]
Port = Annotated[int | None, typer.Option(help="Port of the dashboard on this machine. Default: the first free one.")]


@app.command()
def demo(
    serve: Annotated[bool, typer.Option(help="Serve the dashboard after printing the answer.")] = True,
    port: Port = None,
) -> None:
    """Load the invented demo farm into a throw-away file, print the answer, serve the dashboard."""
    import tempfile

    from analytics.answer.review import review_all
    from analytics.answer.wording import sentence
    from analytics.files.importing import bring_in
    from analytics.printing import comparisons as printing
    from analytics.serving.server import serve as serve_dashboard
    from analytics.settings import change_settings
    from analytics.storage.database import open_records

    with tempfile.TemporaryDirectory(prefix="standrow-demo-") as folder:
        path = Path(folder) / "records.duckdb"
        with open_records(path, create=True) as connection:
            with steps(4) as step:
                bring_in(connection, SAMPLE_RECORDS, done_by="demo", step=step)
            change_settings(connection, {"farm_name": "Demo farm (invented)"}, done_by="demo", why=None)
            comparisons = review_all(connection)
        say("The demo farm is invented; its records are thrown away at the end.\n")
        printing.print_answers(out, comparisons)
        main_one = comparisons["yield"]
        say(f"\n{sentence(main_one)}")
        printing.print_carried(out, main_one)
        printing.print_ground(out, main_one)
        if serve:
            serve_dashboard(path, port=port, announce=announce)


@app.command()
def serve(
    address: Annotated[
        str, typer.Option(help="Address of this machine to serve others from, once a passphrase is set.")
    ] = ADDRESS,
    records: Records = None,
    port: Port = None,
) -> None:
    """Serve the dashboard until Ctrl-C: to this machine alone, or to others who know a passphrase."""
    from analytics.serving.server import serve as serve_dashboard
    from analytics.storage.database import open_records, records_path

    path = records_path(records)
    with open_records(path, create=True):
        pass
    serve_dashboard(path, address=address, port=port, announce=announce)


@app.command()
def passphrase(
    remove: Annotated[
        bool, typer.Option("--remove", help="Remove them. Only this machine can open the dashboard then.")
    ] = False,
    records: Records = None,
) -> None:
    """Set the passphrases that others must give: one to look, and if you want, another to write."""
    from analytics.serving.passphrases import SHORTEST, remove_passphrases, set_passphrases
    from analytics.storage.database import open_records, records_path

    path = records_path(records)
    if remove:
        say("The passphrases are removed." if remove_passphrases(path) else "No passphrase was set.")
        return
    if not sys.stdin.isatty():
        raise Refused(
            "passphrase: not typed at a terminal. It is taken only from the keyboard, so that no file or history "
            "keeps it."
        )
    with open_records(path, create=True):
        pass
    say(f"At least {SHORTEST} characters each; what is typed is not shown. Ctrl-C leaves everything as it was.")
    looking = typed_twice("Passphrase for looking")
    writing = typed_twice("Passphrase for writing (Enter: nobody writes from elsewhere)") or None
    set_passphrases(path, looking=looking, writing=writing)
    say("Kept, as hashes only. Sessions opened with an earlier passphrase are closed now.")


def typed_twice(words: str) -> str:
    """What is typed at the terminal, unseen, twice the same; an empty one is asked for once."""
    first = getpass.getpass(f"{words}: ")
    if first and getpass.getpass("The same again: ") != first:
        raise BadInput("passphrase: the two were not the same. Nothing was changed; start again.")
    return first


@app.command(name="import")
def import_files(
    path: Annotated[Path, typer.Argument(help="A folder of CSV files, one CSV, one .xlsx or one .zip.")],
    reason: Annotated[str, typer.Option(help="Why settings change, where the files hold settings.")] = "",
    records: Records = None,
) -> None:
    """Bring a folder of CSV files, one CSV or a workbook into the records: all of it or, with one fault, nothing."""
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
def compare(
    pairs: Annotated[
        Path | None,
        typer.Option(
            help="A CSV of pairs: standing, windrowed, and if wanted farm, crop_year, field (or standing_field and "
            "windrowed_field), pair, layout, allocation."
        ),
    ] = None,
    measure: Annotated[str, typer.Option(help=f"What to compare: {', '.join(MEASURES)}.")] = "yield",
    unit: Annotated[str | None, typer.Option(help="Unit of a file of pairs.")] = None,
    lower_is_better: Annotated[bool | None, typer.Option("--lower-is-better", help="For a file of pairs.")] = None,
    level: Annotated[float | None, typer.Option(help="How often a range is right: 0.95 (default), 0.9 or 0.8.")] = None,
    margin: Annotated[float | None, typer.Option(help="The difference that matters, in the unit.")] = None,
    as_object: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    list_pairs: Annotated[
        bool, typer.Option("--list-pairs", help="List every pair in the JSON, also where there are very many.")
    ] = False,
    records: Records = None,
) -> None:
    """Compare standing with windrowed: the pairs on record, or those of a file."""
    if pairs is not None:
        known = MEASURES.get(measure)
        usual_unit = known.unit if known else ""
        comparison, asked, farms, grain = from_file(
            pairs,
            measure=measure,
            unit=usual_unit if unit is None else unit,
            direction="lower"
            if lower_is_better or (known and lower_is_better is None and known.direction == "lower")
            else "higher",
            level=0.95 if level is None else level,
            margin=margin if margin is not None or known is None or unit not in (None, known.unit) else known.margin,
            gaps=gaps_to_plan_for(measure, unit or usual_unit),
            list_all=list_pairs,
        )
    else:
        if (unit, lower_is_better, level, margin) != (None, None, None, None):
            raise BadInput(
                "compare: --unit, --lower-is-better, --level and --margin given without --pairs; allowed only with a "
                "file of pairs. For the records they are settings, changed on the dashboard with a reason."
            )
        comparison, asked, farms, grain = from_records(measure, records)
    if as_object:
        from analytics.answer.as_json import as_json
        from analytics.answer.wording import sentence

        more = {} if farms is None else farms_in_json(farms)
        found = as_json(comparison, sentence(comparison), asked=asked, list_pairs=list_pairs, more=more)
        sys.stdout.write(found + "\n")
    else:
        from analytics.answer.beside_published import beside_published
        from analytics.printing.comparisons import print_comparison

        print_comparison(out, comparison, beside_published(comparison, grain=grain, asked=asked))
        if farms is not None:
            from analytics.printing.groups import print_farms

            print_farms(out, comparison, farms)


def from_file(path: Path, **how: Any) -> "Compared":
    """The comparison of the pairs in a file, `how` as compare_pairs takes it, and what goes with it."""
    from analytics.files.pairs_file import read_pairs_file
    from analytics.statistics.basis import Grounds
    from analytics.statistics.comparison import compare_pairs
    from analytics.statistics.exploration import depends_on
    from analytics.statistics.given_pairs import complete_pairs

    frame = read_pairs_file(path)
    given = complete_pairs(**{name: frame[name] for name in frame.columns})
    grounds = Grounds(given)
    comparison = compare_pairs(given, **how, grounds=grounds)
    asked = depends_on(given, {}, level=comparison.level, found=grounds.of(given.counted).found)
    grain = comparison if comparison.measure == "yield" else None
    if not given.farms:
        return comparison, asked, None, grain
    from analytics.pool.farm_answers import compared_farms

    return comparison, asked, compared_farms(grounds, comparison), grain


def farms_in_json(farms: "FarmAnswers") -> dict[str, Any]:
    """What the JSON of a comparison adds where a column names the farm."""
    from analytics.pool.farms_object import farms_object

    return farms_object(farms)


def from_records(measure: str, records: Path | None) -> "Compared":
    """The comparison of the pairs on record in the yield unit that was chosen, and what goes with it."""
    from analytics.answer.review import in_yield_unit, review, review_all, what_it_depends_on
    from analytics.settings import read_settings
    from analytics.storage.database import open_records, records_path

    with open_records(records_path(records)) as connection:
        unit, every = read_settings(connection).yield_unit, review_all(connection)
        comparison = in_yield_unit(every.get(measure) or review(connection, measure), unit)
        grain = in_yield_unit(every["yield"], unit) if "yield" in every else None
        return comparison, what_it_depends_on(connection, measure, unit), None, grain


@app.command()
def templates(folder: Annotated[Path, typer.Argument(help="A folder for the empty files.")]) -> None:
    """Write empty CSV files and one workbook with the right columns, and what each means."""
    from analytics.files.templates import write_templates

    for file in write_templates(folder):
        say(str(file))


@app.command()
def report(
    output: Annotated[Path, typer.Option("--output", "-o", help="The file to write: .pdf, .html or .xlsx.")],
    reader: Annotated[
        Reader,
        typer.Option(
            "--for",
            help="Who it is for: banker (one sheet) or agronomist (three or four pages, and what others found).",
        ),
    ],
    made_on: Annotated[str | None, typer.Option("--date", help="Day on the sheet, YYYY-MM-DD. Default: today.")] = None,
    records: Records = None,
) -> None:
    """Write the sheet for the table; for the same records and date it is the same to the byte."""
    from analytics.sheet.content import read_sheet
    from analytics.sheet.written import checked_date, checked_ending, write_sheet
    from analytics.storage.database import open_records, records_path
    from analytics.trade.cautions import NOT_ADVICE

    checked_ending(output)
    day = date.today() if made_on is None else checked_date(made_on)
    with open_records(records_path(records)) as connection:
        sheet = read_sheet(connection, reader, day)
    write_sheet(sheet, output)
    for sentence_said in (*sheet.answer, NOT_ADVICE):
        say(sentence_said)
    say(str(output))


@app.command()
def plan(
    year: Annotated[int | None, typer.Option(help="Crop year. Default: the one after the last weighed load.")] = None,
    field: Annotated[
        list[str] | None, typer.Option(help="A field of the plan; give it again for more. Default: likely canola.")
    ] = None,
    strips: Annotated[
        list[str] | None, typer.Option(help='Pairs of strips instead of halves: --strips "North half=4".')
    ] = None,
    draw: Annotated[bool, typer.Option("--draw", help="Draw by lot which side stands, and show it.")] = False,
    seed: Annotated[
        int | None, typer.Option("--draw-number", help="A number that repeats a draw. Default: a random one.")
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Keep the draw, as plots and pairs of the crop year.")] = False,
    records: Records = None,
) -> None:
    """What speaks for and against cutting each field standing, pairs, what they could show, and the lot."""
    from analytics.planning.drawing_lots import draw as draw_lots
    from analytics.planning.drawing_lots import keep_plan, new_seed
    from analytics.planning.season_plan import fields_at_first, plan_season, read_start, read_strips, year_to_plan
    from analytics.printing import season as printing
    from analytics.storage.database import open_records, records_path

    if (keep or seed is not None) and not draw:
        raise BadInput(f"plan: {'--keep' if keep else '--draw-number'} given without --draw; allowed only with it.")
    with open_records(records_path(records)) as connection:
        start = read_start(connection, year_to_plan(connection, date.today()) if year is None else year)
        if not start.fields:
            raise Refused("There is no field on record yet; enter the fields first.")
        the_plan = plan_season(start, field or fields_at_first(start), read_strips(strips or []))
        printing.print_plan(out, start, the_plan)
        if not draw:
            return
        if not the_plan.pairs:
            raise Refused(f"There is no pair to draw for in {start.crop_year}; choose fields with --field.")
        seed = new_seed() if seed is None else seed
        drawn = draw_lots(the_plan.pairs, seed=seed)
        printing.print_drawn(out, drawn, seed=seed)
        if keep:
            keep_plan(
                connection,
                the_plan.pairs,
                crop_year=start.crop_year,
                seed=seed,
                drawn_at=datetime.now(),
                done_by=person(),
                source="terminal",
            )
            say(f"Kept as plots and pairs of {start.crop_year}. A lot is drawn once.")
        else:
            say(
                f"Nothing was kept. To keep just this draw, give the same options with --draw --draw-number {seed} "
                "--keep."
            )
            say("Drawing again until you like the result is choosing; a chosen pair says less than a drawn one.")


@app.command()
def points(
    file: Annotated[Path | None, typer.Argument(help="Points of a yield monitor: CSV, GeoJSON or GeoParquet.")] = None,
    strips: Annotated[
        Path | None, typer.Option(help="The strips: CSV, workbook or GeoJSON. Without it the passes are listed.")
    ] = None,
    column: Annotated[
        list[str] | None, typer.Option(help='A column that was not guessed: --column "flow_kg_s=Grain rate".')
    ] = None,
    unit: Annotated[list[str] | None, typer.Option(help="Its unit: --unit flow_kg_s=lb/s.")] = None,
    utc: Annotated[bool, typer.Option("--utc", help="The times are UTC, not local.")] = False,
    hours_from_utc: Annotated[float, typer.Option(help="Of local time, where the times are UTC: -6.")] = 0.0,
    certified_kg: Annotated[
        float | None, typer.Option(help="What a certified scale says all of the field in the file brought, kg.")
    ] = None,
    delay: Annotated[float | None, typer.Option(help="Seconds from the knife to the sensor. Default: found.")] = None,
    threshold: Annotated[
        list[str] | None, typer.Option(help="Another threshold of the cleaning: --threshold start_m=25.")
    ] = None,
    allocation: Annotated[str | None, typer.Option(help="How the methods were given: drawn by lot, or chosen.")] = None,
    hours: Annotated[bool, typer.Option("--hours", help="Note the combine's hours as field work too.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Keep the strips and pairs; without this it is asked.")] = False,
    example: Annotated[Path | None, typer.Option(help="Write an invented file of points and its strips here.")] = None,
    records: Records = None,
) -> None:
    """Cut a yield monitor's points to strips, clean and scale them, and keep the strips as plots and pairs."""
    from analytics.answer.wording import sentence
    from analytics.points import keeping, reading
    from analytics.points.neighbours import compared_wet, neighbours_as_pairs
    from analytics.points.passes import in_passes, pass_list
    from analytics.points.simulated import HOURS_FROM_UTC, SEED, simulate
    from analytics.points.strip_yields import yields_of
    from analytics.points.strips import read_strips_file
    from analytics.points.thresholds import checked_thresholds
    from analytics.printing import monitor as printing
    from analytics.statistics.comparison import compare as compare_arrays
    from analytics.storage.database import open_records, records_path

    if example is not None:
        field = simulate(SEED)
        for written in field.write(example):
            say(str(written))
        say(
            "Invented. Try it with: standrow points FILE --strips FILE --utc "
            f"--hours-from-utc {HOURS_FROM_UTC:.0f} --certified-kg {field.certified_kg:.0f}"
        )
        return
    if file is None:
        raise BadInput("points: no file given; allowed a CSV, GeoJSON or GeoParquet file, or --example FOLDER.")
    thresholds = checked_thresholds(named_values("threshold", threshold))
    match = reading.chosen_match(file, named_values("column", column), named_values("unit", unit))
    with steps(16) as step:
        read = reading.read_points(file, match, is_utc=utc, step=step)
        if strips is None:
            rows = in_passes(read, gap_s=thresholds["gap_s"])
    if strips is None:
        printing.print_passes(out, pass_list(rows, fewest_points=thresholds["fewest_points"]))
        say("Say which strip each is in: a file of strips with crop_year, field, plot, method, cut_width_m and passes.")
        return
    wanted = read_strips_file(strips, read.origin)
    path = records_path(records)
    with open_records(path, create=True) as connection:
        if certified_kg is None:
            certified_kg = keeping.certified_total(connection, crop_year=wanted[0].crop_year, field=wanted[0].field)
    with steps(16) as step:
        found = yields_of(
            read,
            wanted,
            thresholds,
            delay_s=delay,
            certified_kg=certified_kg,
            hours_from_utc=hours_from_utc,
            step=step,
        )
    pairs = neighbours_as_pairs(found.strips)
    printing.print_strips(out, found, pairs)
    if pairs and all(one.is_scaled for one in found.strips):
        say(
            sentence(
                compare_arrays(
                    **compared_wet(pairs, allocation), measure="yield", unit="bu/ac", margin=MEASURES["yield"].margin
                )
            )
        )
    with open_records(path) as connection:
        planned = keeping.plan_keeping(connection, found, pairs, allocation=allocation, with_hours=hours)
        for remark in planned.remarks:
            say(remark)
    what = f"{len(found.strips)} strips as plots with a load each, and {len(planned.pairs)} pairs"
    if not yes and not typer.confirm(f"Keep {what}?"):
        say("Nothing was written.")
        return
    with open_records(path) as connection:
        planned = keeping.plan_keeping(connection, found, pairs, allocation=allocation, with_hours=hours)
        act = keeping.keep_strips(connection, planned, done_by=person(), source="terminal")
    say(f"Kept: {what}. To take it back: standrow undo {act}")


def named_values(option: str, given: list[str] | None) -> dict[str, str]:
    """What was given as NAME=VALUE, by name."""
    found = {}
    for text in given or []:
        name, sign, value = text.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise BadInput(f"--{option}: {text} given; allowed a name, =, and a value.")
        found[name.strip()] = value.strip()
    return found


@app.command()
def check(records: Records = None) -> None:
    """Tell whether the records are safe, which days after a product are too few, what is missing, and what is odd."""
    from analytics.health import examine
    from analytics.printing import safety as printing
    from analytics.storage.database import records_path

    report = examine(records_path(records))
    printing.print_health(out, report)
    if not report.is_safe:
        raise typer.Exit(1)


@app.command()
def export(
    folder: Annotated[Path, typer.Argument(help="A folder for the files; made if need be.")], records: Records = None
) -> None:
    """Write every table as CSV and all of them as one workbook; both can be imported again."""
    from analytics.files.exporting import export as export_records
    from analytics.storage.database import open_records, records_path

    with open_records(records_path(records)) as connection:
        for file in export_records(connection, folder):
            say(str(file))


@app.command()
def share(
    file: Annotated[Path, typer.Argument(help="The file to write: .parquet or .csv.")],
    measure: Annotated[
        list[str] | None, typer.Option(help="A measure to share; again for more. Default: all but net_return.")
    ] = None,
    year: Annotated[list[int] | None, typer.Option(help="A crop year to share; again for more. Default: all.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    records: Records = None,
) -> None:
    """Write what a growers' group gets, shown first: both sides of each pair, under codes drawn by lot."""
    from analytics.pool.share import checked_share_ending, keep_codes, prepare_share, write_share
    from analytics.printing.shared_rows import print_share as print_share
    from analytics.storage.database import open_records, records_path

    checked_share_ending(file.name)
    with open_records(records_path(records)) as connection:
        prepared = prepare_share(connection, measures=measure or (), crop_years=year or ())
        print_share(out, prepared)
        if not yes and not typer.confirm(f"Write just this to {file.name}?"):
            say("Nothing was written.")
            return
        write_share(prepared, file)
        keep_codes(connection, prepared, done_by=person(), source="terminal")
    say(str(file))


@app.command()
def pool(
    folder: Annotated[Path, typer.Argument(help="A folder with the share files of the group.")],
    measure: Annotated[
        list[str] | None, typer.Option(help="A measure; again for more. Default: all that three farms have sent.")
    ] = None,
    as_object: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    sheets: Annotated[
        Path | None, typer.Option(help="A folder for the sheets: one of the group, and one of each farm.")
    ] = None,
    ending: Annotated[str, typer.Option("--as", help="What the sheets are: pdf, html or xlsx.")] = "pdf",
    made_on: Annotated[
        str | None, typer.Option("--date", help="Day on the sheets, YYYY-MM-DD. Default: today.")
    ] = None,
    workers: Annotated[int, typer.Option(help="Processes that check the files. Default: this one.")] = 1,
    cluster: Annotated[
        str | None, typer.Option(help="Address of a cluster's scheduler that checks them: tcp://HOST:PORT.")
    ] = None,
    records: Records = None,
) -> None:
    """What a group's farms say together: their records, their years to come, and another farm."""
    from analytics.pool.group_files import read_group
    from analytics.pool.group_json import group_json
    from analytics.pool.group_review import review_group
    from analytics.printing.groups import print_group as print_group

    group = read_group(folder, workers=workers, cluster=cluster)
    found = review_group(group, measures=measure or ())
    if sheets is not None:
        from analytics.sheet.group_sheet import write_group_sheets
        from analytics.sheet.written import checked_date

        day = date.today() if made_on is None else checked_date(made_on)
        for file in write_group_sheets(group, found, day, sheets, ending=ending):
            say(str(file))
        return
    own = own_code(records)
    if as_object:
        sys.stdout.write(group_json(group, found, own=own) + "\n")
    else:
        print_group(out, group, found, own=own)


def own_code(records: Path | None) -> str | None:
    """The code of the farm whose records are here; None where there are none, or it has never shared."""
    from analytics.pool.share import farm_code
    from analytics.storage.database import open_records, records_path

    path = records_path(records)
    if not path.exists():
        return None
    with open_records(path) as connection:
        return farm_code(connection)


@app.command()
def backup(records: Records = None) -> None:
    """Make a backup of the records now, also while others use them. Older ones are kept by day and season."""
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
    """List the backups, show what restoring one would change, or do it."""
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
    over_later: Annotated[bool, typer.Option("--over-later", help="Also what later acts changed since.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    records: Records = None,
) -> None:
    """List the last acts, or show what undoing one would touch, ask, and undo it; that can be undone too."""
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
    if not yes and not typer.confirm(f"Undo act {act}?"):
        say("Nothing was written.")
        return
    with open_records(path) as connection:
        done = undo_act(connection, planned, done_by=person(), why=why, force=over_later)
    say(f"Undone, as act {done}. To take that back: standrow undo {done}")


def person() -> str:
    """Who is logged in, for the history; some machines give their users no name."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return "somebody without a name on this machine"


@contextmanager
def steps(how_many: int) -> Iterator[Callable[[str], None]]:
    """A bar for work of so many steps, on stderr, gone when done; nothing where stderr is no terminal."""
    from rich.progress import Progress

    with Progress(console=err, transient=True, disable=not err.is_terminal) as progress:
        task = progress.add_task("starting", total=how_many)

        def step(words: str) -> None:
            progress.update(task, description=words, advance=1)

        yield step


def announce(addresses: Sequence[str], is_for_others: bool) -> None:
    """Where the dashboard is, and for whom."""
    if not is_for_others:
        say(f"\nOpen {addresses[0]} in a browser. Only this machine can. Ctrl-C ends it.")
        return
    say(f"\nOpen {' or '.join(addresses)} in a browser on this network; the passphrase is asked for. Ctrl-C ends it.")
    say("Nothing is encrypted on the way: others on this network could read what is typed and shown, passphrases too.")
    say("Serve like this only on a network you trust.")


def say(text: str) -> None:
    """A line for people, as typed."""
    out.print(text, markup=False, soft_wrap=True)


class Stopped(StandrowError):
    """Ctrl-C."""


def stop(*_: object) -> None:
    """What Ctrl-C does until a server runs, which has its own way."""
    raise Stopped("Stopped.")


def run_command() -> None:
    """Run the command; whatever goes wrong ends in one plain message and an exit code."""
    os.umask(0o077)  # what the program writes is the owner's alone, the engine's own files beside the records too
    signal.signal(signal.SIGINT, stop)
    try:
        try:
            app()
        finally:
            for words in take_mended():
                complain(words)
            sys.stdout.flush()
    except Stopped as problem:
        complain(f"{problem} {what_was_done()}")
        sys.exit(problem.exit_code)
    except StandrowError as problem:
        complain(str(problem))
        sys.exit(problem.exit_code)
    except BrokenPipeError:
        silence()
        sys.exit(1)
    except Exception as problem:
        silence()
        if "interrupt" in str(problem).lower():  # Ctrl-C in the middle of a query
            complain(f"Stopped. {what_was_done()}")
        elif isinstance(problem, OSError) and problem.errno in (errno.ENOSPC, errno.EIO, errno.EBADF):
            complain(f"What is printed cannot be written ({problem.strerror}). {what_was_done()}")
        else:
            complain(
                f"standrow met something it does not know how to handle ({type(problem).__name__}: {problem}). "
                f"{what_was_done()}"
            )
        sys.exit(1)


def complain(text: str) -> None:
    """A line for people on standard error, as far as that can be written."""
    with suppress(OSError):
        err.print(text, markup=False, soft_wrap=True)


def silence() -> None:
    """Write no more to an output that takes nothing, at the end of the program neither."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    with suppress(OSError, ValueError):
        os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


if __name__ == "__main__":
    run_command()

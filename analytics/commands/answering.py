"""Commands that answer: the demo, a comparison, the sheet on paper."""

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from analytics.commands.common import Port, Records, app, out, say, steps
from analytics.commands.served import announce
from analytics.errors import BadInput
from analytics.sheet.reader import Reader
from analytics.trade.measures import MEASURES, find_measure, gaps_to_plan_for

if TYPE_CHECKING:
    from analytics.pool.farm_answers import FarmAnswers
    from analytics.statistics.exploration import DependsOn
    from analytics.statistics.results import Comparison

    # What may be asked of it, the farms where a column names them, and yield by which shares become bushels.
    Compared = tuple[Comparison, tuple[DependsOn, ...], FarmAnswers | None, Comparison | None]


SAMPLE_RECORDS = Path(__file__).resolve().parents[2] / "sample_records"


@app.command()
def demo(
    serve: Annotated[bool, typer.Option(help="Serve the dashboard after printing the answer.")] = True,
    port: Port = None,
) -> None:
    """Show the invented demo farm. It prints the answer and serves the dashboard, from a throw-away file."""
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
def compare(
    pairs: Annotated[
        Path | None,
        typer.Option(
            help="A CSV of pairs: standing, windrowed, and if wanted farm, crop_year, field (or standing_field and "
            "windrowed_field), pair, layout, allocation."
        ),
    ] = None,
    measure: Annotated[str, typer.Option(help=f"What to compare: {', '.join(MEASURES)}.")] = "yield",
    unit: Annotated[str | None, typer.Option(help="Unit of the values in a file of pairs: bu/ac.")] = None,
    lower_is_better: Annotated[
        bool | None, typer.Option("--lower-is-better", help="In a file of pairs: less is better.")
    ] = None,
    level: Annotated[float | None, typer.Option(help="How often a range is right: 0.95 (default), 0.9 or 0.8.")] = None,
    margin: Annotated[float | None, typer.Option(help="The difference that matters, in the unit.")] = None,
    as_object: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    list_pairs: Annotated[
        bool, typer.Option("--list-pairs", help="List every pair in the JSON, also where there are very many.")
    ] = False,
    records: Records = None,
) -> None:
    """Compare standing with windrowed. The pairs are those on record, or those of a file."""
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

    find_measure(measure)  # an unknown one is refused before everything is read
    with open_records(records_path(records)) as connection:
        unit, every = read_settings(connection).yield_unit, review_all(connection)
        comparison = in_yield_unit(every.get(measure) or review(connection, measure), unit)
        grain = in_yield_unit(every["yield"], unit) if "yield" in every else None
        return comparison, what_it_depends_on(connection, measure, unit), None, grain


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
    """Write the sheet for the table. For the same records and date it is the same to the byte."""
    from analytics.sheet.content import read_sheet
    from analytics.sheet.written import WORKBOOK, checked_date, checked_ending, write_sheet
    from analytics.storage.database import open_records, records_path
    from analytics.trade.cautions import NOT_ADVICE

    ending = checked_ending(output)
    day = date.today() if made_on is None else checked_date(made_on)
    with open_records(records_path(records)) as connection:
        sheet = read_sheet(connection, reader, day, is_for_workbook=ending == WORKBOOK)
    write_sheet(sheet, output)
    for sentence_said in (*sheet.answer, NOT_ADVICE):
        say(sentence_said)
    say(str(output))

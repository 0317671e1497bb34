"""The command for the points of a yield monitor."""

from pathlib import Path
from typing import Annotated

import typer

from analytics.commands.common import Records, app, is_wanted, out, person, say, steps
from analytics.errors import BadInput
from analytics.trade.measures import MEASURES


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
    hours_from_utc: Annotated[
        float, typer.Option(help="How far local time is from UTC, where the times are UTC: -6.")
    ] = 0.0,
    certified_kg: Annotated[
        float | None, typer.Option(help="What a certified scale says the whole field brought, kg.")
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
    """Make strips of a yield monitor's points. They are cut, cleaned, scaled, and kept as plots and pairs."""
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
    if not yes and not is_wanted(f"Keep {what}?"):
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

"""The command that plans next season."""

from datetime import date, datetime
from typing import Annotated

import typer

from analytics.commands.common import Records, app, out, person, say
from analytics.errors import BadInput, Refused


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
    """Plan next season. For and against standing by field, which fields to pair, what that could show, the draw."""
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
            raise Refused(
                "There is no field on record yet. Bring fields in: standrow import FOLDER, or type them: standrow serve"
            )
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

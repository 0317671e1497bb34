"""Commands of a growers' group: what a farm gives, and what the farms say together."""

import sys
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from analytics.commands.common import Records, app, is_wanted, out, person, say


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
    """Write what a growers' group gets, shown first. That is both sides of each pair, under codes drawn by lot."""
    from analytics.pool.share import checked_share_ending, keep_codes, prepare_share, write_share
    from analytics.printing.shared_rows import print_share as print_share
    from analytics.storage.database import open_records, records_path

    checked_share_ending(file.name)
    path = records_path(records)
    with open_records(path) as connection:
        prepared = prepare_share(connection, measures=measure or (), crop_years=year or ())
    print_share(out, prepared)
    if not yes and not is_wanted(f"Write just this to {file.name}?"):  # nobody else has to wait for the answer
        say("Nothing was written.")
        return
    with open_records(path) as connection:
        keep_codes(connection, prepared, done_by=person(), source="terminal")
    write_share(prepared, file)
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
    """What a group's farms say together. On their records, for their years to come, and for another farm."""
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

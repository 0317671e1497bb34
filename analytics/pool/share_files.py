"""One share file, checked cell by cell: its rows, or every fault in it. A file with one fault gives no row.

What comes from other farms is believed in nothing: not its size, its types, its codes or its name.
"""

import io
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir

import duckdb
import polars as pl
import pyarrow as pa
from pyarrow import parquet

from analytics.errors import StandrowError
from analytics.files.csv_cells import Unusable, from_csv
from analytics.files.new_files import clear_left
from analytics.pool.share_form import (
    ALLOWED,
    COLUMNS,
    FACTS,
    FARM_CODE,
    LARGEST_BYTES,
    LARGEST_RECORDS,
    MOST_PLACES,
    MOST_ROWS,
    RECORDS_ENDING,
    VERSION,
)
from analytics.records.faults import Fault, Faults
from analytics.storage.database import open_records
from analytics.storage.sql_texts import query_text

READ = ("farm", "crop_year", "place", "pair", "kind", "allocation", *FACTS, "measure", "standing", "windrowed")
IN_PARQUET = {pl.String: ("string", "large_string"), pl.Int64: ("int64",), pl.Float64: ("double",)}
UNPACKED = 5  # times LARGEST_BYTES: codes and words pack well
COPY = "standrow-farm-"  # begins the name of the folder in which a farm's records are looked at
TO_UPDATE = "Update standrow."
TO_DRAW = "Draw the codes there: standrow share FILE --yes"
TO_SHARE_ANEW = "Have the farm share it anew with standrow share."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedShare:
    """One file. label : how it is called in messages, the farm's code first where it has one.

    rows : columns READ, facts as true, false or null; none where there is a fault
    """

    label: str
    farm: str | None = None
    shared_at: str = ""
    rows: pl.DataFrame = field(default_factory=pl.DataFrame)
    faults: Faults = field(default_factory=Faults)


def checked_path(path: str) -> CheckedShare:
    """The file at `path`; what cannot be read is a fault."""
    file = Path(path)
    try:
        if (size := file.stat().st_size) > largest_bytes(file.name):
            return _too_large(plain_label(file.name), size)
        return checked_share(file.name, file.read_bytes())
    except OSError as problem:
        given = f"a file that cannot be read ({problem.strerror})"
        return _faulty(plain_label(file.name), Fault(file=plain_label(file.name), given=given, allowed="one that can"))


def checked_share(name: str, content: bytes) -> CheckedShare:
    """A file given as its name and content; the ending of the name says which form it has."""
    label = plain_label(name)
    if len(content) > largest_bytes(name):
        return _too_large(label, len(content))
    if name.lower().endswith(RECORDS_ENDING):
        return _of_records(label, content)
    try:
        given = _of_parquet(label, content) if name.lower().endswith(".parquet") else _of_csv(label, content)
    except Unusable as problem:
        return _faulty(label, problem.fault)
    farms = given["farm"].drop_nulls().head(1).to_list()
    if farms and FARM_CODE.fullmatch(farms[0]):
        label = f"{farms[0]} ({label})"
    if given.height > MOST_ROWS or (places := given["place"].n_unique()) > MOST_PLACES:
        what = f"{given.height:,} rows" if given.height > MOST_ROWS else f"{places:,} places"
        fault = Fault(file=label, given=what, allowed=f"up to {MOST_ROWS:,} rows and {MOST_PLACES:,} places")
        return _faulty(label, fault)
    if given.is_empty():
        return _faulty(label, Fault(file=label, given="no row", allowed="a row for each pair and measure"))
    connection = _engine()
    connection.register("given", given)
    # Of a farm and year the newest counts: one dated ahead would win over every correction. A day is for slow clocks.
    latest = datetime.now(UTC).replace(tzinfo=None) + timedelta(days=1)
    rows: pl.DataFrame = connection.sql(query_text("share_rows"), params=ALLOWED | {"latest": latest}).pl()
    connection.unregister("given")
    faults = Faults()
    faults.add_rows(rows["fault"].is_not_null().arg_true(), lambda place: _in_cell(label, given, rows, place))
    if faults.total:
        return CheckedShare(label=label, farm=None, faults=faults)
    facts = [pl.col(fact).replace_strict({"yes": True, "no": False}, return_dtype=pl.Boolean) for fact in FACTS]
    return CheckedShare(
        label=label, farm=farms[0], shared_at=rows["shared_at"][0], rows=rows.with_columns(facts).select(READ)
    )


def largest_bytes(name: str) -> int:
    """How large a file of this name may be."""
    return LARGEST_RECORDS if name.lower().endswith(RECORDS_ENDING) else LARGEST_BYTES


def _of_records(label: str, content: bytes) -> CheckedShare:
    """What a farm's whole records would share, all but money, read in a copy: the file itself is not touched."""
    from analytics.pool.share import prepare_share, share_bytes  # loads the statistics, which no other file needs

    clear_left(Path(gettempdir()), COPY)  # of a program that was killed: a whole farm's records
    with TemporaryDirectory(prefix=COPY) as folder:
        copy = Path(folder).resolve() / "records.duckdb"
        copy.write_bytes(content)
        try:
            with open_records(copy, leaves_log=True, is_copy=True) as connection:
                share = prepare_share(connection)
        except StandrowError as problem:
            given = str(problem).replace(str(copy), "records").rstrip(".")
            return _faulty(label, Fault(file=label, given=given, allowed="sound records with a complete pair"))
    if share.new_codes.height:
        given = "records in which no code is drawn for the farm, or for a place"
        return _faulty(label, Fault(file=label, given=given, allowed="records that have shared", remedy=TO_DRAW))
    return checked_share(f"{label[: -len(RECORDS_ENDING)]}.csv", share_bytes(share, ".csv"))


def plain_label(name: str) -> str:
    """A file's name as it may stand in a message."""
    return "".join(letter if letter.isprintable() else "?" for letter in name)[:60]


@cache
def _engine() -> duckdb.DuckDBPyConnection:
    """An engine without a file, one for each process; it may look at nothing but what it is handed."""
    return duckdb.connect(config={"threads": 1, "memory_limit": "150MB", "enable_external_access": False})


def _of_csv(label: str, content: bytes) -> pl.DataFrame:
    rough = from_csv(label, content, [])
    if "share_version" in rough.header and rough.cells.height:
        _check_version(label, [rough.cells[0, rough.header.index("share_version")]])
    _check_columns(label, rough.header)
    if rough.faults.total:
        raise Unusable(rough.faults.worded[0])
    names = dict(zip(rough.cells.columns, rough.header, strict=True))
    return rough.cells.rename(names).with_columns(pl.all().replace("", None), row=rough.rows)


def _of_parquet(label: str, content: bytes) -> pl.DataFrame:
    try:
        file = parquet.ParquetFile(io.BytesIO(content))
        whole, schema = file.metadata, file.schema_arrow
        size = sum(whole.row_group(number).total_byte_size for number in range(whole.num_row_groups))
        if "share_version" in schema.names and whole.num_rows and size <= UNPACKED * LARGEST_BYTES:
            _check_version(label, file.read(columns=["share_version"]).column(0).slice(0, 1).to_pylist())
        _check_columns(label, schema.names)
        for name, (kind, allowed) in COLUMNS.items():
            if str(schema.field(name).type) not in IN_PARQUET[kind]:
                given = f"values of type {schema.field(name).type}"
                raise Unusable(Fault(file=label, column=name, given=given, allowed=allowed, remedy=TO_SHARE_ANEW))
        if whole.num_rows > MOST_ROWS or size > UNPACKED * LARGEST_BYTES:
            given = f"{whole.num_rows:,} rows, {size / 1e6:,.0f} MB unpacked"
            allowed = f"up to {MOST_ROWS:,} rows and {UNPACKED * LARGEST_BYTES / 1e6:,.0f} MB"
            raise Unusable(Fault(file=label, given=given, allowed=allowed))
        rows = pl.DataFrame(pl.from_arrow(file.read()))
        return rows.select(pl.all().cast(pl.String).replace("", None)).with_row_index("row", offset=1)
    except (pa.ArrowException, pl.exceptions.PolarsError, OSError, ValueError, OverflowError) as problem:
        given = "a file that is damaged, or no Parquet file"
        raise Unusable(Fault(file=label, given=given, allowed="a share file", remedy=TO_SHARE_ANEW)) from problem


def _check_columns(label: str, names: list[str]) -> None:
    if sorted(names) != sorted(COLUMNS):
        given = f"the columns {', '.join(names)}"
        raise Unusable(Fault(file=label, given=given, allowed=", ".join(COLUMNS), remedy=TO_SHARE_ANEW))


def _check_version(label: str, first: list[object]) -> None:
    """A file of a newer form may have other columns, so it is told before they are looked at."""
    text = str(first[0]) if first else ""
    if text.isdecimal() and int(text[:9]) > VERSION:
        given = f"a file of form {text[:9]}, written by a newer version of standrow"
        raise Unusable(Fault(file=label, given=given, allowed=f"form {VERSION}", remedy=TO_UPDATE))


def _in_cell(label: str, given: pl.DataFrame, rows: pl.DataFrame, place: int) -> Fault:
    column = rows["fault"][place]
    cell = given.row(place, named=True)[column]
    shown = "" if cell is None else "".join(letter if letter.isprintable() else "?" for letter in str(cell)[:80])
    return Fault(
        file=label,
        row=int(rows["row"][place]),
        column=column,
        given=shown,
        allowed=COLUMNS[column][1],
        remedy=TO_SHARE_ANEW,
    )


def _too_large(label: str, size: int) -> CheckedShare:
    allowed = f"up to {largest_bytes(label) / 1e6:,.0f} MB"
    return _faulty(label, Fault(file=label, given=f"{size / 1e6:,.0f} MB", allowed=allowed))


def _faulty(label: str, fault: Fault) -> CheckedShare:
    faults = Faults()
    faults.add(fault)
    return CheckedShare(label=label, faults=faults)

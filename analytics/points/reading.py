"""From a file of points to numbers: any column names and units, degrees or metres, local time or UTC.

The file is read as a stream and only what is needed is kept, as numbers; of a cell that is no number nothing is
guessed: the point is counted as unreadable.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from analytics.errors import BadInput, Refused
from analytics.files.column_matches import Match, guess_match
from analytics.files.column_words import FILE_UNITS
from analytics.files.text_tables import TextTable, no_file_words, plain_name
from analytics.points import geo_files
from analytics.points.metres import Origin
from analytics.points.point_columns import FLOWS, NO, PLACES, POINTS, YES
from analytics.trade.units import unit_of

SUFFIXES = (".csv", ".txt", ".tsv", ".geojson", ".json", ".parquet", ".geoparquet")
HEAD_ROWS = 50
MOST_POINTS = 2_000_000  # three weeks of a point a second; a million take up to 800 MB until they are strips
NUMBERS = tuple(column.name for column in POINTS.columns if column.kind == "number")
EXACT = ("longitude", "latitude", "east_m", "north_m")  # of the others seven digits are enough
FORMATS = ("%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M:%S%.f", "%Y/%m/%d %H:%M:%S%.f")
ZONE = r":[0-9.]+([Zz]|[+-]\d\d:?\d\d)$"
DECIMAL_POINT = r"^\s*[+-]?\d*\.\d+\s*$"
WKT = r"(?i)^\s*POINT\s*(?:Z|M|ZM)?\s*\(\s*(\S+)\s+(\S+?)[\s)]"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointFile:
    """A file of points as numbers, in the order in which they were logged.

    points : columns seconds (since 1970, by the clock of `is_utc`; from 0 on, a second a point, where the file has no
        time), east_m, north_m, those of point_columns in its units, header_up (null: not told), machine; float, null
        for unknown
    fingerprint : SHA-256 of the file, so that it can be told whether another one is the same
    origin : null where the file is in metres
    unreadable : rows left out because a cell that is needed is blank or no number
    """

    name: str
    fingerprint: str
    points: pl.DataFrame
    origin: Origin | None
    rows: int
    unreadable: int
    is_utc: bool
    has_time: bool
    columns: frozenset[str] = field(default_factory=frozenset)


def scan(path: Path) -> pl.LazyFrame:
    """The rows of a file under plain column names; text, or numbers where the file holds numbers.

    Raises BadInput for a kind of file that is not read, Refused for one that may not be opened.
    """
    if not path.is_file():
        raise BadInput(f"{no_file_words(path)}; allowed a file of points: {', '.join(SUFFIXES)}.")
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise BadInput(f"{path.name}: not a file of points that is read; allowed {', '.join(SUFFIXES)}.")
    try:
        if suffix in (".geojson", ".json"):
            rows = geo_files.geojson_points(path).lazy()
        elif suffix in (".parquet", ".geoparquet"):
            rows = geo_files.geoparquet_points(path)
        else:
            rows = _csv(path)
        names = rows.collect_schema().names()
    except OSError as problem:
        raise Refused(f"{path}: it cannot be read ({problem.strerror}). Check that you may open it.") from problem
    except pl.exceptions.PolarsError as problem:
        raise BadInput(f"{path.name}: no table of points: {str(problem).splitlines()[0]}") from problem
    plain = [plain_name(name) for name in names]
    if len(set(plain)) < len(plain):
        twice = next(name for name in plain if plain.count(name) > 1)
        raise BadInput(f"{path.name}: two columns are called {twice!r}; allowed each once. Rename one.")
    return rows.rename(dict(zip(names, plain, strict=True)))


def _csv(path: Path) -> pl.LazyFrame:
    with path.open("rb") as file:
        first = file.readline(100_000).decode("utf-8-sig", errors="replace")
    if first.startswith("\ufffd\ufffd"):
        raise BadInput(
            f"{path.name}: text of two bytes a letter (UTF-16) given; allowed UTF-8. Save it again as CSV UTF-8."
        )
    if not first.strip() or "\0" in first:
        raise BadInput(f"{path.name}: the first row is blank or no text; allowed the names of the columns.")
    separator = max(",;\t|", key=first.count)
    rows = pl.scan_csv(path, separator=separator, infer_schema=False, encoding="utf8-lossy", truncate_ragged_lines=True)
    # Beside numbers with a point a comma could be thousands; then 1,234 is no number here, and the point is left out.
    has_points = pl.any_horizontal(pl.all().str.contains(DECIMAL_POINT).any())
    if separator != ";" or rows.head(HEAD_ROWS).select(has_points).collect().item():
        return rows
    return rows.with_columns(pl.all().str.replace(",", ".", literal=True))


def head(path: Path) -> TextTable:
    """The first rows as text, for choosing which column is which."""
    cells = scan(path).head(HEAD_ROWS).collect().cast(pl.String, strict=False)
    rows = pl.int_range(2, cells.height + 2, eager=True)
    return TextTable(name=plain_name(path.stem), label=path.name, cells=cells, rows=rows, is_whole=True)


def guess(path: Path) -> Match:
    """The file's columns whose names are most like ours, with the units that the names speak of."""
    return guess_match(POINTS, scan(path).collect_schema().names())


def chosen_match(path: Path, columns: Mapping[str, str], units: Mapping[str, str]) -> Match:
    """What is guessed, with the columns and units that were named in the place of guesses.

    columns, units : the file's column, and the unit of its numbers, by column of ours
    Raises BadInput for a column of ours that is none, or a column that the file does not have.
    """
    guessed = guess(path)
    headers = scan(path).collect_schema().names()
    for name in (*columns, *units):
        if name not in POINTS.column_names:
            raise BadInput(f"points: {name} given; allowed {', '.join(POINTS.column_names)}.")
    named = {name: plain_name(header) for name, header in columns.items()}
    for header in named.values():
        if header not in headers:
            raise BadInput(f"{path.name}: no column {header}; allowed {', '.join(headers)}.")
    for name, unit in units.items():
        unit_of(name, unit, FILE_UNITS)
    kept = {name: header for name, header in guessed.columns.items() if header not in named.values()}
    all_units = {name: unit for name, unit in guessed.units.items() if name not in named} | dict(units)
    return Match(table=POINTS, columns=kept | named, units=all_units)


def lacking(match: Match) -> str:
    """What a match needs and does not take from the file, in words; "" when it is enough."""
    have = set(match.columns)
    if not any(set(place) <= have for place in PLACES):
        return "longitude and latitude (or east and north in metres, or a position)"
    if not have & set(FLOWS):
        return "the grain: flow, mass or wet yield"
    if "wet_kg_ha" in have and not have & {"flow_kg_s", "mass_kg"} and "width_m" not in have:
        return "the width that the monitor reckoned its yield with"
    if "flow_kg_s" in have and "mass_kg" not in have and "recorded_at" not in have:
        return "date and time of each point, without which a flow is no mass"
    return ""


def read_points(
    path: Path, match: Match, *, is_utc: bool = False, step: Callable[[str], None] = lambda _: None
) -> PointFile:
    """Every row that has a place and grain, as numbers.

    is_utc : whether the times are UTC; one that ends in Z is, whatever is said here
    step : told in a word or two what is being done
    Raises BadInput when the match takes too little or a column that is not there, or no row can be read.
    """
    if short := lacking(match):
        raise BadInput(f"{path.name}: not matched yet: {short}. Say which column holds it.")
    step("taking the fingerprint")
    fingerprint = fingerprint_of(path)
    step("reading the points")
    rows = scan(path)
    kinds = rows.collect_schema()
    if not match.fits(kinds.names()):
        gone = sorted(set(match.columns.values()) - set(kinds.names()))
        raise BadInput(f"{path.name}: no column {', '.join(gone)}; the match takes it. Choose another column.")
    texts = {name for name, kind in kinds.items() if kind == pl.String}
    is_utc = is_utc or _names_utc(rows, match, texts)
    wanted = [_typed(name, header, header in texts, match) for name, header in match.columns.items()]
    try:
        found = rows.select(*wanted).collect(engine="streaming")
    except pl.exceptions.PolarsError as problem:
        raise BadInput(f"{path.name}: it cannot be read to its end: {str(problem).splitlines()[0]}") from problem
    if found.height > MOST_POINTS:
        raise BadInput(
            f"{path.name}: {found.height:,} points given; allowed {MOST_POINTS:,} at a time. Bring in field by field."
        )
    if "position" in found.columns:
        found = (
            found.unnest("position") if not {"longitude", "latitude"} <= set(found.columns) else found.drop("position")
        )
    step("working out metres")
    return _placed(path, fingerprint, found, frozenset(match.columns), is_utc=is_utc)


def _names_utc(rows: pl.LazyFrame, match: Match, texts: set[str]) -> bool:
    """Whether the first time of a file ends in Z or an offset."""
    header = match.columns.get("recorded_at")
    if header not in texts:
        return False
    first = rows.select(pl.col(str(header)).drop_nulls().str.strip_chars().head(1)).collect().to_series()
    return bool(first.str.contains(ZONE).any())


def fingerprint_of(path: Path) -> str:
    """SHA-256 of the bytes of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _typed(name: str, header: str, is_text: bool, match: Match) -> pl.Expr:
    """A column of the file as ours: numbers in our unit, seconds since 1970, true or false, or a name."""
    cell = pl.col(header)
    if name in NUMBERS:
        number = (cell.str.strip_chars() if is_text else cell).cast(pl.Float64, strict=False)
        if name in FILE_UNITS:
            number = number * unit_of(name, match.units.get(name) or FILE_UNITS[name][0].name, FILE_UNITS).factor
        number = pl.when(number.is_finite()).then(number)
        return (number if name in EXACT else number.cast(pl.Float32)).alias(name)
    text = cell.cast(pl.String).str.strip_chars()
    if name == "recorded_at":
        return (_seconds(text) if is_text else _seconds_of(cell)).alias("seconds")
    if name == "position":
        found = [text.str.extract(WKT, group).cast(pl.Float64, strict=False) for group in (1, 2)]
        return pl.struct(found[0].alias("longitude"), found[1].alias("latitude")).alias(name)
    if name == "header_up":
        low = text.str.to_lowercase()
        return pl.when(low.is_in(YES)).then(True).when(low.is_in(NO)).then(False).alias(name)
    return text.cast(pl.Categorical).alias(name)


def _seconds_of(cell: pl.Expr) -> pl.Expr:
    """Seconds since 1970 of a column of times, or of numbers that are seconds already."""
    return cell.cast(pl.Datetime("us"), strict=False).dt.epoch("us") / 1e6


def _seconds(text: pl.Expr) -> pl.Expr:
    """Seconds since 1970 of a time as text: ISO 8601, with Z, an offset or neither, or seconds as a number.

    An offset is taken off, so that what is left is UTC.
    """
    zone = text.str.extract(ZONE)
    bare = pl.when(zone.is_null()).then(text).otherwise(text.str.replace(r"([Zz]|[+-]\d\d:?\d\d)$", ""))
    local = pl.coalesce(bare.str.to_datetime(form, strict=False, time_unit="us") for form in FORMATS).dt.epoch("us")
    hours = zone.str.replace(":", "").str.slice(0, 3).cast(pl.Float64, strict=False).fill_null(0)
    minutes = zone.str.replace(":", "").str.slice(3, 2).cast(pl.Float64, strict=False).fill_null(0)
    sign = pl.when(zone.str.starts_with("-")).then(-1).otherwise(1)
    return pl.coalesce(local / 1e6 - hours * 3600 - sign * minutes * 60, text.cast(pl.Float64, strict=False))


def _placed(path: Path, fingerprint: str, found: pl.DataFrame, columns: frozenset[str], *, is_utc: bool) -> PointFile:
    names = found.columns
    place = ("longitude", "latitude") if {"longitude", "latitude"} <= set(names) else ("east_m", "north_m")
    grain = next(name for name in FLOWS if name in names)
    has_time = "seconds" in names
    needed = [*place, grain, *(["seconds"] if has_time else [])]
    whole = found.drop_nulls(needed)
    if place[0] == "longitude":
        whole = whole.filter(pl.col("longitude").is_between(-180, 180), pl.col("latitude").is_between(-85, 85))
    if whole.is_empty():
        raise BadInput(
            f"{path.name}: none of {found.height:,} rows has a place and grain that can be read; allowed numbers with "
            "a decimal point and ISO times. Check which column is which."
        )
    origin = None
    if place[0] == "longitude":
        middles = whole.select(pl.col(place).median().round(4)).row(0)
        origin = Origin(longitude=middles[0], latitude=middles[1])
        east, north = origin.metres(whole["longitude"].to_numpy(), whole["latitude"].to_numpy())
        whole = whole.drop(place).with_columns(pl.Series("east_m", east), pl.Series("north_m", north))
    if "machine" not in names:
        whole = whole.with_columns(pl.lit("").cast(pl.Categorical).alias("machine"))
    if not has_time:
        whole = whole.with_columns(pl.int_range(pl.len()).cast(pl.Float64).alias("seconds"))
    return PointFile(
        name=path.name,
        fingerprint=fingerprint,
        points=whole.sort("machine", "seconds", maintain_order=True),
        origin=origin,
        rows=found.height,
        unreadable=found.height - whole.height,
        is_utc=is_utc,
        has_time=has_time,
        columns=columns,
    )


def clock(seconds: float) -> datetime:
    """The moment that a point's seconds stand for, by the clock of the file."""
    return datetime.fromtimestamp(seconds, tz=UTC).replace(tzinfo=None)

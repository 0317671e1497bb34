"""Points out of files that know of places: GeoJSON (RFC 7946), and GeoParquet whose points are in WKB or WKT."""

import json
import re
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

import polars as pl
import pyarrow.parquet as pq

from analytics.errors import BadInput

CHUNK_LETTERS = 1_000_000
ROWS_AT_A_TIME = 50_000
WKB_POINTS = (1, 1001, 2001, 3001, 0x80000001)  # with z, m or both behind x and y, which come first in each
DEGREES = (None, "OGC:CRS84", "EPSG:4326")


def features(path: Path) -> Iterator[dict[str, Any]]:
    """The features of a GeoJSON file one by one, read piece by piece so that the memory they take stays bounded.

    Raises BadInput where the text is no collection of features.
    """
    wrong = BadInput(f"{path.name}: no list of features in it; allowed GeoJSON (RFC 7946), a FeatureCollection.")
    reader = json.JSONDecoder()
    with path.open(encoding="utf-8-sig", errors="replace") as file:
        held = file.read(CHUNK_LETTERS)
        while not (begun := re.search(r'"features"\s*:\s*\[', held)):
            more = file.read(CHUNK_LETTERS)
            if not more or len(held) > 20 * CHUNK_LETTERS:
                raise wrong
            held += more
        held = held[begun.end() :]
        while True:
            held = held.lstrip(" \t\r\n,")
            if held.startswith("]"):
                return
            try:
                feature, end = reader.raw_decode(held)
            except ValueError:
                more = file.read(CHUNK_LETTERS)
                if not more or len(held) > 20 * CHUNK_LETTERS:
                    raise BadInput(
                        f"{path.name}: it ends within a feature, or one is no JSON. Save it again."
                    ) from None
                held += more
                continue
            except RecursionError:  # thousands of lists within lists
                raise wrong from None
            if not isinstance(feature, dict):
                raise wrong
            yield feature
            held = held[end:]
            if len(held) < CHUNK_LETTERS // 10:
                held += file.read(CHUNK_LETTERS)


def geojson_points(path: Path) -> pl.DataFrame:
    """Every point feature: its properties as text, and longitude and latitude under those names."""
    found, batches = features(path), []
    while batch := list(islice(found, ROWS_AT_A_TIME)):
        rows = [row for feature in batch if (row := _point(feature))]
        batches.append(pl.DataFrame(rows, infer_schema_length=None).cast(pl.String) if rows else pl.DataFrame())
    filled = [batch for batch in batches if batch.width]
    if not filled:
        raise BadInput(f"{path.name}: no point in it; allowed a FeatureCollection of points.")
    return pl.concat(filled, how="diagonal")


def object_in(holder: object, name: str) -> dict[str, Any]:
    """The object of that name in another one; an empty one where there is none, or something else."""
    found = holder.get(name) if isinstance(holder, dict) else None
    return found if isinstance(found, dict) else {}


def texts_of(feature: dict[str, Any]) -> dict[str, str | None]:
    """The properties of a feature as text; half a letter, which JSON can name, becomes a question mark."""
    return {
        _whole_letters(name): None if value is None else _whole_letters(str(value))
        for name, value in object_in(feature, "properties").items()
    }


def _whole_letters(text: str) -> str:
    return text.encode("utf-8", errors="replace").decode("utf-8")


def _point(feature: dict[str, Any]) -> dict[str, Any] | None:
    geometry = object_in(feature, "geometry")
    place = geometry.get("coordinates")
    if geometry.get("type") != "Point" or not isinstance(place, list) or len(place) < 2:
        return None
    longitude, latitude = (_whole_letters(repr(number)) for number in place[:2])
    return texts_of(feature) | {"longitude": longitude, "latitude": latitude}


def geoparquet_points(path: Path) -> pl.LazyFrame:
    """The rows of a Parquet file; where its metadata name a geometry, as longitude and latitude under those names.

    Raises BadInput for places in another projection, which only a library of maps can turn.
    """
    try:
        told = (pq.read_schema(path).metadata or {}).get(b"geo")
        rows = pl.scan_parquet(path)
        kinds = rows.collect_schema()
    except (OSError, pl.exceptions.PolarsError) as problem:
        raise BadInput(f"{path.name}: it cannot be read as Parquet. Save it again, or as CSV.") from problem
    if told is None:
        return rows
    try:
        geo = json.loads(told)
    except (ValueError, RecursionError) as problem:
        raise BadInput(f"{path.name}: what it says of its places is no JSON. Save it again, or as CSV.") from problem
    name = str(geo.get("primary_column", "geometry")) if isinstance(geo, dict) else "geometry"
    about = object_in(object_in(geo, "columns"), name)
    if _crs(about) not in DEGREES or name not in kinds:
        raise BadInput(
            f"{path.name}: its places are in {_crs(about) or 'a column that is not there'}; allowed longitude and "
            "latitude (EPSG:4326). Save it in these."
        )
    if kinds[name] != pl.Binary:
        return rows.rename({name: "position"})
    of = pl.col(name).bin
    whole = of.slice(1, 4).bin.reinterpret(dtype=pl.UInt32, endianness="little")
    is_point = (of.slice(0, 1) == b"\x01") & whole.is_in(WKB_POINTS)

    def number(start: int) -> pl.Expr:
        return pl.when(is_point).then(of.slice(start, 8).bin.reinterpret(dtype=pl.Float64, endianness="little"))

    return rows.with_columns(longitude=number(5), latitude=number(13)).drop(name)


def _crs(about: dict[str, Any]) -> str | None:
    """Authority and code of a GeoParquet column's projection; null where it is the standard's own, longitude first."""
    crs = about.get("crs")
    if not crs:
        return None
    found = crs.get("id", {}) if isinstance(crs, dict) else {}
    return f"{found.get('authority', 'a projection')}:{found.get('code', 'without a code')}"

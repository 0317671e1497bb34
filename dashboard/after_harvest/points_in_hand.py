"""What the screen for a monitor's points keeps between runs: the file, the points as read, the strips as cut."""

import shutil
import weakref
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp

import duckdb
import polars as pl
import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from analytics.errors import BadInput
from analytics.files.column_matches import Match, keep_match, kept_matches
from analytics.files.text_tables import read_all
from analytics.points import keeping, reading
from analytics.points.neighbours import neighbours_as_pairs
from analytics.points.passes import in_passes, pass_list
from analytics.points.point_columns import POINTS
from analytics.points.reading import PointFile
from analytics.points.simulated import POINTS_FILE, SEED, STRIPS_FILE, simulate
from analytics.points.strip_yields import FieldYields, yields_of
from analytics.points.strips import Strip, checked_strips, read_strips_file
from analytics.points.thresholds import AS_STARTED
from analytics.storage.database import read_table
from dashboard.after_harvest.files_in_hand import once, progress_bar
from dashboard.frame import on_file

FILE, READ, CUT, PASSES = "points_file", "points_read", "points_cut", "points_passes"
TYPED = "strips as typed"
STEPS = 16


class FileOnDisk:
    """An upload on disk, where it can be read piece by piece; gone with the session."""

    def __init__(self, upload: UploadedFile) -> None:
        folder = mkdtemp(prefix="standrow-points-")
        weakref.finalize(self, shutil.rmtree, folder, ignore_errors=True)
        self.path = Path(folder) / (Path(upload.name).name or "points.csv")
        self.path.write_bytes(upload.getbuffer())


def on_disk(upload: UploadedFile) -> Path:
    """Where an upload lies on disk; written once."""
    return once(f"{FILE}-{upload.name}", upload.file_id, lambda: FileOnDisk(upload)).path


def kept_point_matches() -> dict[str, Match]:
    """The matches of points on record, by the name under which they are kept."""
    found = on_file.read_records(lambda connection: kept_matches(connection, {POINTS.name: POINTS}))
    return {name: match for (name, _), match in found.items()}


def keep_point_match(name: str, match: Match, *, done_by: str) -> None:
    """Keep a match under a name. Raises BadInput and Refused."""
    on_file.write_records(lambda connection: keep_match(connection, name, match, done_by=done_by))


def points_of_file(path: Path, match: Match, *, is_utc: bool) -> PointFile:
    """The points as numbers, read anew only when the file or a choice changed. Raises BadInput."""
    place = st.empty()

    def make() -> PointFile:
        with progress_bar(place, 4) as step:
            return reading.read_points(path, match, is_utc=is_utc, step=step)

    return once(READ, (str(path), _under(match), is_utc), make)


def _under(match: Match) -> Hashable:
    return tuple(sorted(match.columns.items())), tuple(sorted(match.units.items()))


def read_strip_rows(upload: UploadedFile | None, typed: str, points: PointFile) -> tuple[Strip, ...]:
    """The strips of a file, or as typed with the names of the columns on top; none where nothing is given.

    Raises BadInput with every fault.
    """
    if upload is not None:
        return read_strips_file(on_disk(upload), points.origin)
    if not typed.strip():
        return ()
    contents = read_all([(f"{TYPED}.csv", typed.encode())])
    if not contents.tables:
        raise BadInput(f"{TYPED}: no table in it; allowed a row a strip, with the names of the columns on top.")
    return checked_strips(contents.tables[0], points.origin)


def cut_points(
    points: PointFile,
    wanted: tuple[Strip, ...],
    thresholds: Mapping[str, float],
    *,
    delay_s: float | None,
    certified_kg: float | None,
    hours_from_utc: float,
) -> FieldYields:
    """The yields of the strips, worked out anew only when something changed. Raises BadInput."""
    place = st.empty()

    def make() -> FieldYields:
        with progress_bar(place, STEPS) as step:
            return yields_of(
                points,
                wanted,
                thresholds,
                delay_s=delay_s,
                certified_kg=certified_kg,
                hours_from_utc=hours_from_utc,
                step=step,
            )

    under = (points.fingerprint, id(points), wanted, tuple(thresholds.items()), delay_s, certified_kg, hours_from_utc)
    return once(CUT, under, make)


def listed_passes(points: PointFile) -> pl.DataFrame:
    """The passes of the file, as from pass_list."""

    def make() -> pl.DataFrame:
        return pass_list(in_passes(points, gap_s=AS_STARTED["gap_s"]), fewest_points=AS_STARTED["fewest_points"])

    return once(PASSES, (points.fingerprint, id(points)), make)


def certified_on_record(strip: Strip) -> float | None:
    """What the records hold of the strip's field over a certified scale, kg."""
    return on_file.read_records(
        lambda connection: keeping.certified_total(connection, crop_year=strip.crop_year, field=strip.field)
    )


def planned(found: FieldYields, allocation: str | None, *, with_hours: bool) -> keeping.StripsToKeep:
    """What keeping the strips would write. Raises Refused."""
    pairs = neighbours_as_pairs(found.strips)
    return on_file.read_records(
        lambda connection: keeping.plan_keeping(connection, found, pairs, allocation=allocation, with_hours=with_hours)
    )


def keep_strips_and_pairs(found: FieldYields, allocation: str | None, *, with_hours: bool, done_by: str) -> int:
    """Keep the strips and their pairs as one act; its number. Raises Refused."""
    pairs = neighbours_as_pairs(found.strips)

    def work(connection: duckdb.DuckDBPyConnection) -> int:
        to_keep = keeping.plan_keeping(connection, found, pairs, allocation=allocation, with_hours=with_hours)
        return keeping.keep_strips(connection, to_keep, done_by=done_by, source="screen")

    return on_file.write_records(work)


@st.cache_data(max_entries=1, show_spinner=False)
def example() -> dict[str, str]:
    """An invented field: the two files by name, as text, and under "certified" what its grain weighs, kg."""
    field = simulate(SEED)
    return {
        POINTS_FILE: field.points_csv,
        STRIPS_FILE: field.strips_csv,
        "certified": f"{field.certified_kg:.0f}",
    }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripsOnRecord:
    """What is left of a field's points in the records: monitor_strips with plots' method, and monitor_cells."""

    strips: pl.DataFrame
    cells: pl.DataFrame


def fields_on_record() -> list[tuple[int, str]]:
    """Crop years and fields with strips out of points, newest first."""
    rows = on_file.read_records(lambda connection: read_table(connection, "monitor_strips"))
    return sorted(rows.select("crop_year", "field").unique().iter_rows(), key=lambda one: (-one[0], one[1]))


def strips_on_record(crop_year: int, field: str) -> StripsOnRecord:
    """The strips of one field and crop year on record, with their thinned picture."""

    def work(connection: duckdb.DuckDBPyConnection) -> StripsOnRecord:
        here = (pl.col("crop_year") == crop_year) & (pl.col("field") == field)
        methods = read_table(connection, "plot_yield").join(
            read_table(connection, "plots").select("crop_year", "field", "plot", "method"),
            on=["crop_year", "field", "plot"],
        )
        strips = read_table(connection, "monitor_strips").filter(here)
        about = methods.select(
            "crop_year", "field", "plot", "method", "acres", "is_scaled", "scale_factor", "yield_bu_ac"
        )
        return StripsOnRecord(
            strips=strips.join(about, on=["crop_year", "field", "plot"]).sort("plot"),
            cells=read_table(connection, "monitor_cells").filter(here).sort("plot", "cell"),
        )

    return on_file.read_records(work)


def forget_points() -> None:
    """Let go of the points and of what was found in them."""
    for name in [name for name in st.session_state if str(name).startswith((FILE, READ, CUT, PASSES))]:
        st.session_state.pop(name, None)

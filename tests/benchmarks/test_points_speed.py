"""Points cut to strips beside the plain join of ranges that a database would do, in one run: ratios, and memory."""

import json
import resource
import subprocess
import sys
from pathlib import Path

import duckdb
import numpy as np
import polars as pl
import pytest

from analytics.points import reading
from analytics.points.cutting import MEMORY, cut
from analytics.points.outlines import Outline, from_start
from tests.benchmarks.test_exact_speed import seconds

ROOT = Path(__file__).resolve().parents[2]
STRIPS, WIDTH_M, LENGTH_M = 80, 18.0, 760.0


def points(many: int) -> pl.DataFrame:
    random = np.random.default_rng(1)
    east, north = random.uniform(0, 1600, many), random.uniform(0, 800, many)
    return pl.DataFrame({"number": np.arange(many, dtype=np.uint32), "east_m": east, "north_m": north})


def outlines() -> dict[int, Outline]:
    return {
        at: from_start((10 + at * 19.5, 20.0), heading_deg=0, length_m=LENGTH_M, width_m=WIDTH_M, where="strip")
        for at in range(STRIPS)
    }


def joined_by_range(rows: pl.DataFrame) -> pl.DataFrame:
    """What a database does with the same strips as ranges of east and north, which these are."""
    boxes = pl.DataFrame(
        [
            (at, 10 + at * 19.5 - WIDTH_M / 2, 10 + at * 19.5 + WIDTH_M / 2, 20.0, 20.0 + LENGTH_M)
            for at in range(STRIPS)
        ],
        schema=["strip", "west", "east", "south", "north"],
        orient="row",
    )
    connection = duckdb.connect(config={"memory_limit": MEMORY})
    connection.register("points", rows)
    connection.register("boxes", boxes)
    found = connection.sql(
        "select points.number, boxes.strip from points inner join boxes on east_m >= west and east_m < east "
        "and north_m >= south and north_m < north"
    ).pl()
    connection.close()
    return found


def timed(many: int) -> dict[str, float]:
    rows, strips = points(many), outlines()
    ours, found = seconds(lambda: cut(rows, strips), repeats=2)
    most_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    theirs, wanted = seconds(lambda: joined_by_range(rows), repeats=2)
    assert (
        found.sort("number").rows() == wanted.sort("number").rows() if many < 10**6 else found.height == wanted.height
    )
    return {"ratio": ours / theirs, "ours_s": ours, "most_mb": most_kb / 1000}


def test_points_are_cut_to_strips_within_one_and_a_half_times_a_plain_join_of_ranges():
    assert timed(300_000)["ratio"] < 1.5  # measured 0.6


@pytest.mark.slow
def test_five_million_points_are_cut_within_1_5_times_a_plain_join_and_a_gigabyte():
    """In a process of its own, so that its memory is that of the cut alone."""
    told = "import json; from tests.benchmarks.test_points_speed import timed; print(json.dumps(timed(5_000_000)))"
    got = json.loads(subprocess.check_output([sys.executable, "-c", told], text=True, cwd=ROOT))
    print(got)
    assert got["ratio"] < 1.5  # measured 0.4
    assert got["most_mb"] < 1000  # measured 400


@pytest.mark.slow
def test_a_million_points_are_read_within_six_times_the_plain_reading_of_the_file(tmp_path):
    many = 1_000_000
    random = np.random.default_rng(2)
    second = pl.datetime_range(pl.datetime(2025, 9, 1), pl.datetime(2025, 9, 30), "1s", eager=True).head(many)
    file = tmp_path / "points.csv"
    pl.DataFrame(
        {
            "time": second,
            "longitude": -107 + random.uniform(0, 0.02, many),
            "latitude": 52 + random.uniform(0, 0.02, many),
            "flow (lb/s)": random.uniform(5, 15, many),
            "moisture": random.uniform(7, 9, many),
            "distance (ft)": random.uniform(5, 7, many),
        }
    ).write_csv(file)
    match = reading.guess(file)
    ours, found = seconds(lambda: reading.read_points(file, match), repeats=2)
    theirs, _ = seconds(lambda: pl.read_csv(file, try_parse_dates=True), repeats=2)
    print({"ours_s": ours, "plain_s": theirs})
    assert found.points.height == many
    assert ours < 6 * theirs

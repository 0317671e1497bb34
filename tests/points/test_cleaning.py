"""Points cut to strips and cleaned as R does it (published/points.R): PROJ and GEOS, and the steps written out."""

import numpy as np
import polars as pl
import pytest

from analytics.points.cleaning import OVERLAP, STEPS, clean
from analytics.points.cutting import cut
from analytics.points.metres import Origin
from analytics.points.outlines import from_corners
from analytics.points.thresholds import AS_STARTED
from tests.published.loader import agreed, published

GROUND, CLEANED = published("points_on_the_ground"), published("points_cleaned")


@pytest.mark.parametrize("case", GROUND["data"]["ground"])
def test_metres_agree_with_a_transverse_mercator_to_a_millimetre(case):
    origin = Origin(longitude=case["origin"][0], latitude=case["origin"][1])
    east, north = origin.metres(np.array(case["longitude"]), np.array(case["latitude"]))
    off = np.hypot(east - case["east"], north - case["north"]).max()
    assert off == agreed(GROUND["expected"]["metres"])
    back = [origin.degrees(*place) for place in zip(east, north, strict=True)]
    assert np.array(back) == pytest.approx(np.column_stack([case["longitude"], case["latitude"]]), abs=1e-9)


def test_points_lie_in_the_strips_in_which_a_library_of_shapes_finds_them():
    data = GROUND["data"]
    outlines = {at: from_corners(corners, f"{at}") for at, corners in enumerate(data["outlines"])}
    points = pl.DataFrame({"east_m": data["east"], "north_m": data["north"]}).with_row_index("number")
    found = points.join(cut(points, outlines), on="number", how="left").sort("number")["strip"].fill_null(-1)
    assert found.to_list() == GROUND["expected"]["strip"]["value"]
    assert found.n_unique() == 5
    assert [outline.area_m2 for outline in outlines.values()] == agreed(GROUND["expected"]["area"])


def test_a_point_on_the_side_of_two_strips_is_in_one():
    outlines = {
        at: from_corners([(9 * at, 0), (9 * at + 9, 0), (9 * at + 9, 300), (9 * at, 300)], "A") for at in range(4)
    }
    places = [(east, north) for east in (0, 9, 18, 27, 36) for north in np.linspace(0, 300, 61)]
    points = pl.DataFrame(places, schema=["east_m", "north_m"], orient="row").with_row_index("number")
    found = cut(points, outlines)
    assert found["number"].n_unique() == found.height
    assert set(
        points.filter(pl.col("east_m").is_in([9, 18, 27]), pl.col("north_m").is_between(1, 299))["number"]
    ) <= set(found["number"])


def cleaned_as_in_r() -> pl.DataFrame:
    data = CLEANED["data"]
    points = pl.DataFrame({name: values for name, values in data.items() if name != "thresholds"}, strict=False).select(
        pl.int_range(pl.len(), dtype=pl.UInt32).alias("number"),
        "seconds",
        pl.col("east").alias("east_m"),
        pl.col("north").alias("north_m"),
        pl.col("lasted").alias("lasted_s"),
        pl.col("distance").alias("distance_m"),
        pl.col("speed").alias("speed_m_s"),
        "kg",
        pl.col("flow").alias("kg_s"),
        pl.col("moisture").alias("grain_moisture_pct"),
        pl.col("up").alias("header_up"),
        "pass",
        pl.col("into").alias("into_m"),
        pl.col("left").alias("left_m"),
        pl.col("strip").cast(pl.Int32),
        "method",
        pl.when(pl.col("strip") == 0).then(9.0).otherwise(12.0).alias("cut_width_m"),
    )
    outlines = {
        0: from_corners([(0, 0), (18, 0), (18, 200), (0, 200)], "a"),
        1: from_corners([(18, 0), (42, 0), (42, 200), (18, 200)], "b"),
    }
    return clean(points, outlines, AS_STARTED | data["thresholds"])


def test_each_step_takes_out_what_it_takes_out_in_r():
    got = cleaned_as_in_r()
    counts = dict(got.group_by("removed_by").len().iter_rows())
    assert [counts.get(step, 0) for step in STEPS if step != OVERLAP] == agreed(CLEANED["expected"]["steps"])
    assert counts[None] == agreed(CLEANED["expected"]["kept"])
    kept = got.filter(pl.col("removed_by").is_null()).sort("strip")
    by_strip = kept.group_by("strip", maintain_order=True).agg(
        pl.col("kg").sum() / (pl.col("distance_m") * pl.col("cut_width_m")).sum() * 10_000
    )
    assert by_strip["kg"].to_list() == agreed(CLEANED["expected"]["yield"])


def test_a_pass_over_ground_that_was_cut_is_left_out():
    """Three passes of 9 m: the third lies 3 m beside the second, so a third of its cut was new."""
    rows = []
    for number, east in enumerate((4.5, 13.5, 16.5), 1):
        for at in range(100):
            rows.append((number, 1000.0 * number + at, east, 2.0 * at + 1))
    points = pl.DataFrame(rows, schema=["pass", "seconds", "east_m", "north_m"], orient="row").with_columns(
        pl.lit(1.0).alias("lasted_s"),
        pl.lit(2.0).alias("distance_m"),
        pl.lit(2.0).alias("speed_m_s"),
        pl.lit(3.6).alias("kg"),
        pl.lit(3.6).alias("kg_s"),
        pl.lit(None, dtype=pl.Float64).alias("grain_moisture_pct"),
        pl.lit(None, dtype=pl.Boolean).alias("header_up"),
        pl.lit(50.0).alias("into_m"),
        pl.lit(50.0).alias("left_m"),
        pl.lit(0, dtype=pl.Int32).alias("strip"),
        pl.lit("standing").alias("method"),
        pl.lit(9.0).alias("cut_width_m"),
    )
    got = clean(points, {0: from_corners([(0, 0), (21, 0), (21, 200), (0, 200)], "a")}, AS_STARTED)
    assert set(got.filter(pl.col("removed_by") == OVERLAP)["pass"]) == {3}
    assert got.filter(pl.col("pass") == 3)["new_share"].unique().to_list() == [pytest.approx(1 / 3)]

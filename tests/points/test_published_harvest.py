"""A published harvest as a file of points: 500 pieces of one field, all treated alike, each cut and weighed.

W. B. Mercer and A. D. Hall 1911, Journal of Agricultural Science 4:107-132, as carried by R's spData (licence CC0 1.0);
values by R's sf (published/points.R). The pieces stand for points: a pass is a column of twenty of them.
"""

from pathlib import Path

import polars as pl
import pytest

from analytics.points import reading
from analytics.points.neighbours import cut_alike, neighbours_as_pairs
from analytics.points.strip_yields import FieldYields, yields_of
from analytics.points.strips import read_strips_file
from analytics.points.thresholds import AS_STARTED
from analytics.trade.units import KG_PER_POUND
from tests.published.loader import agreed, published

WHEAT = published("wheat_cut_alike")
NOTHING_OUT = AS_STARTED | {"headland_m": 0.0, "start_m": 0.0, "end_m": 0.0, "outlier_sd": 100.0}


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> FieldYields:
    folder: Path = tmp_path_factory.mktemp("wheat")
    data = WHEAT["data"]
    wide, long = data["piece"]
    pieces = pl.DataFrame({"East (m)": data["east"], "North (m)": data["north"], "Weight (lb)": data["pounds"]})
    driven = pieces.sort("East (m)", "North (m)").with_columns(
        pl.lit(long).alias("Distance (m)"), pl.col("East (m)").rank("dense").alias("Pass")
    )
    driven.write_csv(folder / "points.csv")
    rows = [  # records begin in 1980, so not the year of the paper
        f"2010,Wheat,{at:02d},standing,{wide},{'; '.join(f'{east} {north}' for east, north in corners)}"
        for at, corners in enumerate(data["strips"], 1)
    ]
    (folder / "strips.csv").write_text("\n".join(["crop_year,field,plot,method,cut_width_m,corners", *rows]))
    points = reading.read_points(folder / "points.csv", reading.guess(folder / "points.csv"))
    strips = read_strips_file(folder / "strips.csv", points.origin)
    return yields_of(points, strips, NOTHING_OUT, certified_kg=sum(data["pounds"]) * KG_PER_POUND)


def test_all_that_was_weighed_is_read_in_kilograms(found: FieldYields) -> None:
    assert found.field_monitor_kg / KG_PER_POUND == agreed(WHEAT["expected"]["pounds"] | {"tolerance": 1e-7})
    assert [one.points for one in found.strips] == [40] * 12


def test_each_strip_yields_what_was_weighed_on_it(found: FieldYields) -> None:
    assert [one.kg_ha for one in found.strips] == agreed(WHEAT["expected"]["yield"])


def test_neighbours_cut_alike_lie_as_far_apart_as_in_the_paper(found: FieldYields) -> None:
    alike = cut_alike(found.strips, neighbours_as_pairs(found.strips))
    assert len(alike.differences_kg_ha) == 11
    assert alike.spread_kg_ha == agreed(WHEAT["expected"]["apart"])

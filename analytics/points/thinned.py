"""A few hundred marks that show the points of strips: pieces of passes, each with its yield or what took it out."""

import polars as pl

from analytics.points.strip_yields import FieldYields

CELLS_A_STRIP = 120  # so many are told apart on a screen, and take a few kilobytes in the records
SHORTEST_M = 12.0


def cells_of(found: FieldYields) -> pl.DataFrame:
    """Pieces of passes, in the order of their strips: columns plot, cell (from 1), east_m, north_m, kg_ha (wet, as the
    monitor read it; null where nothing is left), removed_by (what took out most of it, null where something is left).
    """
    frames = []
    names = {one.strip.plot: one for one in found.strips}
    places = found.points.partition_by("strip", as_dict=True)
    for strip, rows in sorted(places.items()):
        plot = found.plots[int(str(strip[0]))]
        one = names[plot]
        pieces = rows["piece"].n_unique()
        length = rows.select(pl.col("along_m").max() - pl.col("along_m").min()).item()
        size = max(SHORTEST_M, length * pieces / CELLS_A_STRIP)
        is_kept = pl.col("removed_by").is_null()
        factor = 1.0 if one.scale_factor is None else one.scale_factor
        cells = (
            rows.group_by("piece", (pl.col("along_m") / size).floor().alias("place"))
            .agg(
                pl.col("east_m").mean().round(1),
                pl.col("north_m").mean().round(1),
                (pl.col("kg").filter(is_kept).sum() / pl.col("distance_m").cast(pl.Float64).filter(is_kept).sum())
                .truediv(one.strip.cut_width_m * factor / 10_000)
                .round(0)
                .alias("kg_ha"),
                pl.col("removed_by").drop_nulls().mode().sort().first().cast(pl.String).alias("most"),
                is_kept.any().alias("is_kept"),
            )
            .sort("piece", "place")
        )
        frames.append(
            cells.select(
                pl.lit(plot).alias("plot"),
                pl.int_range(1, pl.len() + 1).alias("cell"),
                "east_m",
                "north_m",
                pl.when("is_kept").then("kg_ha").alias("kg_ha"),
                pl.when(~pl.col("is_kept")).then("most").alias("removed_by"),
            )
        )
    return pl.concat(frames)

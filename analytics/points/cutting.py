"""Which points lie in which strip."""

from collections.abc import Mapping, Sequence

import duckdb
import numpy as np
import polars as pl

from analytics.points.outlines import Corner, Outline
from analytics.storage.sql_texts import query_text

CELL_M = 16.0  # squares in which strips are looked up; fine enough that few points are asked about a strip beside
MEMORY = "600MB"


def cut(points: pl.DataFrame, outlines: Mapping[int, Outline]) -> pl.DataFrame:
    """One row per point inside an outline: number, as in `points`, and strip; a point on a common side is in one.

    points : columns number, east_m, north_m
    outlines : by number of the strip; they may run into each other by a metre, and then the first has the point
    """
    cells = strip_cells(outlines)
    connection = duckdb.connect(config={"memory_limit": MEMORY, "autoinstall_known_extensions": False})
    try:
        connection.register("points", points.select("number", "east_m", "north_m"))
        connection.register("strip_cells", cells)
        found: pl.DataFrame = connection.sql(query_text("cut_points"), params={"cell_m": CELL_M}).pl()
    finally:
        connection.close()
    if found["number"].n_unique() < found.height:
        found = found.sort("number", "strip").unique("number", keep="first", maintain_order=True)
    return found


def strip_cells(outlines: Mapping[int, Outline]) -> pl.DataFrame:
    """The squares of CELL_M that each outline touches: a row a square, with the outline's four sides.

    is_whole : the square lies inside the outline with all of it, so that no side need be asked
    """
    frames = []
    for strip, outline in outlines.items():
        sides = _sides(outline.corners)
        corners = np.array(outline.corners)
        low, high = np.floor(corners.min(axis=0) / CELL_M), np.floor(corners.max(axis=0) / CELL_M)
        east, north = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1))
        offs = [_off(outline.corners, place, east.ravel(), north.ravel()) for place in range(4)]
        is_near = np.all([off[1] >= 0 for off in offs], axis=0)  # of no side does all of the square lie outside
        is_whole = np.all([off[0] > 0 for off in offs], axis=0)
        frames.append(
            pl.DataFrame(
                {
                    "strip": pl.Series(np.full(is_near.sum(), strip), dtype=pl.Int32),
                    "cell_east": east.ravel()[is_near].astype(np.int32),
                    "cell_north": north.ravel()[is_near].astype(np.int32),
                    "is_whole": is_whole[is_near],
                }
            ).with_columns(pl.lit(value).alias(name) for name, value in sides.items())
        )
    return pl.concat(frames)


def _sides(corners: Sequence[Corner]) -> dict[str, float | bool]:
    """Each side from its lower end (the western one where both are as low), and on which hand the strip lies."""
    found: dict[str, float | bool] = {}
    for place in range(4):
        start, end = corners[place], corners[(place + 1) % 4]
        is_turned = (end[1], end[0]) < (start[1], start[0])
        low, high = (end, start) if is_turned else (start, end)
        found |= {
            f"from_east_{place + 1}": low[0],
            f"from_north_{place + 1}": low[1],
            f"east_{place + 1}": high[0] - low[0],
            f"north_{place + 1}": high[1] - low[1],
            f"is_left_{place + 1}": not is_turned,  # corners go against the clock
        }
    return found


def _off(corners: Sequence[Corner], place: int, east: np.ndarray, north: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far inside a side the corners of squares lie: the least and the most of the four, above 0 inside."""
    start, end = corners[place], corners[(place + 1) % 4]
    offs = [
        (end[0] - start[0]) * ((north + up) * CELL_M - start[1])
        - (end[1] - start[1]) * ((east + aside) * CELL_M - start[0])
        for up in (0, 1)
        for aside in (0, 1)
    ]
    return np.min(offs, axis=0), np.max(offs, axis=0)

"""An invented field whose truth is known: what was put in is what has to come out again.

A combine drives up and down over twelve strips, two passes each, standing and windrowed. Its monitor knows of grain
only after a delay, smears it, weighs too heavy, reckons with the header's width everywhere, and now and then tells
nonsense. All of it is made from a seed; nothing of it is anybody's field.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.files.new_files import write_new
from analytics.points.metres import Origin
from analytics.trade.units import KG_PER_POUND, M_PER_FOOT

ORIGIN = Origin(longitude=-107.25, latitude=52.61)
METHODS = "SWWSSWWSSWWS"  # from left to right: neighbours make six pairs, and five times two lie cut alike
CUT_M = {"S": 40 * M_PER_FOOT, "W": 30 * M_PER_FOOT}
LENGTH_M = 560.0
CLEAN_UP = 3  # the strip that is wider than two cuts, so that a third pass takes what is left
CLEAN_UP_SHARE = 0.4  # of a cut
ENDS_M = 15.0  # about what the cleaning leaves out at both ends
SPEED_M_S = {"S": 1.9, "W": 2.2}
MOISTURE = {"S": 8.4, "W": 7.7}
DOCKAGE = {"S": 1.6, "W": 1.9}
TURN_S = 25
STARTED = datetime(2025, 9, 14, 17, 5)  # UTC; the clock of the farm is six hours behind
HOURS_FROM_UTC = -6.0
SEED = 20  # of the example
POINTS_FILE, STRIPS_FILE = "monitor points.csv", "strips.csv"

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SimulatedField:
    """The files as a grower would have them, and the truth behind them.

    difference_kg_ha : standing minus windrowed, put in everywhere
    strip_kg_ha : the true wet yield of each strip, by plot; middle_kg_ha : without ENDS_M at both ends
    delay_s : from the knife to the middle of what the sensor sees of it
    reads_heavy : what the monitor shows for 1 kg
    certified_kg : what all the grain of the field weighs
    """

    points_csv: str
    strips_csv: str
    difference_kg_ha: float
    strip_kg_ha: dict[str, float]
    middle_kg_ha: dict[str, float]
    delay_s: float
    reads_heavy: float
    certified_kg: float

    def write(self, folder: Path) -> tuple[Path, ...]:
        """Write both files into a folder, made if need be. Raises BadInput and Refused as write_new does."""
        return write_new(folder, {POINTS_FILE: self.points_csv.encode(), STRIPS_FILE: self.strips_csv.encode()})


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pass:
    """One pass: its middle across the field, how much of a cut is new ground, and the way it goes."""

    plot: int
    method: str
    middle: float
    new_share: float
    is_north: bool


def simulate(
    seed: int, *, difference_kg_ha: float = 90.0, delay_s: float = 11.0, reads_heavy: float = 1.07
) -> SimulatedField:
    """The field of a seed."""
    random = np.random.default_rng(seed)
    edges, passes = _strips_and_passes()
    ground = _ground(random)

    def grows(east: Array, north: Array, method: str) -> Array:
        """Wet yield in each place, kg/ha."""
        return 2250 * (1 + ground(east, north)) + (difference_kg_ha if method == "S" else 0.0)

    rows = pl.concat([_driven(one, grows) for one in passes])
    entering = rows["entering"].to_numpy()
    arriving = _through_the_combine(entering, delay_s)
    certified_kg = round(float(entering.sum()))
    table = _with_faults(_as_logged(rows, arriving * reads_heavy, random), random)

    def grew(ends_m: float) -> dict[str, float]:
        along = np.linspace(ends_m, LENGTH_M - ends_m, 300)
        across = [np.linspace(edges[at], edges[at + 1], 40) for at in range(len(METHODS))]
        return {
            _plot(at): float(grows(*np.meshgrid(across[at], along), method).mean()) for at, method in enumerate(METHODS)
        }

    return SimulatedField(
        points_csv=table.write_csv(),
        strips_csv=_strips_csv(edges),
        difference_kg_ha=difference_kg_ha,
        strip_kg_ha=grew(0.0),
        middle_kg_ha=grew(ENDS_M),
        delay_s=delay_s,
        reads_heavy=reads_heavy,
        certified_kg=certified_kg,
    )


def _plot(at: int) -> str:
    return f"strip {at + 1:02d}"


def _strips_and_passes() -> tuple[list[float], list[_Pass]]:
    edges = [0.0]
    passes: list[_Pass] = []
    for at, method in enumerate(METHODS):
        width, left = CUT_M[method], edges[-1]
        middles = [(left + width / 2, 1.0), (left + 1.5 * width, 1.0)]
        if at == CLEAN_UP:
            middles.append((left + (1.5 + CLEAN_UP_SHARE) * width, CLEAN_UP_SHARE))
        for middle, share in middles:
            is_north = len(passes) % 2 == 0
            passes.append(_Pass(plot=at, method=method, middle=middle, new_share=share, is_north=is_north))
        edges.append(left + width * sum(share for _, share in middles))
    return edges, passes


def _ground(random: np.random.Generator) -> Callable[[Array, Array], Array]:
    """Good and poor places: hills of some 30 to 90 m, about 12 % either way."""
    middles = np.column_stack([random.uniform(-20, 300, 70), random.uniform(-30, LENGTH_M + 30, 70)])
    sizes, heights = random.uniform(25, 70, 70), random.normal(0, 0.10, 70)

    def share(east: Array, north: Array) -> Array:
        found = np.zeros_like(east)
        for (x, y), size, height in zip(middles, sizes, heights, strict=True):
            found += height * np.exp(-((east - x) ** 2 + (north - y) ** 2) / (2 * size**2))
        return found

    return share


def _driven(one: _Pass, grows: Callable[[Array, Array, str], Array]) -> pl.DataFrame:
    """A pass and the turn after it, a row a second: place, header, and grain cut in that second."""
    speed = SPEED_M_S[one.method]
    way = np.arange(0, LENGTH_M, speed)
    north = way if one.is_north else LENGTH_M - way
    east = np.full_like(north, one.middle)
    ground = speed * CUT_M[one.method] * one.new_share / 10_000
    turn = np.linspace(0, np.pi, TURN_S)
    beyond = 14 * np.sin(turn)
    turn_north = LENGTH_M + beyond if one.is_north else -beyond
    return pl.DataFrame(
        {
            "east": np.concatenate([east, one.middle + 5 * (1 - np.cos(turn))]),
            "north": np.concatenate([north, turn_north]),
            "is_up": np.concatenate([np.zeros(len(way), dtype=bool), np.ones(TURN_S, dtype=bool)]),
            "entering": np.concatenate([grows(east, north, one.method) * ground, np.zeros(TURN_S)]),
            "moisture": np.full(len(way) + TURN_S, MOISTURE[one.method]),
        }
    )


def _through_the_combine(entering: Array, delay_s: float) -> Array:
    """What the sensor sees each second: later, and smeared over some seconds around the delay."""
    seconds = np.arange(0, 60.0)
    share = np.exp(-((seconds - delay_s) ** 2) / (2 * 1.8**2))
    return np.convolve(entering, share / share.sum())[: len(entering)]


def _as_logged(rows: pl.DataFrame, flow: Array, random: np.random.Generator) -> pl.DataFrame:
    """Names and units as a file of some monitor might have them."""
    shaky = random.normal(0, 0.15, (2, rows.height))
    east, north = rows["east"].to_numpy() + shaky[0], rows["north"].to_numpy() + shaky[1]
    places = [ORIGIN.degrees(0.0, 0.0), ORIGIN.degrees(1000.0, 0.0), ORIGIN.degrees(0.0, 1000.0)]
    # On a few hundred metres degrees are as good as straight: a thousandth of a metre off.
    longitude = (
        places[0][0] + east * (places[1][0] - places[0][0]) / 1000 + north * (places[2][0] - places[0][0]) / 1000
    )
    latitude = places[0][1] + east * (places[1][1] - places[0][1]) / 1000 + north * (places[2][1] - places[0][1]) / 1000
    noisy = flow * random.normal(1, 0.05, rows.height) / KG_PER_POUND
    step = np.hypot(np.diff(rows["east"].to_numpy(), prepend=np.nan), np.diff(rows["north"].to_numpy(), prepend=np.nan))
    times = [f"{STARTED + timedelta(seconds=at):%Y-%m-%d %H:%M:%S}" for at in range(rows.height)]
    return pl.DataFrame(
        {
            "Time (UTC)": times,
            "Longitude": np.char.mod("%.8f", longitude),
            "Latitude": np.char.mod("%.8f", latitude),
            "Flow (lb/s)": np.char.mod("%.3f", noisy),
            "Moisture (%)": np.char.mod("%.2f", rows["moisture"].to_numpy() + random.normal(0, 0.12, rows.height)),
            "Distance (ft)": np.char.mod("%.2f", np.nan_to_num(step, nan=2.0) / M_PER_FOOT),
            "Swath width (ft)": ["40.0"] * rows.height,
            "Header": ["up" if is_up else "down" for is_up in rows["is_up"]],
        }
    )


def _with_faults(table: pl.DataFrame, random: np.random.Generator) -> pl.DataFrame:
    """Nonsense in a few hundred places: flow of nothing and of too much, moisture of nobody's grain, blank cells."""
    size = table.height
    kind = random.choice(["", "none", "much", "moist", "blank"], size, p=[0.987, 0.004, 0.002, 0.004, 0.003])
    return (
        table.with_columns(pl.Series("kind", kind))
        .with_columns(
            pl.when(pl.col("kind") == "none")
            .then(pl.lit("0.000"))
            .when(pl.col("kind") == "much")
            .then(pl.lit("48.500"))
            .otherwise("Flow (lb/s)")
            .alias("Flow (lb/s)"),
            pl.when(pl.col("kind") == "moist").then(pl.lit("31.00")).otherwise("Moisture (%)").alias("Moisture (%)"),
            pl.when(pl.col("kind") == "blank").then(pl.lit("")).otherwise("Longitude").alias("Longitude"),
        )
        .drop("kind")
    )


def _strips_csv(edges: Sequence[float]) -> str:
    rows = []
    for at, method in enumerate(METHODS):
        longitude, latitude = ORIGIN.degrees((edges[at] + edges[at + 1]) / 2, 0.0)
        rows.append(
            {
                "crop_year": STARTED.year,
                "field": "Creek flat",
                "plot": _plot(at),
                "method": "standing" if method == "S" else "windrowed",
                "cut_width_m": round(CUT_M[method], 3),
                "start": f"{longitude:.8f} {latitude:.8f}",
                "heading_deg": 0,
                "length_m": LENGTH_M,
                "width_m": round(edges[at + 1] - edges[at], 3),
                "dockage_pct": DOCKAGE[method],
            }
        )
    return pl.DataFrame(rows).write_csv()

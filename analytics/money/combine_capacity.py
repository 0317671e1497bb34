"""How many acres one combine can take, by method, from the farm's own pace."""

from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.records.columns import METHODS
from analytics.storage.database import read_query
from analytics.trade.field_capacity import acres_taken
from analytics.trade.numbers_as_text import exact

HOURS_A_DAY, USUAL_DAYS = 9.0, 10.0  # until somebody types other numbers; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPace:
    """What a method's combining came to on this farm, acres an hour.

    low, high : the slowest and the fastest crop year; the same where there is only one
    suitable_days : mean over crop years of the days from the first to the last combining of the method, both counted,
        without those with rain or snow on record
    """

    method: str
    years: tuple[int, ...]
    acres_per_hour: float
    low: float
    high: float
    suitable_days: float | None

    @property
    def first_days(self) -> float:
        """Whole suitable days to reckon with until somebody types others."""
        return USUAL_DAYS if self.suitable_days is None else max(float(round(self.suitable_days)), 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MachinesOnRecord:
    """Paces of the methods that have hours, standing first; hours of the windrower per 100 acres, None without any."""

    paces: tuple[OwnPace, ...]
    windrower_hours_per_100_ac: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AcresTaken:
    """Acres that one combine takes at the pace of all years, the slowest and the fastest one."""

    acres: float
    low: float
    high: float


def machines_on_record(connection: duckdb.DuckDBPyConnection) -> MachinesOnRecord:
    """What combining and windrowing came to, plots weighted by their acres within a year and over all."""
    rows = read_query(connection, "combine_paces")
    windrowed = rows.drop_nulls("windrowing_hours")
    hours, acres = float(windrowed["windrowing_hours"].sum()), float(windrowed["windrowed_acres"].sum())
    return MachinesOnRecord(
        paces=tuple(_pace(method, of) for method in METHODS if (of := rows.filter(method=method)).height),
        windrower_hours_per_100_ac=100 * hours / acres if acres else None,
    )


def _pace(method: str, rows: pl.DataFrame) -> OwnPace:
    yearly = (rows["acres"] / rows["combining_hours"]).to_list()
    days = rows["suitable_days"].drop_nulls().to_list()
    return OwnPace(
        method=method,
        years=tuple(rows["crop_year"]),
        acres_per_hour=float(rows["acres"].sum()) / float(rows["combining_hours"].sum()),
        low=min(yearly),
        high=max(yearly),
        suitable_days=sum(days) / len(days) if days else None,
    )


def one_combine(pace: OwnPace, *, hours_a_day: float, days: float) -> AcresTaken:
    """What one combine takes. Raises BadInput for hours beyond a day, or days beyond a season."""
    for name, value, most in (("hours a day", hours_a_day, 24), ("suitable days", days, 120)):
        if not 0 < value <= most:
            raise BadInput(f"{name}: {exact(value)} given; allowed above 0 to {most}.")
    acres, low, high = (
        acres_taken(acres_per_hour=one, hours_a_day=hours_a_day, days=days)
        for one in (pace.acres_per_hour, pace.low, pace.high)
    )
    return AcresTaken(acres=acres, low=low, high=high)

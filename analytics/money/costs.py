"""What the methods cost: rates in force, the farm's own or defaults, and what they make of the pairs on record.

A cost on record always wins; a rate fills in what no paper says. Each default keeps its year and source.
"""

from dataclasses import dataclass, fields

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.records.form import LONGEST_NOTE
from analytics.records.grown_tables import PRICES
from analytics.records.own_tables import COST_ASSUMPTIONS
from analytics.statistics.results import Comparison
from analytics.storage.database import read_query, read_table
from analytics.storage.history import TableSave, save
from analytics.trade.budget import Change, NetDifference
from analytics.trade.numbers_as_text import exact
from analytics.trade.typed_text import NotReadable, read_number, read_whole_number
from analytics.trade.units import BUSHELS_PER_TONNE


@dataclass(frozen=True, slots=True, kw_only=True)
class CostRate:
    """One rate in force. `basis`: read, derived (partly from memory), from memory, assumed, or own rate."""

    item: str
    low: float
    middle: float
    high: float
    unit: str
    region: str
    year: int | None
    basis: str
    source: str
    is_own: bool

    @property
    def mark(self) -> str:
        """Where it comes from, short: "default, Manitoba 2020, read", "own rate, 2025"."""
        year = "" if self.year is None else f" {self.year}"
        return f"own rate{year}" if self.is_own else f"default, {self.region}{year}, {self.basis}"


def cost_rates(connection: duckdb.DuckDBPyConnection) -> dict[str, CostRate]:
    """Every cost item's rate in force, in the order of sql/views/11_cost_defaults.sql."""
    order = {item: place for place, item in enumerate(read_table(connection, "cost_defaults")["item"])}
    rates = [CostRate(**row) for row in read_table(connection, "cost_rates").iter_rows(named=True)]
    return {rate.item: rate for rate in sorted(rates, key=lambda rate: order[rate.item])}


def own_rate(
    item: str, *, low: str = "", middle: str, high: str = "", year: str = "", source: str = "", comma: str = ""
) -> pl.DataFrame:
    """One typed rate as a row of cost_assumptions. Raises BadInput saying what is allowed.

    comma : what the farm said of a comma before three digits
    """
    typed = {"low": low, "middle": middle, "high": high}
    numbers: dict[str, float | None] = {name: _rate(item, name, text, comma) for name, text in typed.items()}
    if numbers["middle"] is None:
        raise BadInput(f"{item}, rate: nothing given; allowed a number from 0 to 5000. Or go back to the default.")
    lowest, highest = numbers["low"], numbers["high"]
    if (lowest is not None and lowest > numbers["middle"]) or (highest is not None and highest < numbers["middle"]):
        raise BadInput(f"{item}: low {low}, rate {middle}, high {high} given; allowed low, rate, high in rising order.")
    words = source.strip() or "own rate, no source given"
    if len(words) > LONGEST_NOTE:
        raise BadInput(f"{item}, source: {len(words)} letters given; allowed up to {LONGEST_NOTE}.")
    row = {"item": item, **numbers, "year": _year(item, year), "source": words}
    return pl.DataFrame([row], schema=COST_ASSUMPTIONS.polars_schema())


def _rate(item: str, name: str, text: str, comma: str) -> float | None:
    if not text.strip():
        return None
    column = COST_ASSUMPTIONS.column(name)
    words = f"{item}, {'rate' if name == 'middle' else name}: {text!r} given"
    try:
        value = read_number(text, comma=comma)
    except NotReadable as problem:
        raise BadInput(f"{words}; {problem}. Allowed {column.allowed}.") from problem
    top = 100.0 if item == "wheel tracks" else column.high or 0.0
    if not 0 <= value <= top:
        raise BadInput(f"{words}; allowed a number from 0 to {top:g}.")
    return value


def _year(item: str, text: str) -> int | None:
    if not text.strip():
        return None
    try:
        year = read_whole_number(text)
    except NotReadable as problem:
        raise BadInput(f"{item}, year: {text!r} given; {problem}. Allowed a year such as 2025.") from problem
    if not 1980 <= year <= 2100:
        raise BadInput(f"{item}, year: {text!r} given; allowed 1980 to 2100.")
    return year


def keep_rates(connection: duckdb.DuckDBPyConnection, rows: pl.DataFrame, *, done_by: str) -> int:
    """Keep own rates, rows as from own_rate; the number of the act. Raises BadInput for an unknown item."""
    known = cost_rates(connection)
    for item in rows["item"]:
        if item not in known:
            raise BadInput(f"cost item: {item!r} given; allowed {', '.join(known)}.")
    change = TableSave(table=COST_ASSUMPTIONS, saved=rows, removed=rows.clear())
    return save(connection, [change], done_by=done_by, source="screen", why="own cost rates")


def back_to_defaults(connection: duckdb.DuckDBPyConnection, items: list[str], *, done_by: str) -> int:
    """Drop the own rates of these items, so that the defaults count again; the number of the act."""
    rows = read_table(connection, "cost_assumptions").filter(pl.col("item").is_in(items))
    change = TableSave(table=COST_ASSUMPTIONS, saved=rows.clear(), removed=rows)
    return save(connection, [change], done_by=done_by, source="screen", why="back to default cost rates")


# --- what the records say


def pair_weights(comparison: Comparison) -> pl.DataFrame:
    """How much each pair counts in the answer for these fields: crop_year, pair, weight; the weights sum up to 1.

    Pairs of one place share their field-year's weight. So a mean of any pair's figure with these weights rests on the
    very pairs that the comparison's own estimate rests on.
    """
    rows = [(pair.crop_year, pair.pair, pair.share) for pair in comparison.pair_differences if pair.in_these]
    return pl.DataFrame(rows, schema={"crop_year": pl.Int64, "pair": pl.String, "weight": pl.Float64}, orient="row")


def line_differences(connection: duckdb.DuckDBPyConnection, weights: pl.DataFrame) -> pl.DataFrame:
    """Each line of the partial budget by crop year: crop_year, line, kind, weight, difference (standing minus
    windrowed, $/ac; 0 where neither side had it).

    weights : as from pair_weights; the weight of a year is that of its pairs
    """
    rows = read_table(connection, "pair_money")
    every = weights.join(rows.select("line", "kind").unique(), how="cross").join(
        rows, on=["crop_year", "pair", "line", "kind"], how="left"
    )
    weighted = (pl.col("difference").fill_null(0) * pl.col("weight")).sum() / pl.col("weight").sum()
    return every.group_by("crop_year", "line", "kind").agg(weighted, pl.col("weight").sum()).sort("line", "crop_year")


def changes(lines: pl.DataFrame) -> list[Change]:
    """Each line over all field-years, $/ac; they add up to the estimate of net return on these fields.

    lines : as from line_differences; empty without a complete pair
    """
    found = lines.group_by("line", "kind").agg((pl.col("difference") * pl.col("weight")).sum())
    order = {"yield": 0, "grade": 1}
    named = sorted(found.iter_rows(), key=lambda row: (order.get(row[0], 2), row[0]))
    return [Change(name=line, kind=kind, dollars_ac=difference) for line, kind, difference in named]


def net_difference(returns: pl.DataFrame, weights: pl.DataFrame) -> NetDifference | None:
    """Net return over these pairs at any price and yield difference; None without a pair.

    returns : the view pair_returns; weights : as from pair_weights, of the comparison of net return
    """
    known = weights.join(returns, on=["crop_year", "pair"])
    if known.is_empty():
        return None
    parts = (part.name for part in fields(NetDifference))
    return NetDifference(**known.select((pl.col(part) * pl.col("weight")).sum() for part in parts).row(0, named=True))


def cost_sources(connection: duckdb.DuckDBPyConnection, plots: pl.DataFrame, weights: pl.DataFrame) -> pl.DataFrame:
    """How many plots of these pairs rest on which costs: cost_from, plots, default_items (those of any such plot).

    plots : the view plot_money; weights : as from pair_weights
    """
    known = plots.filter(pl.col("net_return_dollars_ac").is_not_null())
    paired = read_table(connection, "pair_plots").join(known, on=["crop_year", "field", "plot"])
    plots = paired.join(weights, on=["crop_year", "pair"], how="semi")
    defaults = pl.col("default_items").drop_nulls().unique().sort().str.join("; ")
    found = plots.group_by("cost_from").agg(pl.len().alias("plots"), defaults).sort("cost_from")
    return found.with_columns(pl.col("default_items").replace("", None))


@dataclass(frozen=True, slots=True, kw_only=True)
class LatestPrice:
    """The newest price of a grade of canola on record."""

    crop_year: int
    grade: str
    dollars_per_tonne: float


def canola_prices(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Prices of canola on record: crop_year, grade, dollars_per_tonne, newest first."""
    return read_query(connection, "crop_prices")


def latest_price(connection: duckdb.DuckDBPyConnection) -> LatestPrice | None:
    """The best grade's price in the newest year that has one; None without any price of canola."""
    prices = canola_prices(connection)
    return LatestPrice(**prices.row(0, named=True)) if prices.height else None


def price_doubt(dollars_per_tonne: float) -> str | None:
    """A question when a price per tonne looks like one per bushel, or is unusual; None when it does not.

    Raises BadInput outside what the records allow.
    """
    column = PRICES.column("dollars_per_tonne")
    low, high = column.low or 0.0, column.high or 0.0
    if not low < dollars_per_tonne <= high:
        allowed = f"above {exact(low)} to {exact(high)}"
        raise BadInput(f"price: {exact(dollars_per_tonne)} $/t given; allowed {allowed}. Type the price of a tonne.")
    usual_low, usual_high = column.usual_low or low, column.usual_high or high
    if usual_low <= dollars_per_tonne <= usual_high:
        return None
    per_tonne = dollars_per_tonne * BUSHELS_PER_TONNE
    if usual_low <= per_tonne <= usual_high:
        return (
            f"{exact(dollars_per_tonne)} $/t is very little. Is it a price per bushel? "
            f"{exact(dollars_per_tonne)} $/bu would be {per_tonne:.0f} $/t."
        )
    usual = f"{exact(usual_low)} to {exact(usual_high)}"
    return f"{exact(dollars_per_tonne)} $/t is unusual; usual is {usual}. Is it per tonne?"

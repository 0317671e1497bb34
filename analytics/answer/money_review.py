"""Everything the money screen and the sheet say, read from the records at once."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import duckdb
import polars as pl

from analytics.answer.review import compare_rows, reviewed
from analytics.errors import BadInput
from analytics.money import costs
from analytics.money.chances import chance_it_pays, chance_new_field
from analytics.pairs.compared_pairs import interval_cautions, pair_facts, rows_of_measures
from analytics.pairs.work_names import work_questions
from analytics.settings import Settings, read_settings
from analytics.statistics.results import Comparison
from analytics.storage.database import read_table
from analytics.trade.budget import (
    EVEN_MONEY,
    Assumption,
    BreakEvenPrice,
    Change,
    GradeStep,
    NetDifference,
    Swing,
    grade_step,
    what_matters_most,
)
from analytics.trade.measures import MEASURES

GRADE_ORDER = ("1", "2", "3", "Sample")


@dataclass(frozen=True, slots=True, kw_only=True)
class MoneyReview:
    """What the records say about money; None where they say nothing. Differences are standing minus windrowed.

    All of it rests on the pairs whose net return is known, averaged alike.
    net_return : comparison in $/ac
    yield_as_sold : comparison of the same pairs in bu/ac
    changes : lines of the partial budget, $/ac; they add up to net_return.these_fields.estimate
    plots : the view plot_money
    difference : net return at other prices and yield differences
    prices : canola prices on record, newest first: crop_year, grade, dollars_per_tonne
    sources : cost_from, plots, default_items
    line_years : mean of each line by crop year: crop_year, line, kind, difference
    chance_here, chance_ahead, chance_new_field : that standing gains, 0 to 1
    questions : about field work that may be charged twice
    """

    net_return: Comparison
    yield_as_sold: Comparison
    changes: list[Change]
    plots: pl.DataFrame
    difference: NetDifference | None
    rates: dict[str, costs.CostRate]
    price: costs.LatestPrice | None
    prices: pl.DataFrame
    sources: pl.DataFrame
    line_years: pl.DataFrame
    chance_here: float | None
    chance_ahead: float | None
    chance_new_field: float | None
    questions: tuple[str, ...]


def money_review(
    connection: duckdb.DuckDBPyConnection,
    known: Mapping[str, Comparison] | None = None,
    sold: pl.DataFrame | None = None,
    facts: pl.DataFrame | None = None,
) -> MoneyReview:
    """Read and compare.

    known : comparisons by measure that were made already, in the units of the record
    sold, facts : as from pair_rows for yield as sold and from pair_facts, where they were read already
    """
    facts = pair_facts(connection) if facts is None else facts
    if known is None or sold is None:
        rows = rows_of_measures(connection, "net_return", "yield_as_sold")
        sold = rows["yield_as_sold"]
    settings = read_settings(connection)
    if known is None:
        measure, intervals = MEASURES["net_return"], interval_cautions(connection)
        net_return = reviewed(rows["net_return"], facts, intervals, measure=measure, settings=settings)
    else:
        net_return = known["net_return"]
    weights, returns = costs.pair_weights(net_return), read_table(connection, "pair_returns")
    plots = read_table(connection, "plot_money")
    lines = costs.line_differences(connection, weights)
    changes = costs.changes(lines)
    return MoneyReview(
        net_return=net_return,
        yield_as_sold=_yields_of_the_same_pairs(sold, facts, returns, settings),
        changes=changes,
        plots=plots,
        difference=costs.net_difference(returns, weights),
        rates=costs.cost_rates(connection),
        price=costs.latest_price(connection),
        prices=costs.canola_prices(connection),
        sources=costs.cost_sources(connection, plots, weights),
        line_years=lines.select("crop_year", "line", "kind", "difference"),
        chance_here=chance_it_pays(net_return.these_fields),
        chance_ahead=chance_it_pays(net_return.years_to_come),
        chance_new_field=chance_new_field(net_return.fields_not_tried, level=net_return.level),
        questions=work_questions(connection, (change.name for change in changes if change.kind == "cost")),
    )


def _yields_of_the_same_pairs(
    sold: pl.DataFrame, facts: pl.DataFrame, returns: pl.DataFrame, settings: Settings
) -> Comparison:
    """Yield as sold over the pairs whose net return is known, and no others: one story from one set of pairs."""
    rows = sold.join(returns, on=["crop_year", "pair"], how="semi", maintain_order="left")
    return compare_rows(rows, facts, measure=MEASURES["yield_as_sold"], settings=settings)


def grade_steps(found: MoneyReview) -> list[tuple[str, GradeStep]]:
    """Each step between grades priced in the newest year, at the mean yield of both: ("No. 1 to No. 2", ...)."""
    if found.price is None or found.yield_as_sold.mean_standing is None or found.yield_as_sold.mean_windrowed is None:
        return []
    newest = found.prices.filter(pl.col("crop_year") == found.price.crop_year)
    by_grade = dict(newest.select("grade", "dollars_per_tonne").iter_rows())
    priced = [grade for grade in GRADE_ORDER if grade in by_grade]
    bushels = (found.yield_as_sold.mean_standing + found.yield_as_sold.mean_windrowed) / 2
    return [
        (
            f"{_grade(better)} to {_grade(poorer)}",
            grade_step(better_per_tonne=by_grade[better], poorer_per_tonne=by_grade[poorer], yield_bu_ac=bushels),
        )
        for better, poorer in pairwise(priced)
    ]


def _grade(name: str) -> str:
    return name if name == "Sample" else f"No. {name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Net difference at a price of one's choice, from the farm's own yield difference, grades and costs.

    yield_difference : of these fields, bu/ac as sold
    yield_low, yield_high : its range on these fields; None where there is none
    ahead_low, ahead_high : the range of the average for years to come, likewise
    net_ac : at the yield difference of these fields, $/ac
    """

    difference: NetDifference
    dollars_per_tonne: float
    yield_difference: float
    yield_low: float | None
    yield_high: float | None
    ahead_low: float | None
    ahead_high: float | None
    net_ac: float
    break_even_yield: float | None
    break_even_price: BreakEvenPrice

    def net_at(self, *, dollars_per_tonne: float, yield_difference: float) -> float:
        """Net difference at another price and yield difference, $/ac; costs by the acre and grades stay."""
        return self.difference.at(dollars_per_tonne=dollars_per_tonne, yield_difference_bu_ac=yield_difference)

    def yield_needed(self, dollars_per_tonne: float) -> float | None:
        """The yield difference that breaks even at that price, bu/ac; None when a bushel leaves nothing."""
        return self.difference.break_even_yield(dollars_per_tonne)


def outlook(found: MoneyReview, dollars_per_tonne: float) -> Outlook:
    """The farm's own differences at one price. Raises BadInput when no pair has a net return."""
    difference = found.difference
    if difference is None:
        raise BadInput("money: no pair has a net return on both sides; weights, grades and prices are needed.")
    here, ahead = found.yield_as_sold.these_fields, found.yield_as_sold.years_to_come
    return Outlook(
        difference=difference,
        dollars_per_tonne=dollars_per_tonne,
        yield_difference=difference.yield_difference_bu_ac,
        yield_low=here.told_low,
        yield_high=here.told_high,
        ahead_low=ahead.told_low,
        ahead_high=ahead.told_high,
        net_ac=difference.at(dollars_per_tonne=dollars_per_tonne),
        break_even_yield=difference.break_even_yield(dollars_per_tonne),
        break_even_price=difference.break_even_price(),
    )


def assumptions(found: MoneyReview, at: Outlook) -> list[Assumption]:
    """What the net difference rests on, each with its own range: intervals, prices and yearly means on record, else
    the range of the default. Two field-years too have an interval to move the yield difference through, a wide one.
    """
    here = found.yield_as_sold.these_fields
    one = [
        Assumption(
            name="yield difference",
            label="Yield difference",
            unit="bu/ac",
            low=at.yield_difference if here.low is None else here.low,
            middle=at.yield_difference,
            high=at.yield_difference if here.high is None else here.high,
            basis="interval of these fields" if here.low is not None else "no interval: too few field-years",
        )
    ]
    known = found.prices.filter(pl.col("grade") == found.price.grade) if found.price else found.prices
    prices = [at.dollars_per_tonne, *known["dollars_per_tonne"].to_list()]
    one.append(
        Assumption(
            name="price",
            label="Price",
            unit="$/t",
            low=min(prices),
            middle=at.dollars_per_tonne,
            high=max(prices),
            basis="lowest and highest price on record",
        )
    )
    return [*one, *(_line(found, change) for change in found.changes if change.name != "yield")]


def _line(found: MoneyReview, change: Change) -> Assumption:
    """A line by its lowest and highest year; one that never changed, by the range of its rate."""
    years = found.line_years.filter(pl.col("line") == change.name)["difference"].to_list()
    low, high, basis = min([change.dollars_ac, *years]), max([change.dollars_ac, *years]), "lowest and highest year"
    rate = found.rates.get(change.name)
    if high - low < EVEN_MONEY and rate is not None and rate.middle > 0:
        ends = sorted(change.dollars_ac * end / rate.middle for end in (rate.low, rate.high))
        low, high, basis = ends[0], ends[1], rate.mark
    label = "Grade" if change.name == "grade" else f"Cost of {change.name}"
    return Assumption(
        name=change.name, label=label, unit="$/ac", low=low, middle=change.dollars_ac, high=high, basis=basis
    )


def swings(found: MoneyReview, at: Outlook) -> tuple[Swing, ...]:
    """Which assumption moves the net difference most; those that cannot move it are left out."""

    def answer(given: Mapping[str, float]) -> float:
        net = at.net_at(dollars_per_tonne=given["price"], yield_difference=given["yield difference"])
        for change in found.changes:
            if change.name in given:
                more = given[change.name] - change.dollars_ac
                net += more if change.kind == "revenue" else -more
        return net

    return tuple(swing for swing in what_matters_most(assumptions(found, at), answer) if swing.width >= EVEN_MONEY)

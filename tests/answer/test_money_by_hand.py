"""Money proved apart: ten farms worked in this file's own arithmetic, plot by plot from weights and bills, against what
the records, the outlook and the swings say. Every rate is above zero. Invented figures of a likely size.
"""

from dataclasses import dataclass, field, replace
from datetime import date
from math import isclose

import polars as pl
import pytest

from analytics.answer.money_review import money_review, outlook, swings
from analytics.money import costs
from analytics.money.buying import Purchase, buy
from analytics.records.tables import TABLES
from analytics.storage.history import TableSave, save
from analytics.trade.budget import partial_budget
from tests.prepared import begun

BUSHELS = 2204.6226218 / 50  # in a tonne: pounds in a tonne over pounds in a bushel
GRADES = {"1": 0.0, "2": 14.0, "3": 55.0}  # dollars a tonne below No. 1, in every year


@dataclass(frozen=True)
class Side:
    """One plot: one load, its grade slips, and bills by the acre. A sprayed one had a product and wheel tracks."""

    acres: float
    kg: float
    moisture: float
    dockage: float
    slips: tuple[str, ...] = ("1",)
    bills: dict[str, float] = field(default_factory=dict)
    is_sprayed: bool = False


@dataclass(frozen=True)
class Case:
    """Rates in force and, by crop year, the price of No. 1 and both sides."""

    rates: dict[str, tuple[float, float, float]]
    years: dict[int, tuple[float, Side, Side]]


def rates(windrowing, rolling, product, application, combining, tracks, drying, freight):
    middle = {
        "windrowing": windrowing,
        "rolling": rolling,
        "pre-harvest product": product,
        "application": application,
        "combining": combining,
        "wheel tracks": tracks,
        "drying": drying,
        "freight": freight,
    }
    return {item: (0.5 * rate, rate, 1.6 * rate) for item, rate in middle.items()}


SPRAYED = {"is_sprayed": True}
CASES = {
    "nothing on record, rates for all": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 1.5, 4, 12),
        {
            2024: (600, Side(80, 75_000, 11.5, 2.1, **SPRAYED), Side(78, 70_000, 9.2, 2.6)),
            2025: (640, Side(60, 61_000, 10.4, 1.4, **SPRAYED), Side(61, 59_500, 10.9, 1.9)),
        },
    ),
    "hauling on record for one side": Case(
        rates(13, 6, 20, 9, 35, 1, 3, 15),
        {
            2023: (700, Side(40, 44_000, 9.0, 1.0, ("1",), {"hauling": 11.0}), Side(41, 43_500, 8.5, 1.5)),
            2024: (600, Side(40, 38_000, 12.0, 1.2, ("2",), {"trucking": 9.0}), Side(41, 40_500, 11.5, 1.1)),
        },
    ),
    "drying on record where it was dried": Case(
        rates(12, 7, 24, 10, 33, 2, 5, 9),
        {
            2023: (
                650,
                Side(100, 98_000, 13.5, 2.0, ("1", "1", "2"), {"drying": 8.75}, is_sprayed=True),
                Side(98, 95_000, 9.9, 2.2, ("1", "2")),
            ),
            2025: (615, Side(52, 55_000, 12.6, 1.6), Side(50, 51_000, 12.2, 1.8, ("1", "3"))),
        },
    ),
    "rolled windrows, straight cut at another bill": Case(
        rates(14, 8, 21, 9, 36, 3, 2, 14),
        {
            2022: (
                810,
                Side(70, 66_000, 10.2, 2.4, ("2",), {"straight cutting": 38.0}, is_sprayed=True),
                Side(70, 63_000, 10.1, 2.8, ("1", "1"), {"rolling": 7.5, "swathing": 15.0, "combine": 32.0}),
            ),
            2024: (
                605,
                Side(71, 60_000, 9.8, 1.9, ("1",), {"straight cutting": 39.5}),
                Side(69, 61_500, 11.0, 2.0, ("1",), {"rolling": 7.75, "swathing": 15.5, "combine": 33.0}),
            ),
        },
    ),
    "spraying on record, product by its rate": Case(
        rates(12.5, 7, 19, 9.5, 34, 1.5, 4.5, 11),
        {
            2024: (600, Side(30, 29_000, 11.9, 1.7, ("1", "2", "3"), {"spraying": 8.0}, True), Side(31, 30_000, 11, 2)),
            2025: (660, Side(33, 35_000, 10.6, 1.1, ("1",), {"spraying": 8.5}, True), Side(30, 29_500, 10, 1.3)),
        },
    ),
    "standing gave much less": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 0.5, 6, 20),
        {
            2021: (845, Side(85, 60_000, 10.8, 1.5), Side(84, 72_000, 10.3, 2.0)),
            2022: (815, Side(85, 78_000, 11.4, 1.5), Side(84, 81_000, 10.6, 2.0)),
        },
    ),
    "work of another name on one side": Case(
        rates(11, 6, 22, 8, 30, 2, 3, 10),
        {
            2024: (590, Side(20, 20_500, 10.5, 0.9, ("1",), {"harrowing": 6.0}), Side(20, 19_000, 12.5, 1.2)),
            2025: (610, Side(22, 23_000, 10.9, 1.0, ("2",), {"harrowing": 6.5}), Side(21, 20_000, 11.7, 1.2, ("3",))),
        },
    ),
    "every grade at once": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 1, 4, 12),
        {
            2023: (690, Side(55, 54_000, 10.7, 2.2, ("1", "2", "3", "3"), {}, True), Side(56, 53_000, 10, 3, ("3",))),
            2024: (605, Side(55, 52_000, 12.7, 3.2, ("3",)), Side(56, 55_000, 11.2, 2.9, ("1", "2"))),
        },
    ),
    "three years, prices far apart": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 2.5, 4, 12),
        {
            2020: (480, Side(64, 60_000, 10.1, 2.0, ("1",), {}, True), Side(64, 56_000, 10.4, 2.0)),
            2022: (900, Side(64, 50_000, 10.8, 2.0, ("1", "2"), {}, True), Side(64, 57_000, 10.9, 2.0)),
            2025: (620, Side(64, 66_000, 12.1, 2.0), Side(64, 58_000, 11.4, 2.0, ("2",))),
        },
    ),
    "all bills on record, both sides sprayed": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 2, 4, 12),
        {
            2024: (
                600,
                Side(
                    45, 47_000, 11.1, 1.4, ("1",),
                    {"pre-harvest product": 21, "application": 9, "combining": 35, "drying": 5, "hauling": 12}, True,
                ),
                Side(
                    46, 45_000, 10.4, 1.8, ("1", "2"),
                    {"pre-harvest product": 12, "spraying": 9, "windrowing": 14, "rolling": 6, "combining": 31,
                     "drying": 2, "freight": 11.5}, True,
                ),
            ),
            2025: (625, Side(45, 48_000, 10.0, 1.2, ("1",), {}, True), Side(46, 49_000, 9.1, 1.5, ("1",), {}, True)),
        },
    ),
}  # fmt: skip
MEANS = {
    "swathing": "windrowing",
    "straight cutting": "combining",
    "combine": "combining",
    "spraying": "application",
    "hauling": "freight",
    "trucking": "freight",
}


# --- by hand


def sold_t_ac(side):
    return side.kg * (100 - side.dockage) / 100 / 1000 / side.acres


def yield_bu_ac(side):
    return sold_t_ac(side) * BUSHELS


def tonne_brings(side, best):
    """What an average tonne brings: each slip stands for as much of the crop as any other."""
    return sum(best - GRADES[slip] for slip in side.slips) / len(side.slips)


def revenue(side, best):
    return sold_t_ac(side) * tonne_brings(side, best)


def spent(side, method, rate):
    """$/ac by item; a bill goes before a rate."""
    usual = {"combining": rate["combining"]}
    if method == "windrowed":
        usual["windrowing"] = rate["windrowing"]
    if side.is_sprayed:
        usual["pre-harvest product"], usual["application"] = rate["pre-harvest product"], rate["application"]
    usual["freight"] = rate["freight"] * side.kg / 1000 / side.acres
    usual["drying"] = rate["drying"] * max(side.moisture - 10, 0) * sold_t_ac(side)
    return usual | {MEANS.get(name, name): dollars for name, dollars in side.bills.items()}


def left(side, method, best, rate):
    """Net return, $/ac."""
    tracks = rate["wheel tracks"] / 100 if side.is_sprayed else 0
    return revenue(side, best) * (1 - tracks) - sum(spent(side, method, rate).values())


def with_more(side, bushels):
    """The same plot with so many bushels an acre more of the same crop."""
    return replace(side, kg=side.kg * (yield_bu_ac(side) + bushels) / yield_bu_ac(side))


def middle(case):
    return {item: rate for item, (_, rate, _) in case.rates.items()}


def mean_difference(case, *, price=None, more_standing=0.0):
    """Standing less windrowed, $/ac, averaged over the years; `price` is of No. 1 in all of them."""
    rate = middle(case)
    found = [
        left(with_more(standing, more_standing), "standing", price or best, rate)
        - left(windrowed, "windrowed", price or best, rate)
        for best, standing, windrowed in case.years.values()
    ]
    return sum(found) / len(found)


def mean_yield_difference(case):
    found = [yield_bu_ac(standing) - yield_bu_ac(windrowed) for _, standing, windrowed in case.years.values()]
    return sum(found) / len(found)


def where_nothing_is_left(function, low, high):
    """Where the function crosses zero, by halving: no formula."""
    for _ in range(200):
        half = (low + high) / 2
        low, high = (half, high) if (function(half) > 0) == (function(low) > 0) else (low, half)
    return low


# --- on record


def records(case):
    plots, loads, samples, operations, pairs, prices, assumptions = [], [], [], [], [], [], []
    for year, (best, *sides) in case.years.items():
        names = {"crop_year": year, "field": f"Field of {year}"}
        for plot, method, side in zip(("east", "west"), ("standing", "windrowed"), sides, strict=True):
            key = {**names, "plot": plot}
            sprayed = {"preharvest_on": date(year, 8, 25), "preharvest_product": "group 9"} if side.is_sprayed else {}
            plots.append({**key, "method": method, "acres": side.acres, **sprayed})
            load = {"ticket": "1", "weight_kg": side.kg, "moisture_pct": side.moisture, "dockage_pct": side.dockage}
            loads.append({**key, **load})
            samples += [{**key, "sample": f"slip {place}", "grade": slip} for place, slip in enumerate(side.slips)]
            operations += [
                {**key, "done_on": date(year, 8, 25), "operation": name, "dollars_per_acre": dollars}
                for name, dollars in side.bills.items()
            ]
        sides = {f"{method}_{part}": value for method, plot in (("standing", "east"), ("windrowed", "west"))
                 for part, value in (("field", names["field"]), ("plot", plot))}  # fmt: skip
        pairs.append({"crop_year": year, "pair": "P", "layout": "split field", **sides})
        prices += [
            {"crop_year": year, "crop": "canola", "grade": grade, "dollars_per_tonne": best - below}
            for grade, below in GRADES.items()
        ]
    for item, (low, rate, high) in case.rates.items():
        assumptions.append(costs.own_rate(item, low=str(low), middle=str(rate), high=str(high)))
    tables = {"plots": plots, "loads": loads, "samples": samples, "pairs": pairs, "prices": prices}
    return tables | ({"operations": operations} if operations else {}), pl.concat(assumptions)


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """Call with a case for what its records say about money; one file for all, emptied before each case is saved."""
    path = tmp_path_factory.mktemp("by hand") / "records.duckdb"
    known = {}

    def review_case(connection, case):
        tables, assumptions = records(case)
        connection.execute(
            "delete from plots; delete from loads; delete from samples; delete from operations; delete from pairs;"
            "delete from prices; delete from cost_assumptions;"
        )
        frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
        changes = [TableSave(table=TABLES[name], saved=rows, removed=rows.clear()) for name, rows in frames.items()]
        save(connection, changes, done_by="test", source="import")
        costs.keep_rates(connection, assumptions, done_by="test")
        return money_review(connection)

    with begun(path) as connection:
        yield lambda case: known.get(repr(case)) or known.setdefault(repr(case), review_case(connection, case))


def newest(case):
    return case.years[max(case.years)][0]


def changed_rate(case, item, place):
    """The case with one rate at its low or high end, for costs that no bill covers."""
    return replace(case, rates=case.rates | {item: (0.0, case.rates[item][place], 5000.0)})


# Records anew for each case take their time: some that have every bill, rate, grade and sign between them stand for
# the ten, and the long form has all.
STAND_FOR_ALL = (
    "drying on record where it was dried",
    "standing gave much less",
    "work of another name on one side",
    "every grade at once",
    "all bills on record, both sides sprayed",
)


def cases(in_short):
    """The ten, those that are not named with the mark of the long form."""
    marked = [case if name in in_short else pytest.param(case, marks=pytest.mark.slow) for name, case in CASES.items()]
    return pytest.mark.parametrize("case", marked, ids=CASES)


ten, one = cases(STAND_FOR_ALL), cases(STAND_FOR_ALL[:1])


@ten
def test_net_return_and_its_parts_are_those_worked_by_hand(found, case):
    review, rate = found(case), middle(case)
    assert review.net_return.these_fields.estimate == pytest.approx(mean_difference(case), abs=1e-9)
    by_item = {}
    for best, standing, windrowed in case.years.values():
        items = {}
        for sign, method, side in ((1, "standing", standing), (-1, "windrowed", windrowed)):
            tracks = revenue(side, best) * rate["wheel tracks"] / 100 if side.is_sprayed else 0
            for item, dollars in (*spent(side, method, rate).items(), ("wheel tracks", tracks)):
                items[item] = items.get(item, 0) + sign * dollars
        tonnes = [sold_t_ac(standing), sold_t_ac(windrowed)]
        prices = [tonne_brings(standing, best), tonne_brings(windrowed, best)]
        items["grade"] = (prices[0] - prices[1]) * sum(tonnes) / 2
        items["yield"] = (tonnes[0] - tonnes[1]) * sum(prices) / 2
        for item, dollars in items.items():
            by_item[item] = by_item.get(item, 0) + dollars / len(case.years)
    assert {one.name: one.dollars_ac for one in review.changes} == pytest.approx(
        {one.name: by_item.get(one.name, 0) for one in review.changes}, abs=1e-9
    )
    assert set(by_item) <= {one.name for one in review.changes}
    assert partial_budget(review.changes).net == pytest.approx(mean_difference(case), abs=1e-9)


@ten
@pytest.mark.parametrize("price", [None, 425.0, 990.0])
def test_the_outlook_is_the_net_return_at_that_price(found, case, price):
    price = price or newest(case)
    at = outlook(found(case), price)
    assert at.yield_difference == pytest.approx(mean_yield_difference(case), abs=1e-9)
    assert at.net_ac == pytest.approx(mean_difference(case, price=price), abs=1e-9)
    more = mean_difference(case, price=price, more_standing=2.5)
    assert at.net_at(dollars_per_tonne=price, yield_difference=at.yield_difference + 2.5) == pytest.approx(more)


@ten
def test_the_break_even_yield_leaves_nothing_by_hand_and_through_the_screens_own_call(found, case):
    price = newest(case)
    at = outlook(found(case), price)
    more = where_nothing_is_left(lambda more: mean_difference(case, price=price, more_standing=more), -40, 40)
    assert at.break_even_yield == pytest.approx(mean_yield_difference(case) + more, abs=1e-8)
    net = at.net_at(dollars_per_tonne=price, yield_difference=at.break_even_yield)
    assert isclose(net, 0, abs_tol=0.005)


@one
def test_records_that_hold_the_break_even_yield_have_a_net_return_of_nothing_to_the_cent(found, case):
    """The loads of the standing plots are weighed anew, so that they give just what the screen says is needed."""
    price = newest(case)
    one_price = replace(case, years={year: (price, *sides) for year, (_, *sides) in case.years.items()})
    at = outlook(found(one_price), price)
    more = at.break_even_yield - at.yield_difference
    there = replace(
        one_price,
        years={year: (price, with_more(one, more), other) for year, (_, one, other) in one_price.years.items()},
    )
    net = found(there).net_return.these_fields.estimate
    assert isclose(net, 0, abs_tol=0.005)


@ten
def test_the_break_even_price_leaves_nothing_by_hand(found, case):
    said = outlook(found(case), newest(case)).break_even_price
    at_nothing, at_much = mean_difference(case, price=1e-9), mean_difference(case, price=1e6)
    if said.dollars_per_tonne is None:
        assert said.pays == ("always" if at_much > 0 else "never")
        assert (at_nothing > 0) == (at_much > 0)
        return
    assert said.pays == ("above" if at_much > 0 else "below")
    by_hand = where_nothing_is_left(lambda price: mean_difference(case, price=price), 1e-9, 1e6)
    assert said.dollars_per_tonne == pytest.approx(by_hand, abs=1e-6)


@ten
def test_the_swings_are_those_worked_by_hand(found, case):
    review = found(case)
    price = newest(case)
    moved = {swing.assumption.name: swing for swing in swings(review, outlook(review, price))}
    prices = [best for best, *_ in case.years.values()]
    ends = mean_difference(case, price=min(prices)), mean_difference(case, price=max(prices))
    assert (moved["price"].at_low, moved["price"].at_high) == pytest.approx(ends)
    here = review.yield_as_sold.these_fields
    for end, said in ((here.low, moved["yield difference"].at_low), (here.high, moved["yield difference"].at_high)):
        assert said == pytest.approx(mean_difference(case, price=price, more_standing=end - here.estimate))
    now = mean_difference(case, price=price)
    for item in ("combining", "drying", "freight", "windrowing", "pre-harvest product", "application", "wheel tracks"):
        years = [
            spent(standing, "standing", middle(case)).get(item, 0)
            - spent(windrowed, "windrowed", middle(case)).get(item, 0)
            for _, standing, windrowed in case.years.values()
        ]
        if item != "wheel tracks" and max(years) - min(years) > 0.005:
            mean = sum(years) / len(years)
            swing = moved[item]
            assert (swing.at_low, swing.at_high) == pytest.approx((now + mean - min(years), now + mean - max(years)))
        elif item in moved and item != "wheel tracks":
            low, high = (mean_difference(changed_rate(case, item, place), price=price) for place in (0, 2))
            assert sorted((moved[item].at_low, moved[item].at_high)) == pytest.approx(sorted((low, high)))


@ten
def test_payback_is_the_outlay_over_the_yearly_gain_worked_by_hand(found, case):
    gain = found(case).net_return.these_fields.estimate
    bought = Purchase(outlay=30_000, life_years=10, salvage=5_000, interest_pct=7, acres_a_year=640)
    result = buy(bought, gain_ac=gain)
    a_year = mean_difference(case) * 640
    today = sum(a_year / 1.07**year for year in range(1, 11)) + 5_000 / 1.07**10 - 30_000
    assert result.net_present_value == pytest.approx(today)
    assert result.payback_years == (pytest.approx(30_000 / a_year) if a_year > 0 else None)


def one_year(standing, windrowed, *, price=600.0, windrowing=12.5, drying=0.0):
    """One pair with few rates: what the two reviews of the old arithmetic used."""
    few = dict.fromkeys(("rolling", "pre-harvest product", "application", "combining", "wheel tracks", "freight"), 0.0)
    return Case(
        {item: (rate, rate, rate) for item, rate in (few | {"windrowing": windrowing, "drying": drying}).items()},
        {2024: (price, standing, windrowed)},
    )


@pytest.mark.slow
def test_a_drier_side_saves_drying_in_the_outlook_as_in_net_return(found):
    """1.2 points drier at 4 $/t a point saves 4.1 $ an acre; formerly the outlook left that out. In each run
    test_the_outlook_is_the_net_return_at_that_price has sides of unlike moisture.
    """
    harrowed = Side(50, 43_300, 10.0, 0, ("1",), {"harrowing": 5.1})
    case = one_year(harrowed, Side(50, 42_900, 11.2, 0), windrowing=0, drying=4.0)
    review = found(case)
    at = outlook(review, 600.0)
    saved = 4 * 1.2 * 42.9 / 50
    assert at.net_ac == pytest.approx(-0.30 + saved, abs=1e-9)
    assert at.net_ac == pytest.approx(review.net_return.these_fields.estimate)
    needed_undried = mean_yield_difference(case) + 0.30 / (600 / BUSHELS)
    assert at.break_even_yield == pytest.approx(needed_undried - saved / (600 / BUSHELS))


@pytest.mark.slow
def test_standing_delivered_tough_pays_for_drying_in_the_outlook_as_in_net_return(found):
    """Formerly 42.50 whatever drying cost; net return fell to 28.12. In each run as above."""
    review = found(one_year(Side(50, 48_000, 13.0, 0), Side(50, 45_500, 9.0, 0), drying=5.0))
    assert outlook(review, 600.0).net_ac == pytest.approx(42.50 - 5 * 3 * 0.96)
    assert outlook(review, 600.0).net_ac == pytest.approx(review.net_return.these_fields.estimate)


@pytest.mark.slow
def test_one_poorer_slip_of_three_costs_a_third_of_the_step(found):
    """Equal yields, one of three slips No. 2: a third of 14 $/t on 0.9 t an acre; formerly all of it. In each run
    test_net_return_and_its_parts_are_those_worked_by_hand has plots of several slips.
    """
    case = one_year(Side(50, 45_000, 9, 0, ("1", "2", "1")), Side(50, 45_000, 9, 0), windrowing=6.6)
    assert found(case).net_return.these_fields.estimate == pytest.approx(6.6 - 14 / 3 * 0.9)

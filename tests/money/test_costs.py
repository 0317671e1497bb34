"""Net return from records and from defaults, break-even, and what is said when a number is missing."""

from datetime import date

import polars as pl
import pytest

from analytics.answer.review import review
from analytics.errors import BadInput
from analytics.money import costs
from analytics.storage.database import read_table
from tests.conftest import small_records

DAY = date(2024, 9, 1)
SIDES = {"east": "standing", "west": "windrowed"}


@pytest.fixture
def empty(connection):
    """Records without a row."""
    return connection


def plot_row(field, plot, **rest):
    return {"crop_year": 2024, "field": field, "plot": plot, **rest}


def small_farm(field="A", *, year=2024, grades=("1", "2"), moisture=8.0, standing=(), costs=()):
    """One pair: 20 t of clean canola from 20 acres on each side, east standing, west windrowed.

    standing : what is known of the standing plot beside that; costs : plot, operation and $/ac of field work
    """

    def plots(**by_side):
        return [
            plot_row(field, plot, crop_year=year) | {name: values[plot] for name, values in by_side.items()}
            for plot in SIDES
        ]

    grade = dict(zip(SIDES, grades, strict=True))
    rows = {
        "plots": plots(method=SIDES),
        "loads": plots(),
        "samples": plots(grade=grade),
        "pairs": [
            {"crop_year": year, "pair": field, "layout": "split field"}
            | {f"{method}_field": field for method in SIDES.values()}
            | {f"{method}_plot": plot for plot, method in SIDES.items()}
        ],
        "operations": [
            plot_row(field, plot, crop_year=year, done_on=DAY, operation=operation, dollars_per_acre=dollars)
            for plot, operation, dollars in costs
        ],
    }
    for plot in rows["plots"]:
        plot |= {"acres": 20.0} | (dict(standing) if plot["method"] == "standing" else {})
    for load in rows["loads"]:
        load |= {"ticket": "1", "weight_kg": 20_000.0, "moisture_pct": moisture, "dockage_pct": 0.0}
    for sample in rows["samples"]:
        sample["sample"] = "1"
    return rows


PRICES = [{"crop_year": 2024, "crop": "canola", "grade": g, "dollars_per_tonne": 600.0 - 14 * (g == "2")} for g in "12"]
# Farms side by side, each of one pair: what is different on each says its name.
FARMS = [
    small_farm("as it is"),
    small_farm("costs", costs=[("east", "combining", 33), ("west", "combining", 31), ("west", "windrowing", 13)]),
    small_farm("one cost", costs=[("west", "Swathing", 11.0)]),
    small_farm("sprayed", standing={"preharvest_on": DAY}),
    small_farm("product", standing={"preharvest_product": "group 14"}),
    small_farm("wet", moisture=12.0),
    small_farm("no price", year=2023),
    small_farm("no grade", grades=(None, "2")),
    small_farm("harrowed", costs=[("east", "harrowing", None)]),
]


def tables_of(*farms):
    """The rows of the farms together, with their prices."""
    return {name: [row for farm in farms for row in farm[name]] for name in farms[0]} | {"prices": PRICES}


def read_money(connection):
    """The row of plot_money of each field and plot."""
    return {(row["field"], row["plot"]): row for row in read_table(connection, "plot_money").iter_rows(named=True)}


@pytest.fixture(scope="module")
def money(tmp_path_factory):
    """What each plot of all farms brings at the default rates, these rates, and the same after own ones were kept."""
    with small_records(tmp_path_factory.mktemp("money") / "records.duckdb", tables_of(*FARMS)) as connection:
        before, rates = read_money(connection), costs.cost_rates(connection)
        own = [
            costs.own_rate(item, middle=middle)
            for item, middle in (("wheel tracks", "2"), ("freight", "9.5"), ("drying", "3"))
        ]
        costs.keep_rates(connection, pl.concat(own), done_by="test")
        return before, rates, read_money(connection)


def test_net_return_is_weight_at_the_price_of_its_grade_less_recorded_costs(money):
    found, _, _ = money
    assert found["costs", "east"]["net_return_dollars_ac"] == pytest.approx(600 - 33)
    assert found["costs", "west"]["net_return_dollars_ac"] == pytest.approx(586 - 44)
    assert found["costs", "west"]["cost_from"] == "records"


def test_without_costs_on_record_defaults_count_and_say_so(money):
    found, rates, _ = money
    west = found["as it is", "west"]
    assert found["as it is", "east"]["cost_dollars_ac"] == rates["combining"].middle
    assert west["cost_dollars_ac"] == rates["combining"].middle + rates["windrowing"].middle
    assert west["cost_from"] == "defaults"
    assert west["default_items"] == "combining, windrowing"


def test_a_recorded_cost_wins_over_the_default_and_the_rest_stay_defaults(money):
    found, rates, _ = money
    west = found["one cost", "west"]
    assert west["cost_dollars_ac"] == 11.0 + rates["combining"].middle
    assert (west["cost_from"], west["default_items"]) == ("records and defaults", "combining")


def test_a_product_on_the_plot_brings_its_cost_and_its_application(money):
    found, rates, _ = money
    extra = rates["pre-harvest product"].middle + rates["application"].middle
    without = found["as it is", "east"]["cost_dollars_ac"]
    assert found["sprayed", "east"]["cost_dollars_ac"] == pytest.approx(without + extra)


def test_wheel_tracks_cost_their_percent_of_the_revenue_where_a_product_went_on(money):
    before, _, after = money
    freight = 9.5  # a tonne an acre, which every plot bears after it was kept

    def more(field, plot):
        return before[field, plot]["net_return_dollars_ac"] - after[field, plot]["net_return_dollars_ac"] - freight

    assert more("product", "east") == pytest.approx(12)
    assert more("product", "west") == pytest.approx(0)
    assert more("as it is", "east") == pytest.approx(0)


def test_freight_goes_by_the_delivered_tonne_and_drying_by_points_above_ten(money):
    before, _, after = money
    for field, more in (("wet", 9.5 + 2 * 3), ("as it is", 9.5)):
        assert after[field, "east"]["cost_dollars_ac"] == pytest.approx(before[field, "east"]["cost_dollars_ac"] + more)


@pytest.mark.parametrize(
    ("field", "words"), [("no price", "a price for canola grade 1 in 2023"), ("no grade", "a grade")]
)
def test_without_price_or_grade_net_return_is_unknown_and_says_what_is_missing(money, field, words):
    east = money[0][field, "east"]
    assert east["net_return_dollars_ac"] is None
    assert east["missing"] == words


def test_work_of_another_name_without_its_cost_leaves_net_return_unknown(money):
    assert money[0]["harrowed", "east"]["net_return_dollars_ac"] is None
    assert money[0]["harrowed", "east"]["missing"] == "the cost of harrowing"


def test_one_pair_is_compared_but_said_to_be_too_few(tiny):
    one_pair = tiny(tables_of(small_farm()))
    result = review(one_pair, "net_return")
    assert result.these_fields.finding == "too_few"
    assert result.these_fields.estimate == pytest.approx(14 + costs.cost_rates(one_pair)["windrowing"].middle)


def test_the_lines_of_the_budget_add_up_to_the_estimate_of_net_return(demo, compared):
    net_return = compared["net_return"]
    lines = costs.changes(costs.line_differences(demo, costs.pair_weights(net_return)))
    total = sum(line.dollars_ac if line.kind == "revenue" else -line.dollars_ac for line in lines)
    assert total == pytest.approx(net_return.these_fields.estimate, abs=1e-9)
    assert [line.name for line in lines[:2]] == ["yield", "grade"]


def test_a_pair_with_an_unknown_side_is_in_no_line(demo, compared):
    pairs = read_table(demo, "pair_returns")
    known = compared["net_return"].all_pairs.pairs
    assert pairs.height == known < read_table(demo, "pairs").height


def test_every_default_shows_year_or_region_and_source(empty):
    for rate in costs.cost_rates(empty).values():
        assert rate.source
        assert rate.mark.startswith("default, ")
        assert rate.low <= rate.middle <= rate.high


def test_an_own_rate_takes_the_place_of_the_default_until_it_is_dropped(empty):
    default = costs.cost_rates(empty)["windrowing"]
    costs.keep_rates(
        empty, costs.own_rate("windrowing", middle="14,25", year="2025", source="own books"), done_by="test"
    )
    own = costs.cost_rates(empty)["windrowing"]
    assert (own.low, own.middle, own.high, own.mark) == (14.25, 14.25, 14.25, "own rate 2025")
    costs.back_to_defaults(empty, ["windrowing"], done_by="test")
    assert costs.cost_rates(empty)["windrowing"] == default


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"middle": ""}, "nothing given"),
        ({"middle": "abc"}, "not a number"),
        ({"middle": "5001"}, "0 to 5000"),
        ({"middle": "-1"}, "0 to 5000"),
        ({"middle": "10", "low": "11"}, "rising order"),
        ({"middle": "10", "high": "9"}, "rising order"),
        ({"middle": "10", "year": "25"}, "1980 to 2100"),
    ],
)
def test_a_rate_that_cannot_be_is_refused_with_what_is_allowed(typed, words):
    with pytest.raises(BadInput, match=words):
        costs.own_rate("windrowing", **typed)


def test_a_rate_of_5000_and_of_0_are_allowed():
    assert costs.own_rate("windrowing", middle="5000")["middle"].item() == 5000
    assert costs.own_rate("windrowing", middle="0")["middle"].item() == 0


def test_wheel_tracks_above_a_hundred_percent_are_refused():
    with pytest.raises(BadInput, match="0 to 100"):
        costs.own_rate("wheel tracks", middle="101")

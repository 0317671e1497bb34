"""Net return from records and from defaults, break-even, and what is said when a number is missing."""

from datetime import date

import polars as pl
import pytest

from analytics.answer.review import review
from analytics.errors import BadInput
from analytics.money import costs
from analytics.records.grown_tables import OPERATIONS, PAIRS, PLOTS, PRICES
from analytics.records.harvest_tables import LOADS, SAMPLES
from analytics.storage.database import read, read_table

DAY = date(2024, 9, 1)
SIDES = {"east": "standing", "west": "windrowed"}


@pytest.fixture
def empty(tiny):
    """Records without a row."""
    return tiny({})


def plot_row(plot, **rest):
    return {"crop_year": 2024, "field": "A", "plot": plot, **rest}


def small_farm(connection, add, *, price=600.0, grades=("1", "2"), moisture=8.0):
    """One pair: 20 t of clean canola from 20 acres on each side, east standing, west windrowed."""
    add(connection, PLOTS, *(plot_row(plot, method=method, acres=20.0) for plot, method in SIDES.items()))
    add(
        connection,
        LOADS,
        *(plot_row(plot, ticket="1", weight_kg=20_000.0, moisture_pct=moisture, dockage_pct=0.0) for plot in SIDES),
    )
    add(
        connection,
        SAMPLES,
        *(plot_row(plot, sample="1", grade=grade) for plot, grade in zip(SIDES, grades, strict=True)),
    )
    add(
        connection,
        PAIRS,
        {
            "crop_year": 2024,
            "pair": "P",
            "layout": "split field",
            "standing_field": "A",
            "standing_plot": "east",
            "windrowed_field": "A",
            "windrowed_plot": "west",
        },
    )
    if price is not None:
        rows = [
            {"crop_year": 2024, "crop": "canola", "grade": g, "dollars_per_tonne": price - 14 * (g == "2")}
            for g in "12"
        ]
        add(connection, PRICES, *rows)


def money_of(connection, plot):
    return read(connection, "select * from plot_money where plot = $plot", plot=plot).row(0, named=True)


def spend(connection, add, plot, operation, dollars):
    add(connection, OPERATIONS, plot_row(plot, done_on=DAY, operation=operation, dollars_per_acre=dollars))


def test_net_return_is_weight_at_the_price_of_its_grade_less_recorded_costs(empty, add):
    small_farm(empty, add)
    for plot, operation, dollars in [("east", "combining", 33), ("west", "combining", 31), ("west", "windrowing", 13)]:
        spend(empty, add, plot, operation, dollars)
    assert money_of(empty, "east")["net_return_dollars_ac"] == pytest.approx(600 - 33)
    assert money_of(empty, "west")["net_return_dollars_ac"] == pytest.approx(586 - 44)
    assert money_of(empty, "west")["cost_from"] == "records"


def test_without_costs_on_record_defaults_count_and_say_so(empty, add):
    small_farm(empty, add)
    rates = costs.cost_rates(empty)
    east, west = money_of(empty, "east"), money_of(empty, "west")
    assert east["cost_dollars_ac"] == rates["combining"].middle
    assert west["cost_dollars_ac"] == rates["combining"].middle + rates["windrowing"].middle
    assert west["cost_from"] == "defaults"
    assert west["default_items"] == "combining, windrowing"


def test_a_recorded_cost_wins_over_the_default_and_the_rest_stay_defaults(empty, add):
    small_farm(empty, add)
    spend(empty, add, "west", "Swathing", 11.0)
    west = money_of(empty, "west")
    assert west["cost_dollars_ac"] == 11.0 + costs.cost_rates(empty)["combining"].middle
    assert (west["cost_from"], west["default_items"]) == ("records and defaults", "combining")


def test_a_product_on_the_plot_brings_its_cost_and_its_application(empty, add):
    small_farm(empty, add)
    before = money_of(empty, "east")["cost_dollars_ac"]
    add(empty, PLOTS, plot_row("east", method="standing", acres=20.0, preharvest_on=DAY))
    rates = costs.cost_rates(empty)
    extra = rates["pre-harvest product"].middle + rates["application"].middle
    assert money_of(empty, "east")["cost_dollars_ac"] == pytest.approx(before + extra)


def test_wheel_tracks_cost_their_percent_of_the_revenue_where_a_product_went_on(empty, add):
    small_farm(empty, add)
    add(empty, PLOTS, plot_row("east", method="standing", acres=20.0, preharvest_product="group 14"))
    before = money_of(empty, "east")["net_return_dollars_ac"], money_of(empty, "west")["net_return_dollars_ac"]
    costs.keep_rates(empty, costs.own_rate("wheel tracks", middle="2"), done_by="test")
    after = money_of(empty, "east")["net_return_dollars_ac"], money_of(empty, "west")["net_return_dollars_ac"]
    assert after[0] == pytest.approx(before[0] - 12)
    assert after[1] == before[1]


def test_freight_goes_by_the_delivered_tonne_and_drying_by_points_above_ten(empty, add):
    small_farm(empty, add, moisture=12.0)
    before = money_of(empty, "east")["cost_dollars_ac"]
    costs.keep_rates(
        empty,
        pl.concat([costs.own_rate("freight", middle="9.5"), costs.own_rate("drying", middle="3")]),
        done_by="test",
    )
    assert money_of(empty, "east")["cost_dollars_ac"] == pytest.approx(before + 9.5 + 2 * 3)


@pytest.mark.parametrize(
    ("farm", "words"),
    [
        ({"price": None}, "a price for canola grade 1 in 2024"),
        ({"grades": (None, "2")}, "a grade"),
    ],
)
def test_without_price_or_grade_net_return_is_unknown_and_says_what_is_missing(empty, add, farm, words):
    small_farm(empty, add, **farm)
    east = money_of(empty, "east")
    assert east["net_return_dollars_ac"] is None
    assert east["missing"] == words


def test_work_of_another_name_without_its_cost_leaves_net_return_unknown(empty, add):
    small_farm(empty, add)
    spend(empty, add, "east", "harrowing", None)
    assert money_of(empty, "east")["missing"] == "the cost of harrowing"


def test_one_pair_is_compared_but_said_to_be_too_few(empty, add):
    small_farm(empty, add)
    result = review(empty, "net_return")
    assert result.these_fields.finding == "too_few"
    assert result.these_fields.estimate == pytest.approx(14 + costs.cost_rates(empty)["windrowing"].middle)


def test_the_lines_of_the_budget_add_up_to_the_estimate_of_net_return(demo):
    net_return = review(demo, "net_return")
    lines = costs.changes(costs.line_differences(demo, costs.pair_weights(net_return)))
    total = sum(line.dollars_ac if line.kind == "revenue" else -line.dollars_ac for line in lines)
    assert total == pytest.approx(net_return.these_fields.estimate, abs=1e-9)
    assert [line.name for line in lines[:2]] == ["yield", "grade"]


def test_a_pair_with_an_unknown_side_is_in_no_line(demo):
    pairs = read_table(demo, "pair_returns")
    known = review(demo, "net_return").all_pairs.pairs
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

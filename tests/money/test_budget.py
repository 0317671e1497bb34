"""Partial budget, break-even, chance and ranges, against published budgets (tests/published/trade/money.csv)."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.money.chances import chance_it_pays, chance_new_field, odds, worst_year
from analytics.money.costs import price_doubt
from analytics.statistics.comparison import compare
from analytics.statistics.results import FieldsNotTried
from analytics.trade.budget import (
    BUSHELS_PER_TONNE,
    Assumption,
    Change,
    NetDifference,
    dollars_per_bushel,
    grade_step,
    partial_budget,
    what_matters_most,
)

PUBLISHED = {
    row["id"]: row
    for row in csv.DictReader(
        (Path(__file__).resolve().parents[1] / "published" / "trade" / "money.csv")
        .read_text(encoding="utf-8")
        .splitlines()
    )
}
money = st.floats(min_value=-500, max_value=500, allow_nan=False, allow_subnormal=False)


def published_amounts(name):
    """The four parts and the net as printed: {"added revenue": 12000.0, ...}."""
    parts = [part.strip().rpartition(" ") for part in PUBLISHED[name]["expected"].split(";")]
    return {part: float(value) for part, _, value in parts}


def revenue(name, dollars_ac):
    return Change(name=name, kind="revenue", dollars_ac=dollars_ac)


def cost(name, dollars_ac):
    return Change(name=name, kind="cost", dollars_ac=dollars_ac)


def test_partial_budget_of_corn_for_dry_beans_as_published():
    """Extension economist in Southeast/Delta Farm Press: 100 acres of corn instead of dry beans."""
    printed = published_amounts("PB_CORN_BEANS")
    budget = partial_budget(
        [
            revenue("corn", 150 * 6.50),
            revenue("beans no longer sold", -22 * 40.00),
            cost("corn", 690),
            cost("beans no longer grown", -550),
        ],
        acres=100,
    )
    assert budget.added_revenue == (("corn", printed["added"]),)
    assert budget.reduced_cost == (("beans no longer grown", printed["reduced cost"]),)
    assert budget.reduced_revenue == (("beans no longer sold", printed["reduced revenue"]),)
    assert budget.added_cost == (("corn", printed["added cost"]),)
    assert budget.net == printed["net"]


def test_partial_budget_of_an_own_combine_as_published():
    """University farm management course: own combine for custom work on 2,000 acres; scale factor rounded to 1.249."""
    printed = published_amounts("PB_COMBINE")
    scale = round(1.241 + 33.026 / 4000, 3)
    budget = partial_budget(
        [revenue("timely harvest", 0.01 * 150 * 4), cost("custom combining", -25), cost("own combine", 25 * scale)],
        acres=2000,
    )
    assert budget.gains == pytest.approx(printed["added revenue"] + printed["reduced cost"])
    assert budget.losses == pytest.approx(printed["added cost"], abs=1)
    assert budget.net == pytest.approx(printed["net"], abs=1)


@given(st.lists(st.tuples(st.sampled_from(["revenue", "cost"]), money), max_size=8), st.floats(0.5, 5000))
def test_net_is_revenue_less_cost_whatever_the_parts(lines, acres):
    changes = [Change(name=f"line {place}", kind=kind, dollars_ac=size) for place, (kind, size) in enumerate(lines)]
    budget = partial_budget(changes, acres=acres)
    expected = sum(size if kind == "revenue" else -size for kind, size in lines)
    assert budget.net / budget.acres == pytest.approx(expected, abs=1e-9)
    parts = (*budget.added_revenue, *budget.reduced_cost, *budget.reduced_revenue, *budget.added_cost)
    assert all(size > 0 for _, size in parts)


@given(st.lists(st.tuples(st.sampled_from(["revenue", "cost"]), money), min_size=1, max_size=8))
def test_swapping_the_methods_turns_the_net_round(lines):
    there = [Change(name="x", kind=kind, dollars_ac=size) for kind, size in lines]
    back = [Change(name="x", kind=kind, dollars_ac=-size) for kind, size in lines]
    assert partial_budget(back).net == pytest.approx(-partial_budget(there).net, abs=1e-9)


@pytest.mark.parametrize("acres", [0.0, -1.0, float("nan"), float("inf")])
def test_zero_negative_or_unknown_acres_are_refused_in_plain_words(acres):
    with pytest.raises(BadInput, match=r"acres: .* given; allowed a number above 0"):
        partial_budget([revenue("canola", 1.0)], acres=acres)


def test_an_unknown_cost_is_refused_and_not_taken_for_nothing():
    with pytest.raises(BadInput, match="combining"):
        partial_budget([cost("combining", float("nan"))])


def alike(extra_cost_ac=0.0, yield_difference_bu_ac=0.0, cost_per_tonne=0.0):
    """Two sides of one grade that differ in yield and cost; every tonne bears `cost_per_tonne`."""
    tonnes = yield_difference_bu_ac / BUSHELS_PER_TONNE
    return NetDifference(
        yield_difference_bu_ac=yield_difference_bu_ac,
        priced_t_ac=tonnes,
        unpriced_dollars_ac=-extra_cost_ac - tonnes * cost_per_tonne,
        bushel_priced_t=1 / BUSHELS_PER_TONNE,
        bushel_unpriced_dollars=-cost_per_tonne / BUSHELS_PER_TONNE,
    )


def test_break_even_yield_of_seven_dollars_at_4_545_a_bushel():
    """Worked by hand: (20 - 13) $/ac / 4.545 $/bu is 1.54 bu/ac; a tonne is 44.0924524 bushels of 50 lb."""
    assert alike(7.0).break_even_yield(4.545 * 44.0924524) == pytest.approx(1.54, abs=0.001)


def test_break_even_yield_is_negative_when_standing_costs_less():
    assert alike(-7.0).break_even_yield(600) < 0


def test_break_even_yield_is_unknown_when_a_tonne_leaves_nothing():
    assert alike(7.0, cost_per_tonne=20.0).break_even_yield(20.0) is None
    assert alike(7.0, cost_per_tonne=20.0).break_even_yield(20.1) > 0


@given(st.floats(-100, 100), st.floats(-10, 10), st.floats(0, 60), st.floats(100, 1500))
def test_at_the_break_even_yield_the_net_difference_is_nothing(extra_cost, yield_difference, by_weight, price):
    found = alike(extra_cost, yield_difference, by_weight)
    needed = found.break_even_yield(price)
    assert found.at(dollars_per_tonne=price, yield_difference_bu_ac=needed) == pytest.approx(0, abs=1e-9)


@given(st.floats(0.1, 100), st.floats(0.1, 10), st.floats(0, 60))
def test_at_the_break_even_price_the_net_difference_is_nothing(extra_cost, yield_difference, by_weight):
    found = alike(extra_cost, yield_difference, by_weight)
    price = found.break_even_price()
    assert price.pays == "above"
    assert found.at(dollars_per_tonne=price.dollars_per_tonne) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("extra_cost", "yield_difference", "pays"),
    [(5, 0, "never"), (-5, 0, "always"), (0, 0, "always"), (5, -1, "never"), (-5, 1, "always"), (-5, -1, "below")],
)
def test_break_even_price_says_when_there_is_none(extra_cost, yield_difference, pays):
    assert alike(extra_cost, yield_difference).break_even_price().pays == pays


def net_return(differences, **rest):
    return compare(differences, [0.0] * len(differences), measure="net_return", unit="$/ac", margin=10.0, **rest)


def test_the_chance_is_one_less_half_the_p_value():
    answer = net_return([4.0, 12.0, -3.0, 8.0, 15.0]).these_fields
    assert chance_it_pays(answer) == pytest.approx(1 - answer.p_value / 2, rel=1e-12)


def test_the_chance_of_student_1908_sleep_data():
    """Student 1908, Biometrika 6:1-25, sleep data; R 4.2.2 t.test gives p = 0.00283289 two-sided."""
    answer = net_return([1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4]).these_fields
    assert chance_it_pays(answer) == pytest.approx(1 - 0.00283289 / 2, abs=1e-8)


@given(st.lists(st.integers(-100, 100), min_size=4, max_size=12).filter(lambda values: len(set(values)) > 1))
def test_swapping_sides_turns_the_chance_round(values):
    there, back = net_return(values).these_fields, net_return([-value for value in values]).these_fields
    assert chance_it_pays(there) + chance_it_pays(back) == pytest.approx(1, abs=1e-9)


def test_two_fields_have_no_chance_to_tell():
    assert chance_it_pays(net_return([4.0, 12.0]).these_fields) is None
    assert chance_it_pays(net_return([4.0, 12.0, 9.0]).these_fields) is not None


def test_equal_differences_have_no_chance_to_tell():
    assert chance_it_pays(net_return([5.0, 5.0, 5.0, 5.0]).these_fields) is None


def test_one_grade_step_of_15_dollars_a_tonne_is_34_cents_a_bushel():
    """10 to 15 CAD/t for losing No. 1 (farm press, 2014, "traditionally") is 0.23 to 0.34 CAD/bu; derived by hand."""
    step = grade_step(better_per_tonne=625, poorer_per_tonne=610, yield_bu_ac=40)
    assert step.dollars_per_bushel == pytest.approx(0.34, abs=0.001)
    assert step.dollars_ac == pytest.approx(13.61, abs=0.01)
    assert step.bushels_ac == pytest.approx(0.96, abs=0.001)


def test_a_grade_step_without_price_divides_by_nothing():
    assert grade_step(better_per_tonne=0, poorer_per_tonne=0, yield_bu_ac=40).bushels_ac is None


def test_a_price_per_bushel_in_the_tonne_box_is_questioned():
    assert "price per bushel" in price_doubt(14.5)
    assert "639 $/t" in price_doubt(14.5)


@pytest.mark.parametrize(("price", "is_doubted"), [(150, False), (149, True), (1500, False), (1501, True)])
def test_the_usual_range_of_a_price_holds_at_its_edges(price, is_doubted):
    assert (price_doubt(price) is not None) == is_doubted


@pytest.mark.parametrize("price", [0.0, -3.0, 10_001.0, float("nan")])
def test_an_impossible_price_is_refused(price):
    with pytest.raises(BadInput, match="price"):
        price_doubt(price)


def test_the_widest_swing_comes_first():
    ranges = [
        Assumption(name="price", label="price", unit="$/t", low=500, middle=600, high=700, basis="x"),
        Assumption(name="extra", label="extra cost", unit="$/ac", low=5, middle=10, high=60, basis="x"),
    ]
    swings = what_matters_most(ranges, lambda at: 2 * dollars_per_bushel(at["price"]) - at["extra"])
    assert [swing.assumption.name for swing in swings] == ["extra", "price"]
    assert swings[0].width == pytest.approx(55)
    assert swings[1].at_low == pytest.approx(2 * dollars_per_bushel(500) - 10)


def test_the_worst_year_is_the_one_with_the_lowest_estimate():
    result = net_return([4.0, 2.0, -9.0, -3.0], crop_year=[2020, 2020, 2021, 2021])
    assert worst_year(result.by_year).crop_year == 2021
    assert worst_year(()) is None


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.951, "more than 19 to 1"),
        (0.95, "about 19 to 1"),
        (0.75, "about 3 to 1"),
        (0.59, "about even"),
        (0.41, "about even"),
        (0.25, "about 3 to 1 against"),
        (0.049, "more than 19 to 1 against"),
    ],
)
def test_odds_are_said_for_and_against(chance, said):
    assert odds(chance) == said


@pytest.mark.parametrize(("t", "chance"), [(0.741, 0.75), (1.533, 0.90), (2.132, 0.95), (-1.533, 0.10), (0.0, 0.50)])
def test_the_chance_on_a_new_field_is_by_the_t_distribution_of_its_prediction(t, chance):
    """Quantiles of t with 4 degrees of freedom: NIST/SEMATECH e-Handbook, section 1.3.6.7.2 (0.741 from memory).

    The range at 95 % reaches 2.776 spreads above the estimate; the spread is 20 $/ac here.
    """
    found = FieldsNotTried(method="given", estimate=20 * t, df=4.0, prediction_high=20 * (t + 2.776))
    assert chance_new_field(found, level=0.95) == pytest.approx(chance, abs=2e-4)


def test_there_is_no_chance_on_a_new_field_without_a_range_for_one():
    assert chance_new_field(FieldsNotTried(method="given", estimate=1.0, df=4.0), level=0.95) is None
    certain = FieldsNotTried(method="given", estimate=1.0, df=4.0, prediction_high=1.0)
    assert chance_new_field(certain, level=0.95) is None

"""Everything said about money, from the demo farm and from too little."""

from dataclasses import replace

import pytest

from analytics.answer import money_wording as words
from analytics.answer.money_review import assumptions, grade_steps, money_review, outlook, swings
from analytics.errors import BadInput
from analytics.money.buying import Purchase, buy
from analytics.money.chances import chance_above
from analytics.money.windrower import WindrowerWork, windrower_fit
from analytics.trade.budget import partial_budget
from analytics.trade.numbers_as_text import number


@pytest.fixture(scope="module")
def found(demo_records):
    from analytics.storage.database import open_records

    with open_records(demo_records) as connection:
        return money_review(connection)


@pytest.fixture(scope="module")
def at(found):
    return outlook(found, found.price.dollars_per_tonne)


@pytest.fixture
def nothing(tiny):
    return money_review(tiny({}))


def test_the_first_line_gives_the_difference_its_range_and_chances(found):
    answer = found.net_return.these_fields
    line = words.headline(found)
    assert line.startswith("On these fields the two ways came out even")
    assert f"(${-answer.low:.0f} less to ${answer.high:.0f} more)" in line
    assert words.chance(found.chance_here) in line
    assert words.chance(found.chance_ahead) in line


def test_a_new_field_is_less_sure_than_the_average_of_years(found):
    assert 0.5 < found.chance_new_field < min(found.chance_ahead, found.chance_here)
    assert found.chance_here == chance_above(found.net_return.these_fields)


def test_the_four_parts_add_up_to_the_difference_on_these_fields(found):
    budget = partial_budget(found.changes, acres=300)
    assert budget.net / budget.acres == pytest.approx(found.net_return.these_fields.estimate)
    assert [name for name, _ in words.budget_parts(budget)] == [
        "Added revenue", "Reduced cost", "Reduced revenue", "Added cost",
    ]  # fmt: skip


def test_at_its_break_even_yield_the_outlook_is_nothing(at):
    needed = at.yield_needed(at.dollars_per_tonne)
    assert at.net_at(dollars_per_tonne=at.dollars_per_tonne, yield_difference=needed) == pytest.approx(0, abs=1e-9)
    assert at.break_even_yield == pytest.approx(needed)


def test_each_swing_starts_from_the_outlook(found, at):
    for swing in swings(found, at):
        assert min(swing.at_low, swing.at_high) - 1e-9 <= at.net_ac <= max(swing.at_low, swing.at_high) + 1e-9
    widths = [swing.width for swing in swings(found, at)]
    assert widths == sorted(widths, reverse=True)


def test_each_assumption_says_where_its_range_comes_from(found, at):
    for one in assumptions(found, at):
        assert one.basis
        assert one.low <= one.middle <= one.high


def test_grade_steps_follow_the_prices_of_the_newest_year(found):
    steps = dict(grade_steps(found))
    assert list(steps) == ["No. 1 to No. 2", "No. 2 to No. 3", "No. 3 to Sample"]
    assert steps["No. 1 to No. 2"].dollars_per_tonne == 14.0


def test_the_worst_year_says_what_it_would_have_cost(found):
    line = words.worst_year_words(found.net_return, 500)
    assert line.startswith("The worst year on record was 2021: standing left $35 an acre less; on 500 acres it would")


def test_one_year_alone_is_no_worst_year(found):
    alone = replace(found.net_return, by_year=found.net_return.by_year[:1])
    assert words.worst_year_words(alone, 500) == "Only one year is on record; what a bad year would do is not known."


def test_records_that_cover_all_costs_say_so_and_what_is_not_counted(found):
    assert words.where_costs_come_from(found) == "All costs of these 51 plots are from the farm's records."
    assert "drying and freight" in words.not_counted(found)


def test_without_records_it_says_that_there_is_nothing_to_compare(nothing):
    assert words.headline(nothing).startswith("There is nothing to compare yet")
    assert words.where_costs_come_from(nothing) == "No plot in a pair has a net return yet."
    assert words.worst_year_words(nothing.net_return, 500) == "No year is on record yet."
    assert words.for_acres(nothing.net_return, 500) == "For acres nothing can be said yet."
    assert grade_steps(nothing) == []
    with pytest.raises(BadInput, match="no pair has a net return"):
        outlook(nothing, 600.0)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (None, "no chance can be given"),
        (0.951, "more than 19 chances in 20"),
        (0.95, "about 9 chances in 10"),
        (0.5, "about 5 chances in 10"),
        (0.1, "about 1 chance in 10"),
        (0.05, "about 1 chance in 10"),
        (0.049, "fewer than 1 chance in 20"),
    ],
)
def test_a_chance_is_said_in_tenths(value, said):
    assert words.chance(value) == said


def test_a_purchase_is_answered_first():
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=7, acres_a_year=500)
    assert words.purchase_words(purchase, buy(purchase, gain_ac=14), gain_ac=14).startswith(
        "On these figures it pays for itself: about $"
    )
    never = words.purchase_words(purchase, buy(purchase, gain_ac=0), gain_ac=0)
    assert never.startswith("On these figures it does not pay for itself: about $")
    assert "never pays for itself" in never


def test_a_purchase_is_looked_at_again_at_the_ends_of_the_range_and_in_the_worst_year(found):
    """Worst year by hand: its net return an acre by 500 acres, less the yearly cost of the purchase."""
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=0, acres_a_year=500)
    result = buy(purchase, gain_ac=14)
    ends, worst = words.purchase_ends_words(purchase, result, found.net_return, saved_a_year=0.0)
    answer = found.net_return.these_fields
    for end in (answer.low, answer.high):
        assert words.dollars(end * 500 * 10 + 7_000 - 35_000) in ends
    year = min(found.net_return.by_year, key=lambda year: year.estimate)
    cost = -(year.estimate * 500 - 2_800)
    assert worst == (
        f"A year like 2021, the worst on record ($35 less an acre), would on 500 acres cost {words.dollars(cost)}, its "
        "yearly cost of $2,800 counted."
    )


def test_too_few_records_say_nothing_more_about_a_purchase(nothing):
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=7, acres_a_year=500)
    assert words.purchase_ends_words(purchase, buy(purchase, gain_ac=14), nothing.net_return, saved_a_year=0.0) == []


def test_yields_are_said_in_the_chosen_unit(found, at):
    assert words.yield_words(20.0, "t/ha") == "1.12 t/ha"  # 20 x 0.0560426, from the units' own sources
    assert words.break_even_yield_words(at, "kg/ha").endswith(
        f"has to yield {at.break_even_yield * 56.0426:.0f} kg/ha more to come out even."
    )
    one = assumptions(found, at)[0]
    assert words.range_words(one, "bu/ac") == f"{number(one.low, 1)} to {number(one.high, 1)} bu/ac"
    assert words.range_words(one, "lb/ac") == f"{number(one.low * 50, 0)} to {number(one.high * 50, 0)} lb/ac"
    price = assumptions(found, at)[1]
    assert words.range_words(price, "t/ha") == f"${price.low:.0f} to ${price.high:.0f} a tonne"


def test_windrower_days_are_answered_first():
    work = WindrowerWork(
        canola_acres=900, barley_acres=300, acres_per_hour=15, hours_a_day=8, window_days=10, lost_day_pct=30
    )
    line = words.windrower_words(work, windrower_fit(work))
    assert line.startswith("It does not fit the usual window")
    assert "Leaving about 360 acres of canola standing would make room for the barley" in line


@pytest.mark.parametrize(("value", "said"), [(14.2, "$14"), (-14.2, "−$14"), (12_345.0, "$12,345")])
def test_dollars_keep_their_sign_and_have_commas(value, said):
    assert words.dollars(value) == said


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (
            0.5,
            5.2,
            "On these fields the whole range pays; for years to come the range (−1.5 to 6.8 bu/ac) leaves it open.",
        ),
        (-9.0, -5.0, "On these fields the whole range does not pay;"),
        (-3.0, 5.0, "The break-even lies inside the range of the yield gap, so these fields do not decide it."),
    ],
)
def test_a_range_that_pays_here_may_leave_years_to_come_open(found, at, low, high, said):
    to_come = replace(found.yield_as_sold.years_to_come, low=-1.5, high=6.8)
    here = replace(at, break_even_yield=-0.4, yield_low=low, yield_high=high)
    assert words.is_it_decided(here, to_come).startswith(said)


def test_a_range_that_pays_for_years_to_come_says_so(found, at):
    to_come = replace(found.yield_as_sold.years_to_come, low=1.0, high=6.8)
    assert words.is_it_decided(replace(at, break_even_yield=-0.4, yield_low=0.5, yield_high=5.2), to_come).endswith(
        "and for years to come as well."
    )


@pytest.mark.parametrize(
    ("value", "said"),
    [(138_298.0, "about $138,000"), (-17_649.0, "about −$17,600"), (0.0, "$0"), (512.0, "about $512")],
)
def test_a_forecast_is_told_to_three_figures(value, said):
    assert words.rough_dollars(value) == said

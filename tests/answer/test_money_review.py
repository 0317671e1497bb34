"""Everything said about money, from the demo farm and from too little."""

from dataclasses import replace
from datetime import date

import pytest

from analytics.answer import buying_wording as buying
from analytics.answer import money_wording as words
from analytics.answer.money_review import assumptions, grade_steps, money_review, outlook, swings
from analytics.answer.review import review
from analytics.answer.wording import these_fields_sentence, years_to_come_sentence
from analytics.errors import BadInput
from analytics.money.buying import Purchase, buy
from analytics.money.chances import chance_it_pays
from analytics.money.windrower import OtherCrop, WindrowerWork, windrower_fit
from analytics.statistics.results import Finding
from analytics.trade.budget import BreakEvenPrice, partial_budget
from analytics.trade.numbers_as_text import number
from tests.conftest import small_records


@pytest.fixture(scope="module")
def found(demo):
    return money_review(demo)


@pytest.fixture(scope="module")
def at(found):
    return outlook(found, found.price.dollars_per_tonne)


@pytest.fixture(scope="module")
def nothing(tmp_path_factory):
    with small_records(tmp_path_factory.mktemp("nothing") / "records.duckdb", {}) as connection:
        return money_review(connection)


def test_its_net_return_is_the_review_of_net_return_with_every_caution(demo, found):
    assert found.net_return == review(demo, "net_return")


def test_the_first_line_says_whether_it_pays_and_carries_the_finding(found):
    line = words.money_headline(found)
    assert line.startswith(words.does_it_pay(found))
    assert line.endswith(these_fields_sentence(found.net_return))


ONE_WAY = "Asked one way only, and by these records alone:"  # else "it pays" stood bare beside "it is not settled"


@pytest.mark.parametrize(
    ("here", "ahead", "said"),
    [
        (0.96, 0.8, f"{ONE_WAY} on these fields it pays; for years to come it is not settled whether it pays."),
        (0.95, None, f"{ONE_WAY} on these fields it pays; for years to come nothing can be said yet."),
        (
            0.949,
            0.05,
            f"{ONE_WAY} on these fields it is not settled whether it pays; for years to come it does not pay.",
        ),
        (0.5, 0.5, "Whether it pays is not settled, on these fields or for years to come."),
        (None, 0.99, ""),
    ],
)
def test_whether_it_pays_is_asked_one_way_only_at_the_level(found, here, ahead, said):
    assert words.does_it_pay(replace(found, chance_here=here, chance_ahead=ahead)) == said


def test_with_the_first_line_go_odds_years_to_come_and_every_caution(found):
    lines = words.how_sure(found)
    assert years_to_come_sentence(found.net_return) in lines
    assert words.odds_words(found) in lines
    assert {caution.text for caution in found.net_return.cautions} <= set(lines)


def test_odds_say_what_they_know_nothing_of(found):
    said = words.odds_words(found)
    assert said.startswith("By these records alone the odds that standing leaves more are ")
    assert said.endswith("These odds know nothing of soil, variety or prices to come, or how the fields were chosen.")
    drawn = replace(found, net_return=replace(found.net_return, firm=replace(found.net_return.firm, drawn_by_lot=True)))
    assert words.odds_words(drawn).endswith("nothing of soil, variety or prices to come.")
    less = words.odds_words(replace(found, chance_here=0.02, chance_ahead=0.9, chance_new_field=None))
    assert "are more than 19 to 1 against on these fields and about 9 to 1 on average in years to come." in less


def test_a_new_field_is_less_sure_than_the_average_of_years(found):
    far_from_even = [abs(chance - 0.5) for chance in (found.chance_new_field, found.chance_ahead)]
    assert far_from_even == sorted(far_from_even)
    assert found.chance_here == chance_it_pays(found.net_return.these_fields)


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


def test_the_worst_year_says_what_it_comes_to_on_all_acres(found):
    year = min(found.net_return.by_year, key=lambda year: year.estimate)
    line = words.worst_year_words(found.net_return, 500)
    assert line.startswith(f"The worst year on record was {year.crop_year}: ")
    assert line.endswith(f"on 500 acres that is about {words.dollars(words.rough(-500 * year.estimate))} less.")


def test_one_year_alone_is_no_worst_year(found):
    alone = replace(found.net_return, by_year=found.net_return.by_year[:1])
    assert words.worst_year_words(alone, 500) == "Only one year is on record; what a bad year would do is not known."


def test_records_that_cover_all_costs_say_so_and_what_is_not_counted(found):
    plots = 2 * found.net_return.pairs
    assert words.where_costs_come_from(found) == f"All costs of these {plots} plots are from the farm's records."
    assert "drying and freight" in words.not_counted(found)


def test_without_records_it_says_that_there_is_nothing_to_compare(nothing):
    assert words.money_headline(nothing).startswith("There is nothing to compare yet")
    assert words.where_costs_come_from(nothing) == "No plot in a pair has a net return yet."
    assert words.worst_year_words(nothing.net_return, 500) == "No year is on record yet."
    assert words.for_acres(nothing.net_return, 500) == "For acres nothing can be said yet."
    assert grade_steps(nothing) == []
    with pytest.raises(BadInput, match="no pair has a net return"):
        outlook(nothing, 600.0)


def at_ranges(at, here, ahead, needed):
    low, high = here
    ahead_low, ahead_high = ahead
    return replace(
        at, yield_low=low, yield_high=high, ahead_low=ahead_low, ahead_high=ahead_high, break_even_yield=needed
    )


@pytest.mark.parametrize(
    ("here", "ahead", "said"),
    [
        (
            (0.5, 5.2),
            (-1.5, 6.8),
            "On these fields (0.5 to 5.2 bu/ac) the whole range of the yield gap pays; for years to come (−1.5 to 6.8 "
            "bu/ac) the range of the yield gap takes in the break-even, so it is not decided.",
        ),
        (
            (-1.5, 5.2),
            (-1.5, 6.8),
            "On these fields (−1.5 to 5.2 bu/ac) and for years to come (−1.5 to 6.8 bu/ac) the range of the yield gap "
            "takes in the break-even, so it is not decided.",
        ),
        (
            (-5.0, -1.0),
            (None, None),
            "On these fields (−5.0 to −1.0 bu/ac) the whole range of the yield gap does not pay.",
        ),
        ((None, None), (None, None), ""),
    ],
)
def test_what_the_ranges_decide_is_said_for_each_question_with_its_range(at, here, ahead, said):
    assert words.is_it_decided(at_ranges(at, here, ahead, -0.4)) == said


@pytest.mark.parametrize(
    ("pays", "price", "said"),
    [
        ("always", None, "price does not decide it: standing comes out ahead at any price."),
        ("never", None, "price does not decide it: standing comes out behind at any price."),
        ("above", 412.0, "standing comes out ahead above $412 a tonne."),
        ("below", 412.0, "standing comes out ahead below $412 a tonne."),
    ],
)
def test_a_break_even_price_says_that_it_goes_by_the_gap_of_these_fields(pays, price, said):
    line = words.break_even_price_words(BreakEvenPrice(pays=pays, dollars_per_tonne=price))
    assert line == f"If the yield gap stays as on these fields, {said}"


@pytest.mark.parametrize(
    ("needed", "said"),
    [
        (-0.42, "standing can yield up to 0.4 bu/ac less and still come out even."),
        (0.42, "standing must yield 0.4 bu/ac more to come out even."),
        (-0.04, "standing comes out even when both yield the same."),
        (None, "a bushel leaves nothing: freight, drying and grade take it all."),
    ],
)
def test_a_break_even_yield_is_said_by_its_side(at, needed, said):
    line = words.break_even_yield_words(replace(at, break_even_yield=needed, dollars_per_tonne=625.0))
    assert line == f"At $625 a tonne, costs and grades counted, {said}"


def test_why_the_first_line_and_the_break_even_point_different_ways(found, at):
    answer = found.net_return.these_fields
    turned = replace(at, net_ac=-answer.estimate)
    assert "The first line goes by the price of each year" in words.why_they_differ(found, turned)
    sure, open_ = ((5.0, 6.0), (None, None)), ((-5.0, 6.0), (None, None))
    for finding, ranges, differs in (
        (Finding.NOT_SETTLED, sure, True),
        (Finding.NOT_SETTLED, open_, False),
        (Finding.STANDING_HIGHER, sure, False),
        (Finding.STANDING_HIGHER, open_, True),
    ):
        told = replace(found, net_return=replace(found.net_return, these_fields=replace(answer, finding=finding)))
        same_side = replace(at_ranges(at, *ranges, 1.0), net_ac=answer.estimate)
        assert bool(words.why_they_differ(told, same_side)) == differs


def test_all_of_it_rests_on_the_pairs_whose_net_return_is_known(few_graded):
    """Twelve field-years have yields, standing far ahead; the three of 2026 have grades too, and there it left less.

    Formerly "$9 an acre less" stood beside "the whole range of the yield difference lies above the break-even".
    """
    found = money_review(few_graded)
    at = outlook(found, found.price.dollars_per_tonne)
    assert found.net_return.these_fields.estimate < 0
    assert found.yield_as_sold.pairs == found.net_return.pairs == 3
    assert at.yield_difference == pytest.approx(found.yield_as_sold.these_fields.estimate)
    assert at.net_ac == pytest.approx(found.net_return.these_fields.estimate)
    assert at.break_even_yield > at.yield_difference
    assert "pays" not in words.is_it_decided(at).replace("does not pay", "")
    assert [year.crop_year for year in found.net_return.by_year] == [2026]
    assert "3 pairs, 3 field-years, 1 year" in words.rests_on_words(found)


@pytest.fixture
def few_graded(tiny):
    tables = {name: [] for name in ("fields", "plots", "pairs", "loads", "samples", "prices")}
    for year in (2023, 2024, 2025, 2026):
        for place in range(3):
            field = f"Field {place}"
            key = {"crop_year": year, "field": field}
            more = -200.0 * (place + 1) if year == 2026 else 9_000.0 + 500 * place
            for plot, method, kg in (("east", "standing", 40_000.0 + more), ("west", "windrowed", 40_000.0)):
                one = {**key, "plot": plot}
                tables["plots"].append({**one, "method": method, "acres": 40.0})
                load = {"ticket": "1", "weight_kg": kg, "moisture_pct": 9.0, "dockage_pct": 1.0}
                tables["loads"].append({**one, **load})
                if year == 2026:
                    tables["samples"].append({**one, "sample": "1", "grade": "1"})
            sides = {f"{method}_field": field for method in ("standing", "windrowed")}
            sides |= {"standing_plot": "east", "windrowed_plot": "west"}
            tables["pairs"].append({"crop_year": year, "pair": f"P{place}", "layout": "split field", **sides})
        tables["prices"].append({"crop_year": year, "crop": "canola", "grade": "1", "dollars_per_tonne": 600.0})
    tables["fields"] = [{"field": f"Field {place}", "acres": 80.0} for place in range(3)]
    day = date(2026, 8, 20)
    tables["operations"] = [
        {"crop_year": 2026, "field": f"Field {place}", "plot": plot, "done_on": day, "operation": operation,
         "dollars_per_acre": dollars}
        for place in range(3)
        for plot, operation, dollars in (("east", "combining", 50), ("west", "combining", 30), ("west", "swath", 14))
    ]  # fmt: skip
    return tiny(tables)


def test_a_purchase_is_answered_first_on_these_figures():
    """14 $/ac on 500 acres is 7,000 $ a year; at 7 % over 10 years 7.0236 times that, and 7,000 / 1.9672 of salvage."""
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=7, acres_a_year=500)
    line = buying.purchase_words(purchase, buy(purchase, gain_ac=14), gain_ac=14)
    assert line.startswith("On these figures it pays for itself: about $17,700 ahead in today's dollars over 10 years")
    never = buying.purchase_words(purchase, buy(purchase, gain_ac=0), gain_ac=0)
    assert never.startswith("On these figures it does not pay for itself: about $31,400 behind in today's dollars")
    assert "never pays for itself" in never
    slow = buying.purchase_words(purchase, buy(purchase, gain_ac=0.05), gain_ac=0.05)
    assert "Even without interest it is not paid for in its life of 10 years." in slow


def test_a_purchase_on_a_gain_that_is_not_settled_says_so(found, nothing):
    answer = replace(found.net_return.years_to_come, finding=Finding.NOT_SETTLED, low=-28.4, high=113.6)
    is_open = replace(found.net_return, years_to_come=answer)
    assert not buying.is_gain_settled(is_open)
    assert buying.not_settled_words(is_open) == (
        "What an acre gains in years to come is not settled: $28 less to $114 more on average. So neither is this."
    )
    settled = replace(found.net_return, years_to_come=replace(answer, finding=Finding.STANDING_HIGHER))
    assert buying.is_gain_settled(settled)
    assert buying.not_settled_words(settled) == ""
    assert "only a trial of figures" in buying.not_settled_words(nothing.net_return)


def test_a_purchase_is_looked_at_again_at_the_ends_of_both_ranges_and_in_the_worst_year(found):
    """By hand: ten years of the end of the range on 500 acres, salvage less outlay; without interest."""
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=0, acres_a_year=500)
    result = buy(purchase, gain_ac=14)
    here, ahead, worst = buying.purchase_ends_words(purchase, result, found.net_return, saved_a_year=0.0)
    for line, answer in ((here, found.net_return.these_fields), (ahead, found.net_return.years_to_come)):
        for end in (answer.low, answer.high):
            today = end * 500 * 10 + 7_000 - 35_000
            way = "ahead" if today >= 0 else "behind"
            assert f"{words.dollars(words.rough(abs(today)))} {way}" in line
    year = min(found.net_return.by_year, key=lambda year: year.estimate)
    cost = -(year.estimate * 500 - 2_800)
    assert worst == (
        f"A year like {year.crop_year}, the worst on record ({words.ends_words(year.estimate)} an acre), would on 500 "
        f"acres cost about {words.dollars(round(cost, -2))}, its yearly cost of $2,800 counted."
    )


def test_too_few_records_say_nothing_more_about_a_purchase(nothing):
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=7, acres_a_year=500)
    assert buying.purchase_ends_words(purchase, buy(purchase, gain_ac=14), nothing.net_return, saved_a_year=0.0) == []


def test_two_close_years_decide_nothing_about_money(found):
    """With t on one degree of freedom two close years have a narrow range, of which "the whole range pays" was said
    beside "for years to come nothing can be said yet".
    """
    few = replace(found.net_return.years_to_come, finding=Finding.TOO_FEW, estimate=50.0, low=45.0, high=55.0)
    net = replace(found.net_return, these_fields=few, years_to_come=few)
    sold = replace(found.yield_as_sold, these_fields=replace(few, estimate=5.0, low=4.5, high=5.5), years_to_come=few)
    at = outlook(replace(found, net_return=net, yield_as_sold=sold), 600.0)
    assert words.is_it_decided(at) == ""
    assert words.for_acres(net, 100) == "On 100 acres a year that is about $5,000 more; there is no range yet."
    purchase = Purchase(outlay=35_000, life_years=10, salvage=7_000, interest_pct=7, acres_a_year=500)
    ends = buying.purchase_ends_words(purchase, buy(purchase, gain_ac=14), net, saved_a_year=0.0)
    assert not any("ends of the range" in line for line in ends)
    assert "not known from these records" in buying.not_settled_words(net)


def test_yields_are_said_in_the_chosen_unit(found, at):
    assert words.yield_words(20.0, "t/ha") == "1.12 t/ha"  # 20 x 0.0560426, from the units' own sources
    assert f" {abs(at.break_even_yield) * 56.0426:.0f} kg/ha " in words.break_even_yield_words(at, "kg/ha")
    one = assumptions(found, at)[0]
    assert words.range_words(one, "bu/ac") == f"{number(one.low, 1)} to {number(one.high, 1)} bu/ac"
    assert words.range_words(one, "lb/ac") == f"{number(one.low * 50, 0)} to {number(one.high * 50, 0)} lb/ac"
    price = assumptions(found, at)[1]
    assert words.range_words(price, "t/ha") == f"${price.low:.0f} to ${price.high:.0f} a tonne"


def windrower_line(*crops, canola_acres=900):
    work = WindrowerWork(
        canola_acres=canola_acres,
        other_crops=tuple(OtherCrop(name=name, acres=acres) for name, acres in crops),
        acres_per_hour=15,
        hours_a_day=8,
        window_days=10,
        lost_day_pct=30,
    )
    return buying.windrower_words(work, windrower_fit(work))


def test_windrower_days_are_answered_first_and_name_the_other_crops():
    """10 days of cutting for 1,200 acres, 7 usual, 6 or more in 8 windows of 10: 360 and 480 acres too many."""
    line = windrower_line(("oats", 200), ("wheat", 100))
    assert line.startswith(
        "It does not fit the usual window: it takes 10.0 days of cutting, and 7.0 are usual. It would"
    )
    assert "Leaving about 480 acres of canola standing would make room for the oats and wheat in 8 years of 10" in line
    assert line.endswith("about 360 acres in a usual one, if those fields are fit to stand.")


def test_without_other_crops_nobody_is_told_to_make_room():
    assert "make room" not in windrower_line()
    assert "make room" not in windrower_line(("oats", 0))
    assert windrower_line(("oats", 100), canola_acres=200).startswith("It fits the usual window")


def test_other_crops_that_alone_do_not_fit_are_said():
    assert "The oats alone are more than a usual window holds" in windrower_line(("oats", 900))


@pytest.mark.parametrize(
    ("value", "said"), [(14.2, "$14"), (-14.2, "−$14"), (12_345.0, "$12,345"), (1_250.4, "$1,250")]
)
def test_dollars_keep_their_sign_and_have_commas(value, said):
    assert words.dollars(value) == said

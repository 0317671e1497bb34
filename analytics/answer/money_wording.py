"""Money in plain sentences, for the screen and the sheet alike."""

from math import floor, log10

from analytics.answer.difference_words import words_for
from analytics.answer.money_review import MoneyReview, Outlook
from analytics.answer.wording import sentence
from analytics.money.buying import Purchase, PurchaseResult, buy
from analytics.money.chances import worst_year
from analytics.money.windrower import WindrowerFit, WindrowerWork
from analytics.statistics.results import Answer, Comparison
from analytics.trade.budget import Assumption, BreakEvenPrice, GradeStep, PartialBudget
from analytics.trade.numbers_as_text import MINUS, amount, count, number
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac


def no_break_even(found: MoneyReview) -> str:
    """Why there is no break-even."""
    if found.price is None:
        return "The break-even is not known: there is no price of canola on record."
    return "The break-even is not known: no pair has weights, grades, prices and costs on both sides."


def dollars(value: float, *, decimals: int = 0) -> str:
    """An amount of money: "$14", "−$1,250"."""
    text = number(value, decimals)
    return f"{MINUS}${text[1:]}" if text.startswith(MINUS) else f"${text}"


def rough_dollars(value: float) -> str:
    """An amount that rests on a forecast, to three figures: $138,298 is "about $138,000"."""
    if value == 0:
        return "$0"
    return f"about {dollars(round(value, 2 - floor(log10(abs(value)))))}"


def chance(value: float | None) -> str:
    """A chance as so many in ten; near the ends in twenty.

    >>> chance(0.91)
    'about 9 chances in 10'
    """
    if value is None:
        return "no chance can be given"
    if value > 0.95:
        return "more than 19 chances in 20"
    if value < 0.05:
        return "fewer than 1 chance in 20"
    tenths = min(max(round(value * 10), 1), 9)
    return f"about {tenths} {'chance' if tenths == 1 else 'chances'} in 10"


def headline(found: MoneyReview) -> str:
    """The first line: what standing left, and how likely it is to pay."""
    answer = found.net_return.these_fields
    if found.chance_here is None or answer.estimate is None or answer.low is None or answer.high is None:
        return sentence(found.net_return)
    terms = words_for(found.net_return, answer)
    words = f"On these fields {terms.clause(answer.estimate)} ({terms.bracket(answer.low, answer.high)})"
    ahead = ""
    if found.chance_ahead is not None:
        ahead = f", on average over years to come in {chance(found.chance_ahead)}"
    if found.chance_new_field is not None:
        ahead += f", on a single new field in {chance(found.chance_new_field)}"
    return (
        f"{words}. By these records alone standing leaves more here in {chance(found.chance_here)}{ahead}. These "
        "chances "
        "know nothing of soil, variety or how the fields were chosen."
    )


def _ends(value: float) -> str:
    return f"{dollars(abs(value))} {'more' if value >= 0 else 'less'}"


def where_costs_come_from(found: MoneyReview) -> str:
    """How many plots rest on records and how many on defaults, and for what."""
    rows = {row["cost_from"]: row for row in found.sources.iter_rows(named=True)}
    total = sum(row["plots"] for row in rows.values())
    if not total:
        return "No plot in a pair has a net return yet."
    from_records = rows["records"]["plots"] if "records" in rows else 0
    if from_records == total:
        return f"All costs of these {total} plots are from the farm's records."
    items = sorted(
        {
            item
            for row in rows.values()
            for text in (row["default_items"] or "").split("; ")
            for item in text.split(", ")
            if item
        }
    )
    return (
        f"Of these {total} plots {from_records} have all costs on record; for the others rates fill in for "
        f"{', '.join(items)}, marked below with year and source."
    )


def not_counted(found: MoneyReview) -> str:
    """Costs whose rate is nothing until one is typed; "" when all are counted."""
    names = [rate.item for rate in found.rates.values() if rate.basis == "assumed" and rate.item != "wheel tracks"]
    if not names:
        return ""
    return f"Not counted until a rate is typed: {' and '.join(names)}; owning a windrower or a header likewise."


def yield_words(bu_ac: float | None, unit: str) -> str:
    """A yield, or a difference of yields, in the chosen unit.

    >>> yield_words(1.0, "kg/ha")
    '56 kg/ha'
    """
    return amount(None if bu_ac is None else bu_ac * per_bu_ac(unit), unit, YIELD_DECIMALS[unit])


def break_even_yield_words(at: Outlook, unit: str = "bu/ac") -> str:
    """How much more, or less, standing must give, in the chosen yield unit."""
    price = f"at {dollars(at.dollars_per_tonne)} a tonne"
    if at.break_even_yield is None:
        return f"No yield difference can pay {price}: freight takes it all."
    need = yield_words(abs(at.break_even_yield), unit)
    start = f"{price[0].upper()}{price[1:]}, costs and grades counted, standing"
    if need == yield_words(0.0, unit):
        return f"{start} comes out even at the same yield."
    if at.break_even_yield < 0:
        return f"{start} can yield up to {need} less and still come out even."
    return f"{start} has to yield {need} more to come out even."


def break_even_price_words(price: BreakEvenPrice) -> str:
    """From, or up to, which price standing leaves more, if the yield gap is as recorded."""
    start = "If the yield gap is as recorded,"
    if price.pays == "always":
        return f"{start} price does not decide it: standing leaves more at any price."
    if price.pays == "never" or price.dollars_per_tonne is None:
        return f"{start} price does not decide it: standing leaves less at any price."
    side = "above" if price.pays == "above" else "below"
    return f"{start} standing leaves more {side} {dollars(price.dollars_per_tonne)} a tonne."


def is_it_decided(at: Outlook, to_come: Answer, unit: str = "bu/ac") -> str:
    """Whether the whole range of the yield gap pays, on these fields and for years to come.

    to_come : the answer for years to come of yield as sold, in bu/ac
    """
    if at.break_even_yield is None or at.yield_low is None or at.yield_high is None:
        return ""
    if at.yield_low <= at.break_even_yield <= at.yield_high:
        return "The break-even lies inside the range of the yield gap, so these fields do not decide it."
    does = "pays" if at.yield_low > at.break_even_yield else "does not pay"
    here = f"On these fields the whole range {does}"
    if to_come.low is None or to_come.high is None:
        return f"{here}; for years to come nothing can be said yet."
    if at.break_even_yield < to_come.low or at.break_even_yield > to_come.high:
        return f"{here}, and for years to come as well."
    ends = " to ".join(number(end * per_bu_ac(unit), YIELD_DECIMALS[unit]) for end in (to_come.low, to_come.high))
    return f"{here}; for years to come the range ({ends} {unit}) leaves it open."


def for_acres(comparison: Comparison, acres: float) -> str:
    """The net difference for so many acres a year, with its range."""
    answer = comparison.these_fields
    if answer.estimate is None:
        return "For acres nothing can be said yet."
    words = f"On {number(acres, 0)} acres a year that is {_ends(answer.estimate * acres)}"
    if answer.low is None or answer.high is None:
        return f"{words}; there is no range yet."
    span = words_for(comparison, answer).bracket(answer.low * acres, answer.high * acres)
    return f"{words} ({span}), if they behave as these fields did."


def range_words(assumption: Assumption, unit: str) -> str:
    """From where to where an assumption may lie, yields in the chosen unit: "$560 to $845 a tonne"."""
    if assumption.unit == "bu/ac":
        factor, decimals = per_bu_ac(unit), YIELD_DECIMALS[unit]
        ends = (number(end * factor, decimals) for end in (assumption.low, assumption.high))
        return f"{' to '.join(ends)} {unit}"
    decimals, of = (0, "a tonne") if assumption.unit == "$/t" else (1, "an acre")
    return f"{dollars(assumption.low, decimals=decimals)} to {dollars(assumption.high, decimals=decimals)} {of}"


def grade_step_words(name: str, step: GradeStep, unit: str = "bu/ac") -> str:
    """What falling by one grade costs, in every unit a grower thinks in."""
    tonne, bushel = dollars(step.dollars_per_tonne), dollars(step.dollars_per_bushel, decimals=2)
    acre, bushels = dollars(step.dollars_ac, decimals=2), yield_words(step.bushels_ac, unit)
    return f"{name}: {tonne} a tonne, {bushel} a bushel, {acre} an acre at the mean yield; as much as {bushels}."


def worst_year_words(comparison: Comparison, acres: float) -> str:
    """The worst year on record and what it would have cost or left."""
    year = worst_year(comparison.by_year)
    if year is None:
        return "No year is on record yet."
    if len(comparison.by_year) == 1:
        return "Only one year is on record; what a bad year would do is not known."
    if year.estimate >= 0:
        return (
            f"The worst year on record was {year.crop_year}: standing still left {dollars(year.estimate)} an acre more."
        )
    return (
        f"The worst year on record was {year.crop_year}: standing left {dollars(-year.estimate)} an acre less; on "
        f"{number(acres, 0)} acres it would have cost {dollars(-year.estimate * acres)}."
    )


def budget_parts(budget: PartialBudget) -> list[tuple[str, tuple[tuple[str, float], ...]]]:
    """The four classic parts with their names, in their order."""
    return [
        ("Added revenue", budget.added_revenue),
        ("Reduced cost", budget.reduced_cost),
        ("Reduced revenue", budget.reduced_revenue),
        ("Added cost", budget.added_cost),
    ]


def purchase_words(purchase: Purchase, result: PurchaseResult, *, gain_ac: float) -> str:
    """Whether the outlay comes back, first; then how."""
    interest = amount(purchase.interest_pct, "%", 0 if float(purchase.interest_pct).is_integer() else 1)
    over = f"in today's dollars over {count(purchase.life_years, 'year')} at {interest}"
    value = rough_dollars(abs(result.net_present_value))
    cost = f"It costs {dollars(result.cost_ac, decimals=2)} an acre and brings {dollars(gain_ac, decimals=2)}"
    if result.net_present_value < 0:
        first = f"On these figures it does not pay for itself: {value} behind {over}."
    else:
        first = f"On these figures it pays for itself: {value} ahead {over}."
    payback = (
        "It never pays for itself, even without interest."
        if result.payback_years is None
        else f"Without interest it is paid for in {number(result.payback_years, 1)} years."
    )
    acres = (
        "Without a gain per acre no acreage is enough."
        if result.acres_to_break_even is None
        else f"It breaks even from {number(result.acres_to_break_even, 0)} acres a year."
    )
    return f"{first} {cost}. {payback} {acres}"


def purchase_ends_words(
    purchase: Purchase, result: PurchaseResult, comparison: Comparison, *, saved_a_year: float
) -> list[str]:
    """The same purchase at the ends of the range on record, and in the worst year on record.

    comparison : of net return, $/ac
    """
    answer, lines = comparison.these_fields, []
    if answer.low is not None and answer.high is not None:
        low, high = (buy(purchase, gain_ac=end, saved_a_year=saved_a_year) for end in (answer.low, answer.high))
        lines.append(
            f"At the ends of the range on these fields, {dollars(answer.low)} and {dollars(answer.high)} an acre, it "
            f"comes to {dollars(low.net_present_value)} and {dollars(high.net_present_value)} in today's dollars."
        )
    worst = worst_year(comparison.by_year)
    if worst is not None and len(comparison.by_year) > 1:
        left = worst.estimate * purchase.acres_a_year + saved_a_year - result.cost_a_year
        lines.append(
            f"A year like {worst.crop_year}, the worst on record ({_ends(worst.estimate)} an acre), would on "
            f"{number(purchase.acres_a_year, 0)} acres {'leave' if left >= 0 else 'cost'} {dollars(abs(left))}, its "
            f"yearly cost of {dollars(result.cost_a_year)} counted."
        )
    return lines


def windrower_words(work: WindrowerWork, fit: WindrowerFit) -> str:
    """Will it fit, and how many canola acres must stand."""
    need = f"{number(fit.days_needed, 1)} days of cutting, and {number(fit.usual_days, 1)} are usual"
    fits = chance(fit.chance_it_fits).replace("chances", "years").replace("chance", "year").replace("fewer", "less")
    start = "It fits" if fit.fits_usually else "It does not fit"
    first = f"{start} the usual window: it takes {need}. It would fit in {fits}."
    if not fit.barley_alone_fits:
        return f"{first} The barley alone is more than a usual window holds, even with all canola left standing."
    stand = (
        f"Leaving about {number(fit.standing_acres_usually, 0)} acres of canola standing would make room for the "
        "barley "
        f"in a usual window, about {number(fit.standing_acres_8_in_10, 0)} acres in 8 years of 10, if those fields are "
        "fit to stand."
    )
    return f"{first} {stand}"

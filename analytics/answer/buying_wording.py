"""Buying header parts and the windrower's days in plain sentences."""

from analytics.answer.money_wording import dollars, ends_words, listed, rough
from analytics.money.buying import Purchase, PurchaseResult, buy
from analytics.money.chances import worst_year
from analytics.money.windrower import WindrowerFit, WindrowerWork
from analytics.statistics.results import Comparison, Finding
from analytics.trade.numbers_as_text import amount, count, number

SETTLED = (Finding.STANDING_HIGHER, Finding.STANDING_LOWER)


def is_gain_settled(net_return: Comparison) -> bool:
    """Whether what an acre gains is settled for years to come, which is what a purchase lives on."""
    return net_return.years_to_come.finding in SETTLED


def not_settled_words(net_return: Comparison) -> str:
    """Why nothing that depends on the gain is settled either; "" when it is."""
    answer = net_return.years_to_come
    if is_gain_settled(net_return):
        return ""
    if answer.told_low is None or answer.told_high is None:
        return (
            "What an acre gains in years to come is not known from these records, so this is only a trial of figures."
        )
    return (
        f"What an acre gains in years to come is not settled: {ends_words(answer.told_low)} to "
        f"{ends_words(answer.told_high)} on average. So neither is this."
    )


def purchase_terms_words(purchase: Purchase) -> str:
    """What is bought, on which terms: "Outlay $30,000, worth $5,000 after 10 years, at 7 %, on 500 acres a year."."""
    return (
        f"Outlay {dollars(purchase.outlay)}, worth {dollars(purchase.salvage)} after "
        f"{count(purchase.life_years, 'year')}, at {amount(purchase.interest_pct, '%', 1)}, on "
        f"{number(purchase.acres_a_year, 0)} acres a year."
    )


def purchase_words(purchase: Purchase, result: PurchaseResult, *, gain_ac: float) -> str:
    """Whether the outlay comes back on these figures, first; then how."""
    interest = amount(purchase.interest_pct, "%", 0 if float(purchase.interest_pct).is_integer() else 1)
    years = f"over {count(purchase.life_years, 'year')} at {interest}"
    today = f"about {dollars(rough(abs(result.net_present_value)))}"
    if result.net_present_value >= 0:
        first = f"On these figures it pays for itself: {today} ahead in today's dollars {years}."
    else:
        first = f"On these figures it does not pay for itself: {today} behind in today's dollars {years}."
    cost = f"It costs {dollars(result.cost_ac, decimals=2)} an acre and brings {dollars(gain_ac, decimals=2)}."
    if result.payback_years is None:
        payback = "It never pays for itself, even without interest."
    elif result.payback_years > purchase.life_years:
        payback = f"Even without interest it is not paid for in its life of {count(purchase.life_years, 'year')}."
    else:
        payback = f"Without interest it is paid for in {number(result.payback_years, 1)} years."
    acres = (
        "Without a gain per acre no acreage is enough."
        if result.acres_to_break_even is None
        else f"It breaks even from about {number(rough(result.acres_to_break_even), 0)} acres a year."
    )
    return f"{first} {cost} {payback} {acres}"


def purchase_ends_words(
    purchase: Purchase, result: PurchaseResult, comparison: Comparison, *, saved_a_year: float
) -> list[str]:
    """The same purchase at the ends of both ranges on record, and in the worst year on record.

    comparison : of net return, $/ac
    """
    lines = []
    for where, answer in (
        ("on these fields", comparison.these_fields),
        ("for years to come", comparison.years_to_come),
    ):
        least, most = answer.told_low, answer.told_high
        if least is not None and most is not None:
            values = [buy(purchase, gain_ac=end, saved_a_year=saved_a_year).net_present_value for end in (least, most)]
            low, high = (f"{dollars(rough(abs(value)))} {'ahead' if value >= 0 else 'behind'}" for value in values)
            lines.append(
                f"At the ends of the range {where}, {ends_words(least)} and {ends_words(most)} an acre, it is about "
                f"{low} and {high}."
            )
    worst = worst_year(comparison.by_year)
    if worst is not None and len(comparison.by_year) > 1:
        left = worst.estimate * purchase.acres_a_year + saved_a_year - result.cost_a_year
        did = f"{'leave' if left >= 0 else 'cost'} about {dollars(rough(abs(left)))}"
        lines.append(
            f"A year like {worst.crop_year}, the worst on record ({ends_words(worst.estimate)} an acre), would on "
            f"{number(purchase.acres_a_year, 0)} acres {did}, its yearly cost of {dollars(result.cost_a_year)} counted."
        )
    return lines


def windrower_words(work: WindrowerWork, fit: WindrowerFit) -> str:
    """Will it fit, and how many canola acres left standing would make room for the other crops."""
    need = f"{number(fit.days_needed, 1)} days of cutting, and {number(fit.usual_days, 1)} are usual"
    usually = "It fits the usual window" if fit.fits_usually else "It does not fit the usual window"
    first = f"{usually}: it takes {need}. It would fit in {_years_in_ten(fit.chance_it_fits)}."
    others = listed([crop.name for crop in work.other_crops if crop.acres])
    if not others or not fit.standing_acres_8_in_10:
        return first
    if not fit.others_alone_fit:
        return f"{first} The {others} alone are more than a usual window holds, even with all canola left standing."
    room = (
        f"Leaving about {number(fit.standing_acres_8_in_10, 0)} acres of canola standing would make room for the "
        f"{others} in 8 years of 10"
    )
    if fit.standing_acres_usually:
        room += f", about {number(fit.standing_acres_usually, 0)} acres in a usual one"
    return f"{first} {room}, if those fields are fit to stand."


def _years_in_ten(value: float) -> str:
    """How often, in years.

    >>> _years_in_ten(0.02), _years_in_ten(0.9)
    ('less than 1 year in 20', 'about 9 years in 10')
    """
    if value < 0.05:
        return "less than 1 year in 20"
    if value > 0.95:
        return "more than 19 years in 20"
    tenths = min(max(round(value * 10), 1), 9)
    return f"about {tenths} {'year' if tenths == 1 else 'years'} in 10"

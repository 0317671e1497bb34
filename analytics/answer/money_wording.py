"""Money in plain sentences, for the screen and the sheet alike."""

from collections.abc import Sequence

from analytics.answer.difference_words import words_for
from analytics.answer.money_review import MoneyReview, Outlook
from analytics.answer.published import chance_above, in_100
from analytics.answer.wording import firm_sentence, rests_on, these_fields_sentence, years_to_come_sentence
from analytics.money.chances import odds, worst_year
from analytics.statistics.results import Comparison, Finding, Question
from analytics.trade.budget import EVEN_MONEY, Assumption, BreakEvenPrice, Change, GradeStep, PartialBudget
from analytics.trade.numbers_as_text import MINUS, amount, number
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac

OPEN = "it is not settled whether it pays"


def no_break_even(found: MoneyReview) -> str:
    """Why there is no break-even."""
    if found.price is None:
        return "The break-even is not known: there is no price of canola on record."
    return "The break-even is not known: no pair has weights, grades, prices and costs on both sides."


def dollars(value: float, *, decimals: int = 0) -> str:
    """An amount of money: "$14", "−$1,250"."""
    text = number(value, decimals)
    return f"{MINUS}${text[1:]}" if text.startswith(MINUS) else f"${text}"


def rough(value: float) -> float:
    """An amount to three figures: more would be false precision.

    >>> rough(138298), rough(-847.2)
    (138000.0, -847.0)
    """
    step = 10.0 ** max(len(str(int(abs(value)))) - 3, 0)
    return round(value / step) * step


def rate_words(value: float, unit: str) -> str:
    """A cost rate as it is said.

    >>> rate_words(12.5, "$/ac"), rate_words(3.2, "$/t a point")
    ('$12.50 an acre', '$3.20 a tonne and point')
    """
    return amount(value, unit, 2 if unit.startswith("$") else 1)


def money_headline(found: MoneyReview) -> str:
    """The first line: whether standing pays, asked one way only, and what it left with its range and finding."""
    return " ".join(part for part in (does_it_pay(found), these_fields_sentence(found.net_return)) if part)


def does_it_pay(found: MoneyReview) -> str:
    """Both questions asked one way only: does standing leave more? "" where these fields are too few to judge."""
    here = _pays(found.chance_here, found.net_return.level)
    ahead = _pays(found.chance_ahead, found.net_return.level) or "nothing can be said yet"
    if not here:
        return ""
    if here == ahead == OPEN:
        return "Whether it pays is not settled, on these fields or for years to come."
    return f"Asked one way only, and by these records alone: on these fields {here}; for years to come {ahead}."


def _pays(chance: float | None, level: float) -> str:
    if chance is None:
        return ""
    if chance >= level:
        return "it pays"
    return "it does not pay" if chance <= 1 - level else OPEN


def how_sure(found: MoneyReview) -> list[str]:
    """What goes with the first line: how firm it is, the odds, years to come, and every caution."""
    net = found.net_return
    if not net.all_pairs.pairs:
        return []
    lines = [
        firm_sentence(net, Question.THESE_FIELDS),
        odds_words(found),
        years_to_come_sentence(net),
        firm_sentence(net, Question.YEARS_TO_COME),
        *(caution.text for caution in net.cautions),
    ]
    return [line for line in lines if line]


def odds_words(found: MoneyReview) -> str:
    """The odds by the records alone that standing leaves more, and what they do not know; "" where there are none."""
    asked = (
        (found.chance_here, "on these fields"),
        (found.chance_ahead, "on average in years to come"),
        (found.chance_new_field, "on a field not tried yet"),
    )
    said = [f"{odds(chance)} {where}" for chance, where in asked if chance is not None]
    if not said:
        return ""
    chosen = "" if found.net_return.firm.drawn_by_lot else ", or how the fields were chosen"
    return (
        f"By these records alone the odds that standing leaves more are {listed(said)}. These odds know nothing of "
        f"soil, variety or prices to come{chosen}."
    )


def listed(parts: Sequence[str]) -> str:
    """Parts in a row: "oats, rye and wheat"."""
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def rests_on_words(found: MoneyReview) -> str:
    """Which pairs all of it rests on."""
    return f"Net return, break-even, worst year and ranges rest on the same pairs: {rests_on(found.net_return)}"


def ends_words(value: float) -> str:
    """An amount with its way: "$14 more"."""
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
    rates = [rate for rate in found.rates.values() if rate.basis == "assumed" and rate.unit != "$/h"]
    names = [rate.item for rate in rates if rate.item != "wheel tracks"]
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
    """How much more standing must yield, or how much less it may, in the chosen yield unit."""
    price = f"At {dollars(at.dollars_per_tonne)} a tonne, costs and grades counted,"
    if at.break_even_yield is None:
        return f"{price} a bushel leaves nothing: freight, drying and grade take it all."
    need = yield_words(abs(at.break_even_yield), unit)
    if need == yield_words(0.0, unit):
        return f"{price} standing comes out even when both yield the same."
    if at.break_even_yield < 0:
        return f"{price} standing can yield up to {need} less and still come out even."
    return f"{price} standing must yield {need} more to come out even."


def break_even_price_words(price: BreakEvenPrice) -> str:
    """From, or up to, which price standing comes out ahead at the yield gap of these fields."""
    gap = "If the yield gap stays as on these fields,"
    if price.pays == "always":
        return f"{gap} price does not decide it: standing comes out ahead at any price."
    if price.pays == "never" or price.dollars_per_tonne is None:
        return f"{gap} price does not decide it: standing comes out behind at any price."
    return f"{gap} standing comes out ahead {price.pays} {dollars(price.dollars_per_tonne)} a tonne."


def is_it_decided(at: Outlook, unit: str = "bu/ac") -> str:
    """For each question, whether the break-even lies inside the range of the yield gap; which range is said."""
    asked = (
        ("on these fields", at.yield_low, at.yield_high),
        ("for years to come", at.ahead_low, at.ahead_high),
    )
    factor, decimals = per_bu_ac(unit), YIELD_DECIMALS[unit]
    verdicts: dict[str, list[str]] = {}
    for where, low, high in asked:
        if low is not None and high is not None and at.break_even_yield is not None:
            span = f"{number(low * factor, decimals)} to {number(high * factor, decimals)} {unit}"
            verdicts.setdefault(_against(low, high, at.break_even_yield), []).append(f"{where} ({span})")
    text = "; ".join(f"{' and '.join(where)} {verdict}" for verdict, where in verdicts.items())
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _against(low: float, high: float, needed: float) -> str:
    if low > needed:
        return "the whole range of the yield gap pays"
    if high < needed:
        return "the whole range of the yield gap does not pay"
    return "the range of the yield gap takes in the break-even, so it is not decided"


def pays_from_published(found: MoneyReview, at: Outlook, unit: str = "bu/ac") -> str:
    """Whether it pays in years to come where somebody chose to start from the published trials, and that he did.

    The start published for yield at one moisture is taken for yield as sold: our choice, no source.
    """
    needed = at.break_even_yield
    if needed is None:
        return "A bushel leaves nothing at this price, so no yield gap comes out even."
    places = found.yield_as_sold.places_to_come
    years = [-1 if place.crop_year is None else place.crop_year for place in places]
    chance = chance_above(needed, [place.difference for place in places], years)
    if chance is None:
        return "There is no such start yet: it takes two years of yields that differ."
    enough = yield_words(abs(needed), unit)
    way = "more" if needed > 0 else "less"
    gap = "yield as much" if enough == yield_words(0.0, unit) else f"yield {enough} {way}, or better"
    return (
        f"Starting from the published trials, as you chose: {in_100(chance)} chances in 100 that on average in years "
        f"to come standing plots would {gap}, which at {dollars(at.dollars_per_tonne)} a tonne comes out even. Grades "
        "and costs are taken as on these pairs. The first line of this screen does not use the published trials."
    )


def why_they_differ(found: MoneyReview, at: Outlook) -> str:
    """Why the first line and the break-even point different ways, in one sentence; "" when they do not."""
    answer = found.net_return.these_fields
    if answer.estimate is None or answer.finding is Finding.TOO_FEW:
        return ""
    if answer.estimate * at.net_ac < 0 and abs(at.net_ac) >= EVEN_MONEY:
        return (
            f"The first line goes by the price of each year, which left {ends_words(answer.estimate)} an acre; at "
            f"{dollars(at.dollars_per_tonne)} in every year the same yields, grades and costs leave "
            f"{ends_words(at.net_ac)}."
        )
    needed = at.break_even_yield
    if needed is None or at.yield_low is None or at.yield_high is None:
        return ""
    is_decided = not at.yield_low <= needed <= at.yield_high
    is_settled = answer.finding in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER)
    if is_decided == is_settled:
        return ""
    return (
        "The first line also carries what grades, costs and prices did from field to field; the break-even takes their "
        "averages as known, so only the yield gap is in doubt there."
    )


def for_acres(comparison: Comparison, acres: float) -> str:
    """The net difference for so many acres a year, with its range."""
    answer = comparison.these_fields
    if answer.estimate is None:
        return "For acres nothing can be said yet."
    words = f"On {number(acres, 0)} acres a year that is about {ends_words(rough(answer.estimate * acres))}"
    if answer.told_low is None or answer.told_high is None:
        return f"{words}; there is no range yet."
    span = words_for(comparison, answer).bracket(rough(answer.told_low * acres), rough(answer.told_high * acres))
    return f"{words} ({span}), if they behave as these fields did."


def range_words(assumption: Assumption, unit: str) -> str:
    """From where to where an assumption may lie, yields in the chosen unit: "$560 to $845 a tonne"."""
    if assumption.unit == "bu/ac":
        factor, decimals = per_bu_ac(unit), YIELD_DECIMALS[unit]
        ends = (number(end * factor, decimals) for end in (assumption.low, assumption.high))
        return f"{' to '.join(ends)} {unit}"
    decimals, of = (0, "a tonne") if assumption.unit == "$/t" else (2, "an acre")
    return f"{dollars(assumption.low, decimals=decimals)} to {dollars(assumption.high, decimals=decimals)} {of}"


def grade_step_words(name: str, step: GradeStep, unit: str = "bu/ac") -> str:
    """What falling by one grade costs, in every unit a grower thinks in."""
    tonne, bushel = dollars(step.dollars_per_tonne), dollars(step.dollars_per_bushel, decimals=2)
    acre, bushels = dollars(step.dollars_ac, decimals=2), yield_words(step.bushels_ac, unit)
    return f"{name}: {tonne} a tonne, {bushel} a bushel, {acre} an acre at the mean yield; as much as {bushels}."


def worst_year_words(comparison: Comparison, acres: float) -> str:
    """The worst year on record, an acre and on so many acres."""
    year = worst_year(comparison.by_year)
    if year is None:
        return "No year is on record yet."
    if len(comparison.by_year) == 1:
        return "Only one year is on record; what a bad year would do is not known."
    terms = words_for(comparison, comparison.these_fields)
    first = f"The worst year on record was {year.crop_year}: {terms.clause(year.estimate)}"
    if year.estimate >= 0:
        return f"{first}, even then."
    return f"{first}; on {number(acres, 0)} acres that is about {dollars(rough(-year.estimate * acres))} less."


def line_words(change: Change) -> str:
    """A line of the budget by what it did for standing: "windrowing saved", "application paid", "yield"."""
    if change.kind == "revenue":
        return change.name
    return f"{change.name} {'saved' if change.dollars_ac < 0 else 'paid'}"


def budget_parts(budget: PartialBudget) -> list[tuple[str, tuple[tuple[str, float], ...]]]:
    """The four classic parts with their names, in their order."""
    return [
        ("Added revenue", budget.added_revenue),
        ("Reduced cost", budget.reduced_cost),
        ("Reduced revenue", budget.reduced_revenue),
        ("Added cost", budget.added_cost),
    ]

"""What a pair gave, side by side: weight and yield, quality, money, each with its tickets and counts."""

from collections.abc import Sequence

from analytics.pairs import grading
from analytics.pairs.facts import (
    NOTHING,
    Fact,
    Group,
    Papers,
    difference_words,
    figure,
    known_sides,
    numbers_fact,
    same_fact,
    with_caution,
    words,
)
from analytics.pairs.sides import PairSides, Record, Side
from analytics.settings import Settings
from analytics.trade import grade_limits
from analytics.trade.cautions import HEATING
from analytics.trade.grade_limits import GRADES
from analytics.trade.numbers_as_text import THIN_SPACE, UNKNOWN, number
from analytics.trade.units import YIELD_DECIMALS, lb_per_avery_bushel, per_bu_ac


def weight_and_yield(sides: PairSides, settings: Settings, classes: dict[str, str]) -> Group:
    """Loads, dockage, moisture, and yield on both bases. classes : the moisture class of each method, where known."""
    tickets = {side.method: _tickets(side) for side in known_sides(sides) if side.many["load_mass"]}
    weighed = same_fact(sides, "weighed by", "plot_yield", "weighed_by", "")
    how = {side.value("plot_yield", "weighed_by") for side in known_sides(sides)} - {None}
    if len(how) > 1 or any(" and " in str(one) for one in how):
        weighed = with_caution(
            weighed, "The loads were weighed in different ways; the difference may come from the scales."
        )
    at_one = f"at {number(settings.one_moisture_pct, 1)}{THIN_SPACE}% moisture"
    unit = settings.yield_unit
    decimals, factor = YIELD_DECIMALS[unit], per_bu_ac(unit)
    moisture = numbers_fact(sides, "moisture, %", "plot_yield", "moisture_pct", 1, papers=tickets)
    facts = [
        weighed,
        numbers_fact(sides, "loads", "plot_yield", "loads", 0, papers=tickets),
        numbers_fact(sides, "delivered, t", "plot_yield", "weight_kg", 2, factor=0.001, papers=tickets),
        numbers_fact(sides, "dockage, %", "plot_yield", "dockage_pct", 1, papers=tickets, help_key="dockage"),
        moisture,
        Fact(
            label="moisture class (Canada)",
            standing=classes.get("standing", UNKNOWN),
            windrowed=classes.get("windrowed", UNKNOWN),
        ),
        numbers_fact(sides, "net clean, t", "plot_yield", "net_clean_kg", 2, factor=0.001, papers=tickets),
        numbers_fact(sides, f"{at_one}, t", "plot_yield", "one_moisture_kg", 2, factor=0.001, papers=tickets),
        numbers_fact(
            sides,
            f"yield as sold, {unit}",
            "plot_yield",
            "yield_as_sold_bu_ac",
            decimals,
            factor=factor,
            papers=tickets,
            help_key="one moisture and as sold",
        ),
        numbers_fact(
            sides,
            f"yield {at_one}, {unit}",
            "plot_yield",
            "yield_bu_ac",
            decimals,
            factor=factor,
            papers=tickets,
            help_key="one moisture and as sold",
        ),
    ]
    if any(side.value("plot_yield", "is_scaled") for side in known_sides(sides)):
        facts.insert(1, _scaling(sides))
    return Group(name="Weight and yield", facts=tuple(facts))


def _scaling(sides: PairSides) -> Fact:
    """That a yield monitor was scaled to a certified total, and by how much."""
    figures, far_off = {}, False
    for side in known_sides(sides):
        factor = side.number("plot_yield", "scale_factor")
        if side.value("plot_yield", "is_scaled") and factor is not None:
            figures[side.method] = f"× {number(factor, 3)}"
            far_off = far_off or round(abs(factor - 1), 9) > 0.05
    return Fact(
        label="scaled to the certified total",
        standing=figures.get("standing", NOTHING),
        windrowed=figures.get("windrowed", NOTHING),
        caution=f"The yield monitor was more than 5{THIN_SPACE}% off its certified total; ask why." if far_off else "",
    )


def _tickets(side: Side) -> Papers:
    rows = sorted(side.many["load_mass"], key=lambda row: str(row["ticket"]))
    return Papers(
        columns=(
            "ticket",
            "day",
            "kg",
            "dockage %",
            "moisture %",
            "net clean kg",
            "dried to compare, kg",
            "weighed by",
        ),
        rows=tuple(
            (
                str(row["ticket"]),
                words(row["delivered_on"]),
                figure(row["weight_kg"], 0),
                figure(row["dockage_pct"], 1),
                figure(row["moisture_pct"], 1),
                figure(row["net_clean_kg"], 0),
                figure(row["one_moisture_kg"], 0),
                words(row["weighed_by"]),
            )
            for row in rows
        ),
    )


# --- quality


def quality(sides: PairSides, settings: Settings, limits: Sequence[grade_limits.Limit], *, may_heat: bool) -> Group:
    """Grade on the ticket, limits as counted, green seed with its range, weights of seed.

    may_heat : whether a load or sample of either side is of canola that may heat in the bin
    """
    papers = {side.method: _samples(side, limits) for side in known_sides(sides) if side.many["samples"]}
    facts = [
        Fact(
            label="grade on the ticket",
            standing=_ticket_grades(sides.standing),
            windrowed=_ticket_grades(sides.windrowed),
            standing_papers=papers.get("standing"),
            windrowed_papers=papers.get("windrowed"),
        ),
        _within(sides, limits, papers),
        _green(sides, settings, papers),
        _recount(sides, settings, limits),
        numbers_fact(sides, "heated, %", "plot_quality", "heated_pct", 2, papers=papers),
        numbers_fact(sides, "total damage, %", "plot_quality", "total_damage_pct", 1, papers=papers),
        numbers_fact(sides, "thousand seed weight, g", "plot_quality", "thousand_seed_g", 2, papers=papers),
        numbers_fact(sides, "test weight, kg/hL", "plot_quality", "test_weight_kg_hl", 1, papers=papers),
        numbers_fact(
            sides,
            "test weight, lb/Avery bu",
            "plot_quality",
            "test_weight_kg_hl",
            1,
            factor=lb_per_avery_bushel(1.0),
            papers=papers,
        ),
    ]
    care = [HEATING] if may_heat else []
    return Group(name="Quality", facts=tuple(facts), care=" ".join([*care, grade_limits.edition_words(limits)]))


def _ticket_grades(side: Side | None) -> str:
    grades = {str(row["grade"]) for row in side.many["samples"] if row["grade"] is not None} if side else set()
    return ", ".join(grade_limits.grade_name(grade) for grade in sorted(grades)) or UNKNOWN


def _readings(side: Side, limits: Sequence[grade_limits.Limit]) -> list[tuple[Record, grade_limits.Reading]]:
    rows = sorted(side.many["samples"], key=lambda row: str(row["sample"]))
    return [(row, grade_limits.read_against(grade_limits.sample_percents(row), limits)) for row in rows]


def _samples(side: Side, limits: Sequence[grade_limits.Limit]) -> Papers:
    return Papers(
        columns=("sample", "graded by", "ticket", "green / crushed", "heated %", "damage %", "limits"),
        rows=tuple(
            (
                str(row["sample"]),
                words(row["graded_by"]),
                grade_limits.grade_name(str(row["grade"])) if row["grade"] else NOTHING,
                _green_on(row),
                figure(row["heated_pct"], 2),
                figure(row["total_damage_pct"], 1),
                grade_limits.reading_words(reading),
            )
            for row, reading in _readings(side, limits)
        ),
    )


def _green_on(row: Record) -> str:
    if row["green_seeds"] is None and row["green_pct"] is not None:
        return f"{figure(row['green_pct'], 2)}{THIN_SPACE}%, no count"
    return f"{figure(row['green_seeds'], 0)} / {figure(row['seeds_crushed'], 0)}"


def _within(sides: PairSides, limits: Sequence[grade_limits.Limit], papers: dict[str, Papers]) -> Fact:
    """Within which limits the counts lie, by the law's rounding and strictly; disagreement with a ticket is said."""
    words, cautions = {}, []
    for side in known_sides(sides):
        readings = _readings(side, limits)
        words[side.method] = _within_figures([reading for _, reading in readings])
        for row, reading in readings:
            ticket = None if row["grade"] is None else str(row["grade"])
            if disagreement := grade_limits.ticket_disagreement(ticket, reading):
                cautions.append(f"{side.field} {side.plot}, sample {row['sample']}: {disagreement}")
    return Fact(
        label="within the limits as counted",
        standing=words.get("standing", UNKNOWN),
        windrowed=words.get("windrowed", UNKNOWN),
        caution=" ".join(cautions),
        help="within the limits as counted",
        standing_papers=papers.get("standing"),
        windrowed_papers=papers.get("windrowed"),
    )


def _within_figures(readings: Sequence[grade_limits.Reading]) -> str:
    """For each reading different from the others, rounded / strictly, the highest first."""
    found = sorted(
        {
            (reading.grade, reading.strict_grade)
            for reading in readings
            if reading.grade is not None and reading.strict_grade is not None
        }
    )
    texts = []
    for grade, strict in found:
        text = _limit_name(grade)
        texts.append(text if strict == grade else f"{text} rounded, {_limit_name(strict)} strictly")
    return "; ".join(texts) or UNKNOWN


def _limit_name(grade: str) -> str:
    return "beyond No. 3" if grade == GRADES[-1] else f"No. {grade}"


def _count_of(side: Side | None, level: float) -> grading.GreenCount | None:
    """All crush counts of a plot together."""
    green = side.number("plot_quality", "green_seeds") if side else None
    crushed = side.number("plot_quality", "seeds_crushed") if side else None
    return None if green is None or crushed is None else grading.green_count(int(green), int(crushed), level=level)


def _green(sides: PairSides, settings: Settings, papers: dict[str, Papers]) -> Fact:
    both = (sides.standing, sides.windrowed)
    standing, windrowed = (side.number("plot_quality", "green_seed_pct") if side else None for side in both)
    texts = [
        _green_words(_count_of(side, settings.level), percent)
        for side, percent in zip(both, (standing, windrowed), strict=True)
    ]
    return Fact(
        label=f"green seed, % (range at {number(settings.level * 100, 0)}{THIN_SPACE}%)",
        standing=texts[0],
        windrowed=texts[1],
        difference=difference_words(standing, windrowed, 2),
        help="green seed and crush count",
        standing_papers=papers.get("standing"),
        windrowed_papers=papers.get("windrowed"),
    )


def _green_words(found: grading.GreenCount | None, percent: float | None) -> str:
    if found is None:  # nothing was counted, so there is no range
        return UNKNOWN if percent is None else f"{number(percent, 2)} (on the slip, without a count)"
    return f"{number(found.percent, 2)} ({number(found.low, 2)} to {number(found.high, 2)})"


def _recount(sides: PairSides, settings: Settings, limits: Sequence[grade_limits.Limit]) -> Fact:
    green = next(limit for limit in limits if limit.factor == "distinctly_green")
    texts = []
    for side in (sides.standing, sides.windrowed):
        found = _count_of(side, settings.level)
        if found is None:
            texts.append(UNKNOWN)
            continue
        rounded, strict = (100 * grading.recount_chance(found, green, strictly=strictly) for strictly in (False, True))
        texts.append(f"{_chance(rounded)} as the law rounds, {_chance(strict)} read strictly")
    return Fact(
        label=f"chance that another {grade_limits.RECOUNT_SEEDS} seeds would make No. 1 on green, %",
        standing=texts[0],
        windrowed=texts[1],
        help="recount",
    )


def _chance(percent: float) -> str:
    if percent > 99.5 and percent < 100:
        return "over 99"
    if 0 < percent < 0.5:
        return "under 1"
    return number(percent, 0)


# --- money


def money_facts(sides: PairSides) -> Group:
    """Price, revenue, cost and net return; costs that are defaults are said."""
    papers = {side.method: _costs(side) for side in known_sides(sides) if side.many["plot_costs"]}
    cost = numbers_fact(sides, "cost, $/ac", "plot_money", "cost_dollars_ac", 2, papers=papers)
    defaults = {
        side.method: str(items) for side in known_sides(sides) if (items := side.value("plot_money", "default_items"))
    }
    if defaults:
        named = "; ".join(f"{method}: {items}" for method, items in defaults.items())
        cost = with_caution(cost, f"Not from your records but from default rates: {named}.")
    facts = (
        numbers_fact(sides, "price, $/t", "plot_money", "dollars_per_tonne", 2),
        numbers_fact(sides, "sold for, $/ac", "plot_money", "revenue_dollars_ac", 2),
        cost,
        numbers_fact(sides, "net return, $/ac", "plot_money", "net_return_dollars_ac", 2, papers=papers),
    )
    return Group(name="Money", facts=facts)


def _costs(side: Side) -> Papers:
    rows = sorted(side.many["plot_costs"], key=lambda row: str(row["item"]))
    return Papers(
        columns=("cost", "$/ac", "from"),
        rows=tuple(
            (str(row["item"]), figure(row["dollars_ac"], 2), words(row["cost_from"]))
            for row in rows
            if row["dollars_ac"] is None or row["dollars_ac"] != 0
        ),
    )

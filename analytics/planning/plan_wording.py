"""Next season's plan in plain sentences."""

from collections.abc import Iterable, Sequence

import polars as pl

from analytics.planning.drawing_lots import DrawnPair, Piece, kept_pairs, repeats
from analytics.planning.field_rules import TYPE_DISTANCES, PlanningRule, Point
from analytics.planning.pairing import PlannedPair, PlanPower
from analytics.trade.numbers_as_text import amount, count
from analytics.trade.units import YIELD_DECIMALS

SIDES = {
    "for": "For standing",
    "against": "Against standing",
    "fair": "Good for a fair comparison",
    "unfair": "Poor for a fair comparison",
    "unknown": "Not known",
}


def counted_sides(points: Iterable[Point]) -> str:
    """How many things are said each way: "2 for standing, 1 against standing, 2 good for a fair comparison"."""
    sides = [point.side for point in points]
    return ", ".join(
        f"{sides.count(side)} {name[0].lower()}{name[1:]}" for side, name in SIDES.items() if side in sides
    )


def points_by_side(points: Iterable[Point]) -> dict[str, list[str]]:
    """What is said each way in words, below the name of the side."""
    points = list(points)
    sides = {name: [point_words(point) for point in points if point.side == side] for side, name in SIDES.items()}
    return {name: lines for name, lines in sides.items() if lines}


def plan_headline(
    pairs: Sequence[PlannedPair], alone: Sequence[str], power: PlanPower | None, *, crop_year: int
) -> str:
    """The first line: how many pairs the fields make, and what they could show."""
    if not pairs:
        return f"No pair can be made for {crop_year} yet: choose fields that can be split, or two that are alike."
    split = len({pair.first.field for pair in pairs if pair.first.field == pair.second.field})
    two = sum(pair.first.field != pair.second.field for pair in pairs)
    kinds = " and ".join(
        text
        for text in (
            f"split {count(split, 'field')}" if split else "",
            f"pair {count(2 * two, 'field')} by likeness" if two else "",
        )
        if text
    )
    left = f"; {', '.join(alone)} would have no partner" if alone else ""
    shown = "" if power is None else f" {what_it_could_show(power)}"
    return f"For {crop_year}: {kinds}, and draw by lot which side stands{left}.{shown}"


def drawn_headline(rows: pl.DataFrame, *, crop_year: int) -> str:
    """The first line once the draw is done and nothing else is planned. `rows` as from kept_draws."""
    broken = rows["reason"].drop_nulls().len()
    kept = "" if not broken else f"; {count(broken, 'draw')} could not be kept to"
    return f"For {crop_year} the draw is done for {count(rows.height, 'pair')}: cut them as drawn below{kept}."


MOST_FIELD_YEARS = 100  # past that it is no plan for a farm; our choice, no source


def what_it_could_show(power: PlanPower) -> str:
    """The gaps that 8 of 10 such trials would find, alone and with the records."""
    season = count(power.field_years, "field-year")
    if power.alone is None:
        by_itself = f"A season of {season} shows nothing by itself; three are the fewest"
    else:
        by_itself = f"A season of {season} would find a gap of {_yield(power, power.alone)} in 8 of 10 such trials"
    if power.together is None:
        return f"{by_itself}."
    return f"{by_itself}; together with the records, one of {_yield(power, power.together)} on these fields."


def how_long(power: PlanPower) -> list[str]:
    """What three such seasons could see, whether the margin is within reach, and the spread behind it."""
    lines = []
    if power.after_three is not None:
        lines.append(
            f"Three seasons like this one, with the records, would find a gap of {_yield(power, power.after_three)} "
            "in 8 of 10 such trials."
        )
    if power.margin is not None and (power.after_three is None or power.after_three > power.margin):
        margin, needed = _yield(power, power.margin), power.for_margin
        if needed is None or needed.value is None or needed.value > MOST_FIELD_YEARS:
            lines.append(
                f"A gap of {margin} is too small for one farm to see. Decide which gap would change your mind."
            )
        else:
            most = f"over {MOST_FIELD_YEARS}" if needed.high is None or needed.high > MOST_FIELD_YEARS else needed.high
            lines.append(
                f"A gap of {margin} takes about {count(needed.value, 'field-year')} in all; the spread is known so "
                f"roughly that it could be {needed.low} to {most}."
            )
    lines.append(
        "Strips of several passes tell more than halves: halves of a field treated alike differ by 7 to 9 %, "
        "neighbouring strips by about 1 % (published yield-monitor data)."
    )
    return [*lines, f"The spread is taken as {_yield(power, power.sd)}: {power.basis}."]


def _yield(power: PlanPower, value: float) -> str:
    return amount(value, power.unit, YIELD_DECIMALS[power.unit])


def point_words(point: Point) -> str:
    """One thing said about a field, with the source of its rule where that speaks."""
    return point.text if point.side == "unknown" else f"{point.text} ({point.source})"


def sided_words(point: Point) -> str:
    """One thing said about a field, and whether it speaks for or against; sources_of the rules stand by themselves."""
    return f"{SIDES[point.side]}: {point.text}"


def sources_of(rules: Iterable[PlanningRule]) -> list[str]:
    """What the rules that count rest on, those of one source together."""
    labels: dict[str, list[str]] = {}
    for rule in rules:
        if rule.is_used:
            labels.setdefault(rule.source, []).append(rule.label)
    return [f"{'; '.join(names)}: {source}." for source, names in labels.items()]


def pair_words(pair: PlannedPair) -> str:
    """The two sides, what differs, and what cannot be compared."""
    if pair.first.field == pair.second.field:
        return (
            f"{pair.pair}: {pair.first.field}, {pair.first.plot} and {pair.second.plot}; nothing of the field differs."
        )
    differs = "; ".join(pair.differs) or "nothing that is on record differs"
    unknown = f"; not known: {', '.join(pair.unknown)}" if pair.unknown else ""
    return f"{pair.pair}: {pair.first.field} and {pair.second.field}; {differs}{unknown}."


def distances_to_type(pairs: Sequence[PlannedPair]) -> str:
    """Where to type the distances that the proposal lacked; "" when it lacked none."""
    lacking = [pair.pair for pair in pairs if "distance" in pair.unknown]
    return f"Distance not on record for {', '.join(lacking)}: {TYPE_DISTANCES}." if lacking else ""


def draw_words(rows: pl.DataFrame) -> list[str]:
    """Each draw kept: when, with which number, and whether drawing again gives the same. `rows` as from kept_draws."""
    lines = []
    for (drawn_at, seed), pairs in rows.group_by("drawn_at", "seed", maintain_order=True):
        same = "gives the same" if repeats(pairs) else "would give something else, because a row was changed since"
        drawn = count(pairs.height, "pair")
        lines.append(f"{drawn} drawn on {drawn_at} with draw number {seed}; drawing again {same}.")
    return lines


def drawn_pair_words(one: DrawnPair, reason: str | None = None) -> str:
    """One drawn pair as it is to be cut, and the reason where the draw was broken."""
    broken = f" Not kept to: {reason}" if reason else ""
    return f"{one.planned.pair}: leave {one.standing.words} standing, windrow {one.windrowed.words}.{broken}"


def drawn_words(rows: pl.DataFrame) -> list[str]:
    """Each drawn pair as it is to be cut. `rows` as from kept_draws."""
    return [drawn_pair_words(one, reason) for one, reason in zip(kept_pairs(rows), rows["reason"], strict=True)]


def strips_in_order(pieces: Sequence[Piece]) -> list[str]:
    """Each split field as a line, its pieces from one side to the other: "A: strip 1 standing | strip 2 windrowed"."""
    fields: dict[str, list[str]] = {}
    for piece in pieces:
        fields.setdefault(piece.field, []).append(f"{piece.plot} {piece.method}".rstrip())
    return [f"{field}: {' | '.join(names)}" for field, names in fields.items()]

"""What each side of a pair lost, part by part, with the spots behind it."""

from analytics.pairs import losses
from analytics.pairs.facts import (
    NOTHING,
    Fact,
    Group,
    Papers,
    difference_words,
    figure,
    in_unit,
    known_sides,
    number_or_none,
    with_caution,
    words,
)
from analytics.pairs.sides import PairSides, Record, Side
from analytics.records.columns import PLACES
from analytics.settings import Settings
from analytics.trade import seed_loss
from analytics.trade.numbers_as_text import UNKNOWN, amount, count, number
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac


def losses_by_part(sides: PairSides, settings: Settings) -> Group:
    """Each part of the loss in the yield unit, percent of yield and dollars, with the spots behind it."""
    unit = settings.yield_unit
    decimals, factor = YIELD_DECIMALS[unit] + 1, per_bu_ac(unit)
    papers = {side.method: _spots(side, unit) for side in known_sides(sides) if side.many["loss_spots"]}
    facts = []
    for part, name in seed_loss.PART_WORDS.items():
        values = [_part(side, part) for side in (sides.standing, sides.windrowed)]
        if part == "windrower" and sides.standing is not None:
            difference = difference_words(0.0, in_unit(values[1], factor), decimals)
        else:
            difference = difference_words(in_unit(values[0], factor), in_unit(values[1], factor), decimals)
        facts.append(
            Fact(
                label=f"{name}, {unit}",
                standing=NOTHING if part == "windrower" else _part_words(sides.standing, part, factor, decimals),
                windrowed=_part_words(sides.windrowed, part, factor, decimals),
                difference=difference,
                help="shatter" if part == "shatter" else "",
                standing_papers=None if part == "windrower" else papers.get("standing"),
                windrowed_papers=papers.get("windrowed"),
            )
        )
    asked = [question.text for side in known_sides(sides) for question in losses.plot_questions(_loss_row(side))]
    if asked:
        facts[-1] = with_caution(facts[-1], " ".join(asked))
    return Group(name=f"Losses, {unit} (percent of the yield as sold, $/ac)", facts=tuple(facts))


def _loss_row(side: Side) -> Record:
    return side.one["plot_loss"] | {"yield_as_sold_bu_ac": side.value("plot_yield", "yield_as_sold_bu_ac")}


def _part_row(side: Side | None, part: str) -> Record:
    rows = side.many["plot_loss_parts"] if side else ()
    return next((row for row in rows if row["part"] == part), {})


def _part(side: Side | None, part: str) -> float | None:
    value = _part_row(side, part).get("loss_bu_ac")
    return value if isinstance(value, float) else None


def _part_words(side: Side | None, part: str, factor: float, decimals: int) -> str:
    row, value = _part_row(side, part), _part(side, part)
    if value is None:
        at_least = side.number("plot_loss", "at_least_bu_ac") if side and part == "total" else None
        return UNKNOWN if at_least is None else f"at least {number(at_least * factor, decimals)}"
    more = [
        amount(row["loss_pct"], "%", 1) if isinstance(row["loss_pct"], float) else "",
        f"${number(row['loss_dollars_ac'], 2)}" if isinstance(row["loss_dollars_ac"], float) else "",
    ]
    behind = ", ".join(text for text in more if text)
    return number(value * factor, decimals) + (f" ({behind})" if behind else "")


def _spots(side: Side, unit: str) -> Papers:
    """A row a spot, and after each place its mean and spread."""
    factor, decimals = per_bu_ac(unit), YIELD_DECIMALS[unit] + 1
    rows: list[tuple[str, ...]] = []
    for place in sorted(side.many["loss_places"], key=lambda row: PLACES.index(str(row["place"]))):
        spots = [row for row in side.many["loss_spots"] if row["place"] == place["place"]]
        for row in sorted(spots, key=lambda row: (str(row["checked_on"]), str(row["spot"]))):
            rows.append(
                (
                    str(row["place"]),
                    f"{row['spot']}, {words(row['checked_on'])}",
                    _found_words(row),
                    NOTHING if row["is_percent"] else figure(row["area_m2"], 3),
                    _factor_words(row),
                    figure(in_unit(number_or_none(row["loss_bu_ac"]), factor), decimals),
                )
            )
        spread = in_unit(number_or_none(place["spread_bu_ac"]), factor)
        rows.append(
            (
                f"mean of {count(int(str(place['spots'])), 'spot')}",
                "",
                "" if spread is None else f"spread {number(spread, decimals)}",
                "",
                "",
                figure(in_unit(number_or_none(place["mean_bu_ac"]), factor), decimals),
            )
        )
    return Papers(columns=("place", "spot", "found", "area m2", "concentration factor", unit), rows=tuple(rows))


def _found_words(row: Record) -> str:
    if row["is_percent"]:
        return f"{figure(row['loss_pct'], 1)} % of the yield, by somebody else's method"
    if row["grams"] is not None:
        return f"{figure(row['grams'], 1)} g"
    seed = number_or_none(row["thousand_seed_g"])
    weight = f" at {number(seed, 2)} g a thousand ({row['thousand_seed_from']})" if seed is not None else ""
    return f"{figure(row['seeds'], 0)} seeds{weight}"


def _factor_words(row: Record) -> str:
    if row["place"] != PLACES[-1] or row["is_percent"]:
        return NOTHING
    widths = f"{figure(row['cut_width_m'], 1)} m / {figure(row['discharge_width_m'], 1)} m"
    return f"{figure(row['concentration_factor'], 1)} = {widths}"

"""Counts on the ground of the demo farm: losses behind windrower and combine, and volunteers in spring."""

from collections.abc import Sequence
from datetime import date

from sample_records import demo_plan as plan
from sample_records.demo_rows import Farm


def add_loss_checks(
    farm: Farm,
    key: tuple[int, str, str],
    method: str,
    ground: list[tuple[str, date, float]],
    harvested_on: date,
    pan_bu_ac: float,
    seed_g: float,
) -> list[float]:
    """Add the checks: what lies behind the header includes what lay there before; the pan is concentrated.

    Gives what lay on the ground at each spot by the last count, bu/ac; nothing where no check was made.
    """
    if key[0] == 2020 or key in plan.NO_LOSS_CHECK:
        return []
    draw = farm.draw
    frame = draw.chance(0.4) or key[0] == plan.WIND_YEAR
    spots, by_weight = draw.whole(2, 4 if key[2] != "whole" else 3), frame and draw.chance(0.6)
    lying = [0.0] * spots
    for place, checked_on, more_bu_ac in ground:
        lying = [there + draw.about(more_bu_ac, 0.25) for there in lying]
        for spot, bu_ac in enumerate(lying, start=1):
            _spot(farm, key, checked_on, place, spot, bu_ac, 0.25 if frame else 0.0929, by_weight, seed_g)
    cut_m, discharge_m = plan.WIDTHS_M[method]
    by_weight = draw.chance(0.7)
    for spot in range(1, spots + 1):
        _spot(
            farm,
            key,
            harvested_on,
            "pan behind combine",
            spot,
            draw.about(pan_bu_ac, 0.25) * cut_m / discharge_m,
            0.0929,
            by_weight,
            seed_g,
            f"{cut_m:.1f}",
            f"{discharge_m:.1f}",
            "chopper off" if spot == 1 else None,
        )
    return lying


def add_pick_up_count(
    farm: Farm, key: tuple[int, str, str], combined_on: date, lying: Sequence[float], seed_g: float
) -> None:
    """Add the count behind the pick-up where it came later to the demo: from draws of its own, so that nothing else
    of the farm changed.
    """
    more_bu_ac = farm.later_draw.uniform(0.1, 0.4)
    for spot, there in enumerate(lying, start=1):
        bu_ac = there + farm.later_draw.about(more_bu_ac, 0.25)
        _spot(farm, key, combined_on, "ground behind header", spot, bu_ac, 0.25, False, seed_g)


def _spot(
    farm: Farm,
    key: tuple[int, str, str],
    checked_on: date,
    place: str,
    spot: int,
    bu_ac: float,
    area_m2: float,
    by_weight: bool,
    seed_g: float,
    *pan: str | None,
) -> None:
    grams = bu_ac * plan.GRAMS_M2_PER_BU_AC * area_m2
    seeds = None if by_weight else round(grams / seed_g)
    if plan.PLACE_MISSING.get(key) != place:
        farm.add(
            "loss_checks",
            *key,
            checked_on,
            place,
            spot,
            seeds,
            f"{grams:.1f}" if by_weight else None,
            area_m2,
            *(pan or (None, None, None)),
            *_condition(farm, key, checked_on, place),
        )


def _condition(farm: Farm, key: tuple[int, str, str], checked_on: date, place: str) -> tuple[object, ...]:
    """Hour, speed, air and humidity of a check behind the combine, alike for all spots of it."""
    if key[0] < plan.FIRST_CONDITION_YEAR or place not in ("ground behind header", "pan behind combine"):
        return (None,) * 5
    check, draw = (*key, checked_on), farm.condition_draw
    if check not in farm.conditions:
        hour, air = draw.uniform(11, 20), draw.uniform(14, 29)
        humidity = 78 - 1.6 * air + draw.uniform(-6, 6)
        cells = (f"{hour:.0f}", f"{draw.uniform(5.0, 7.5):.1f}", f"{air:.0f}", f"{humidity:.0f}")
        farm.conditions[check] = (*cells, "fan slower" if draw.chance(0.3) else "as usual")
    return farm.conditions[check]


def add_spring_counts(farm: Farm, year: int, field: str, plot: str, method: str) -> None:
    """Volunteers in three frames, in the May after."""
    draw, area_m2 = farm.condition_draw, 0.25
    counted_on, middle = date(year + 1, 5, 14 + draw.whole(0, 5)), draw.about(plan.VOLUNTEERS_M2[method], 0.35)
    for spot in range(1, 4):
        plants = round(draw.about(middle, 0.3) * area_m2)
        farm.add("spring_counts", year, field, plot, counted_on, spot, plants, area_m2)

"""A comparison in another unit: its numbers change, its findings do not."""

from dataclasses import fields, is_dataclass, replace
from functools import cache
from math import isfinite
from typing import Any

from analytics.errors import BadInput
from analytics.statistics.results import Comparison, Needed

IN_THE_UNIT = frozenset(
    {
        "margin",
        "mean_standing",
        "mean_windrowed",
        "estimate",
        "std_error",
        "low",
        "high",
        "equivalence_low",
        "equivalence_high",
        "year_sd",
        "field_sd",
        "place_sd",
        "rest_sd",
        "prediction_low",
        "prediction_high",
        "raw",
        "shrunken",
        "hodges_lehmann",
        "hodges_lehmann_low",
        "hodges_lehmann_high",
        "detectable_difference",
        "gap",
        "standing",
        "windrowed",
        "difference",
        "without",
        "with_",
    }
)
COUNTED = (Needed,)  # its low and high are field-years or years


def scaled(comparison: Comparison, factor: float, unit: str) -> Comparison:
    """The same comparison in another unit: every number in the unit times `factor`, no finding, p or count touched.

    factor : new units per old unit, above 0 (67.25 for bu/ac of canola to a unit 67.25 times smaller)
    Raises BadInput for any other factor.
    """
    if not (isfinite(factor) and factor > 0):
        raise BadInput(f"factor: {factor} given; allowed a number above 0.")
    in_unit: Comparison = replace(moved(comparison, factor), unit=unit)
    return in_unit


def moved(thing: Any, factor: float) -> Any:
    """A result, or a tuple of results, with every number that stands in the unit times the factor."""
    if isinstance(thing, tuple):
        return tuple(moved(one, factor) for one in thing)
    new = {}
    for name in _parts(thing.__class__):
        value = getattr(thing, name)
        if isinstance(value, float):
            if name in IN_THE_UNIT:
                new[name] = value * factor
        elif isinstance(value, tuple) or _parts(value.__class__):
            new[name] = moved(value, factor)
    return replace(thing, **new) if new else thing


@cache
def _parts(kind: type) -> tuple[str, ...]:
    """The names of what a result of that kind holds; none of what is no result or is counted."""
    return tuple(item.name for item in fields(kind)) if is_dataclass(kind) and kind not in COUNTED else ()

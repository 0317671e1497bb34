"""A comparison in another unit: its numbers change, its findings do not."""

from dataclasses import fields, replace
from math import isfinite
from typing import Any

from analytics.errors import BadInput
from analytics.statistics.results import Answer, Comparison


def scaled(comparison: Comparison, factor: float, unit: str) -> Comparison:
    """The same comparison in another unit: every number times `factor`, no finding, p or count touched.

    factor : new units per old unit, above 0 (67.25 for bu/ac of canola to a unit 67.25 times smaller)
    """
    if not (isfinite(factor) and factor > 0):
        raise BadInput(f"factor: {factor} given; allowed a number above 0.")
    return replace(
        comparison,
        unit=unit,
        **_times(comparison, factor, "margin", "mean_standing", "mean_windrowed"),
        these_fields=_scaled_answer(comparison.these_fields, factor),
        years_to_come=_scaled_answer(comparison.years_to_come, factor),
        exact=replace(
            comparison.exact,
            **_times(comparison.exact, factor, "hodges_lehmann", "hodges_lehmann_low", "hodges_lehmann_high"),
        ),
        planning=replace(comparison.planning, **_times(comparison.planning, factor, "detectable_difference")),
        by_year=tuple(replace(row, **_times(row, factor, "estimate", "low", "high")) for row in comparison.by_year),
        pair_differences=tuple(
            replace(row, **_times(row, factor, "standing", "windrowed", "difference"))
            for row in comparison.pair_differences
        ),
    )


def _times(thing: Any, factor: float, *names: str) -> dict[str, Any]:
    given = {name: getattr(thing, name) for name in names}
    return {name: None if value is None else value * factor for name, value in given.items()}


def _scaled_answer(answer: Answer, factor: float) -> Answer:
    same = {"finding", "reason", "method", "scope", "replicates", "df", "p_value", "equivalence_p", "small", "better"}
    return replace(answer, **_times(answer, factor, *(item.name for item in fields(answer) if item.name not in same)))

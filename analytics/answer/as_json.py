"""A comparison as the JSON object that other programs read: keys stay, unknown is null, never NaN or Infinity."""

import json
from dataclasses import asdict
from typing import Any

from analytics.statistics.results import Answer, Comparison, Finding

NARROW = ("estimate", "std_error", "df", "low", "high", "p_value", "scope")
BROAD = (
    "estimate",
    "std_error",
    "df",
    "low",
    "high",
    "p_value",
    "year_sd",
    "field_sd",
    "prediction_low",
    "prediction_high",
)
JUDGED = ("finding", "small", "better", "equivalence_p")


def as_object(comparison: Comparison, sentence: str) -> dict[str, Any]:
    """The object that `standrow compare --json` prints. Numbers are in comparison.unit."""
    return {
        "measure": comparison.measure,
        "unit": comparison.unit,
        "direction": comparison.direction,
        "level": comparison.level,
        "margin": comparison.margin,
        "counts": {
            "pairs": comparison.pairs,
            "field_years": comparison.field_years,
            "years": comparison.years,
            "left_out": comparison.left_out,
        },
        "means": {"standing": comparison.mean_standing, "windrowed": comparison.mean_windrowed},
        "these_fields": _answer(comparison.these_fields, NARROW),
        "years_to_come": _answer(comparison.years_to_come, BROAD),
        "exact": asdict(comparison.exact),
        "planning": asdict(comparison.planning),
        "by_year": [asdict(row) for row in comparison.by_year],
        "pairs": [asdict(row) for row in comparison.pair_differences],
        "cautions": [asdict(caution) for caution in comparison.cautions],
        "sentence": sentence,
    }


def _answer(answer: Answer, numbers: tuple[str, ...]) -> dict[str, Any]:
    values = {name: getattr(answer, name) for name in (*numbers, *JUDGED)}
    return values | {"reason": answer.reason} if answer.finding is Finding.TOO_FEW else values


def as_json(comparison: Comparison, sentence: str) -> str:
    """The object as text. Raises ValueError rather than write a number that JSON does not have."""
    return json.dumps(as_object(comparison, sentence), indent=2, ensure_ascii=False, allow_nan=False)

"""A comparison as the JSON object that other programs read: keys stay, unknown is null, never NaN or Infinity."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from types import MappingProxyType
from typing import Any

from analytics.answer.beside_published import started_of
from analytics.answer.published import published_object as started_as_object
from analytics.statistics.depends_on import Contrast, NotAsked
from analytics.statistics.exploration import DependsOn
from analytics.statistics.replicates import FieldYear, PairDifference
from analytics.statistics.results import (
    MOST_LISTED,
    Answer,
    Comparison,
    Counts,
    FieldsNotTried,
    Finding,
    Firm,
    HolmMark,
)

ASKED_OF_BOTH = (
    "estimate",
    "std_error",
    "df",
    "low",
    "high",
    "p_value",
    "equivalence_low",
    "equivalence_high",
)
NARROW = (*ASKED_OF_BOTH, "scope")
BROAD = (*ASKED_OF_BOTH, "scope", "year_sd", "field_sd", "prediction_low", "prediction_high")
JUDGED = ("finding", "small", "better", "equivalence_p")
COUNTED = ("pairs", "field_years", "years")


def as_object(
    comparison: Comparison, sentence: str, *, asked: Sequence[DependsOn] = (), list_pairs: bool = False
) -> dict[str, Any]:
    """The object that `standrow compare --json` prints. Numbers are in comparison.unit.

    asked : what the difference may depend on, as from exploration.depends_on
    list_pairs : list the pairs also where there are more than MOST_LISTED
    """
    is_listed = list_pairs or comparison.all_pairs.pairs + _barred(comparison.all_pairs) <= MOST_LISTED
    return {
        "measure": comparison.measure,
        "unit": comparison.unit,
        "direction": comparison.direction,
        "level": comparison.level,
        "margin": comparison.margin,
        "counts": {
            **{name: getattr(comparison, name) for name in (*COUNTED, "left_out")},
            "all": {
                **{name: getattr(comparison.all_pairs, name) for name in (*COUNTED, "left_out")},
                "barred": dict(comparison.all_pairs.barred),
            },
        },
        "means": {"standing": comparison.mean_standing, "windrowed": comparison.mean_windrowed},
        "these_fields": _answer(comparison.these_fields, NARROW),
        "years_to_come": _answer(comparison.years_to_come, BROAD),
        "fields_not_tried": _fields_not_tried(comparison.fields_not_tried),
        "basis": {
            "these_fields": comparison.these_fields.basis,
            "years_to_come": comparison.years_to_come.basis,
            "is_fixed": comparison.is_basis_fixed,
        },
        "carries": [asdict(row) for row in comparison.carries],
        "years_agree": asdict(comparison.years_agree),
        "firm": _firm(comparison.firm),
        "holm": _holm(comparison.holm),
        "looks": comparison.looks,
        "shrunken": asdict(comparison.shrunken),
        "from_published": started_as_object(started_of(comparison)),
        "depends_on": [_depends_on(line) for line in asked],
        "exact": asdict(comparison.exact),
        "planning": asdict(comparison.planning),
        "by_year": [asdict(row) for row in comparison.by_year],
        "field_years": [_flat(row) for row in comparison.places] if is_listed else [],
        "pairs": [_flat(row) for row in comparison.pair_differences] if is_listed else [],
        "cautions": [asdict(caution) for caution in comparison.cautions],
        "sentence": sentence,
    }


def as_json(
    comparison: Comparison,
    sentence: str,
    *,
    asked: Sequence[DependsOn] = (),
    list_pairs: bool = False,
    more: Mapping[str, Any] = MappingProxyType({}),
) -> str:
    """The object as text, with `more` at its end. Raises ValueError rather than write a number that JSON has not."""
    found = as_object(comparison, sentence, asked=asked, list_pairs=list_pairs) | dict(more)
    return json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False)


def _flat(row: FieldYear | PairDifference) -> dict[str, Any]:
    """As asdict, which takes ten times as long: nothing in such a row has parts of its own."""
    return {name: getattr(row, name) for name in row.__dataclass_fields__}


def _barred(counts: Counts) -> int:
    return sum(count for _, count in counts.barred)


def _answer(answer: Answer, numbers: tuple[str, ...]) -> dict[str, Any]:
    values = {name: getattr(answer, name) for name in (*numbers, *JUDGED, *COUNTED)}
    return values | {"reason": answer.reason} if answer.finding is Finding.TOO_FEW else values


def _fields_not_tried(found: FieldsNotTried) -> dict[str, Any]:
    if found.finding is not None:
        return {"finding": found.finding, "reason": found.reason}
    return {name: value for name, value in asdict(found).items() if name not in ("finding", "reason")}


def _firm(firm: Firm) -> dict[str, Any]:
    return {
        "leave_one_out": [
            {
                "question": one.question,
                "left_out": one.words,
                "finding": one.finding,
                "is_changed": one.is_changed,
                "estimate": one.estimate,
                "low": one.low,
                "high": one.high,
            }
            for one in firm.leave_one_out
        ],
        "exact_agrees": firm.exact_agrees,
        "drawn_by_lot": firm.drawn_by_lot,
    }


def _holm(marks: tuple[HolmMark | None, HolmMark | None]) -> dict[str, Any]:
    """For these fields, and under years_to_come for that question; null for the main measure, or alone."""
    here, ahead = ({"p": None, "of": None, "also_together": None} if mark is None else asdict(mark) for mark in marks)
    return here | {"years_to_come": ahead}


def _depends_on(line: DependsOn) -> dict[str, Any]:
    if isinstance(line.found, NotAsked):
        return {"name": line.name, "reason": line.found.reason, "left_out": line.left_out}
    return {
        "name": line.name,
        **_contrast(line.found.fixed),
        "holm_p": line.holm_p,
        "random": _contrast(line.found.random),
        "field_years_without": line.found.field_years_without,
        "field_years_with": line.found.field_years_with,
        "left_out": line.left_out,
    }


def _contrast(found: Contrast) -> dict[str, Any]:
    """`with` is a word of Python's own, and the key of the contract."""
    return {name.rstrip("_"): value for name, value in asdict(found).items()}

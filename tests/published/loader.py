"""Reads the published cases beside this file and compares with the tolerance that each value carries."""

import json
from pathlib import Path
from typing import Any

import pytest


def published(name: str) -> dict[str, Any]:
    return json.loads((Path(__file__).parent / f"{name}.json").read_text(encoding="utf-8"))


def agreed(entry: dict[str, Any]) -> Any:
    """What a result must equal: abs as it stands, rel times the largest number in the value."""
    value, tolerance = entry["value"], entry["tolerance"]
    if entry["tolerance_kind"] == "rel":
        tolerance *= max(abs(number) for number in (value if isinstance(value, list) else [value]))
    return pytest.approx(value, abs=tolerance, rel=0)

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


class Draws:
    """The numbers that several_years.R draws, one by one: x <- 16807 x mod (2^31 - 1)."""

    def __init__(self, seed: int) -> None:
        self.state = seed

    def uniform(self) -> float:
        self.state = self.state * 16807 % 2147483647
        return self.state / 2147483647

    def normal(self) -> float:
        """Twelve uniform ones less six."""
        total = 0.0
        for _ in range(12):
            total += self.uniform()
        return total - 6

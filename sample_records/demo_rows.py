"""The rows of the demo farm as they come, and the draws behind them: a sequence for each kind of record, so that a new
kind moves no number of the others.
"""

import math
import random
from statistics import NormalDist

from sample_records.demo_plan import COLUMNS, SEED


class Draws:
    """Everything that is drawn. Only random() is used: Python promises the same sequence from it in every version."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed).random

    def uniform(self, low: float, high: float) -> float:
        """Draw a number between the two."""
        return low + (high - low) * self._random()

    def whole(self, low: int, high: int) -> int:
        """Draw a whole number, both ends included."""
        return low + int((high - low + 1) * self._random())

    def normal(self, mean: float, sd: float) -> float:
        """Draw from the normal distribution."""
        return NormalDist(mean, sd).inv_cdf(self._random())

    def about(self, middle: float, log_sd: float) -> float:
        """Draw a positive number, lognormal with this median."""
        return middle * math.exp(self.normal(0, log_sd))

    def chance(self, share: float) -> bool:
        """Say yes this share of the time."""
        return self._random() < share

    def count(self, tries: int, share: float) -> int:
        """Count how many of the tries come out, binomial."""
        return sum(self.chance(share) for _ in range(tries))


class Farm:
    """The rows of all tables while the seasons are played through in order."""

    def __init__(self) -> None:
        self.draw, self.later_draw, self.bin_draw = Draws(SEED), Draws(SEED + 1), Draws(SEED + 2)
        self.machine_draw, self.condition_draw = Draws(SEED + 3), Draws(SEED + 4)
        self.conditions: dict[tuple[object, ...], tuple[object, ...]] = {}
        self.rows: dict[str, list[list[object]]] = {table: [] for table in COLUMNS}
        self.ticket = 4100

    def add(self, table: str, *cells: object) -> None:
        """Add one row; None becomes a blank, which means unknown."""
        self.rows[table].append(["" if cell is None else cell for cell in cells])

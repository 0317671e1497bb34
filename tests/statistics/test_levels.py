"""Levels are the different values in order, as numpy's own unique tells them, however far apart they lie."""

import numpy as np
import pytest

from analytics.statistics.levels import levels

RANDOM = np.random.default_rng(19)
COLUMNS = {
    "codes": RANDOM.integers(0, 40, 1_000),
    "years": RANDOM.integers(1998, 2027, 50),
    "below nothing": RANDOM.integers(-9, 9, 30),
    "far apart": RANDOM.integers(-(2**62), 2**62, 100),
    "from end to end": np.array([2**63 - 1, -(2**63), 0, 2**63 - 1]),
    "small whole numbers": np.array([250, 3, 250, 255], dtype=np.uint8),
    "words": np.array(["b", "a", "b", "ä", "B"]),
    "numbers": np.array([0.5, -1.0, 0.5]),
    "one": np.array([7]),
    "none": np.array([], dtype=np.int64),
}


@pytest.mark.parametrize("name", COLUMNS)
def test_levels_are_those_of_the_library(name):
    found, number = levels(COLUMNS[name])
    expected, numbered = np.unique(COLUMNS[name], return_inverse=True)
    assert found.dtype == expected.dtype
    assert found.tolist() == expected.tolist()
    assert number.tolist() == numbered.tolist()

"""The different values of a column, and which of them each row has."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

CLOSE_TOGETHER = 8  # times as many numbers from the least to the largest as there are rows; our choice, no source


def levels(values: ArrayLike) -> tuple[np.ndarray, NDArray[np.int64]]:
    """The values in order, each once, and for each row the number of its value among them, shape (rows,).

    Whole numbers that lie close together, as codes do, are counted and not sorted.
    >>> levels([7, 3, 7])
    (array([3, 7]), array([1, 0, 1]))
    """
    column = np.asarray(values)
    if column.size and column.dtype.kind in "iu":
        least = int(column.min())
        if int(column.max()) - least < CLOSE_TOGETHER * column.size:
            apart = column.astype(np.int64) - least
            is_there = np.zeros(int(apart.max()) + 1, dtype=bool)
            is_there[apart] = True
            number = np.cumsum(is_there) - 1
            return np.flatnonzero(is_there).astype(column.dtype) + column.dtype.type(least), number[apart]
    found, number = np.unique(column, return_inverse=True)
    return found, number.astype(np.int64)

"""Many measures and many winters: what looking often does to a p, said beside it."""

from collections.abc import Mapping

from analytics.statistics.proportions import holm_adjusted
from analytics.statistics.results import HolmMark

YEARS_TO_LOOK_AT = 3


def looks(years: int) -> int:
    """Winters in which there were three years or more to look at, one after each year from the third.

    >>> looks(6)
    4
    """
    return max(0, years - YEARS_TO_LOOK_AT + 1)


def holm_marks(p_values: Mapping[str, float | None], *, main: str, level: float) -> dict[str, HolmMark | None]:
    """Every measure but the main one, looked at together with the others that have a p; that one is judged by itself.

    p_values : by measure, for one question; None where there are too few to judge
    Holm's adjustment at 1 - level; see proportions.holm_adjusted.
    """
    others = [name for name, p in p_values.items() if name != main and p is not None]
    adjusted = dict(zip(others, holm_adjusted([p_values[name] for name in others]), strict=True))
    marks: dict[str, HolmMark | None] = dict.fromkeys(p_values)
    for name, p in adjusted.items():
        if p is not None:
            marks[name] = HolmMark(p=p, of=len(others), also_together=p < 1 - level)
    return marks

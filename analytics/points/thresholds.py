"""What the cleaning goes by: each threshold with its unit, what it does, and where it comes from.

The steps and their order are those of Simbahan, Dobermann and Ping 2004 (Agronomy Journal 96:1091-1102, abstract),
where 13 to 20 % of the points went, most of them by the first three. Their numbers could not be read: what stands
here is from memory or our own choice, and says so. The same thresholds hold for both methods.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.errors import BadInput
from analytics.trade.numbers_as_text import exact
from analytics.trade.typed_text import NotReadable, read_number

MEMORY, OUR_CHOICE = "from memory", "our choice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """One number that a step of the cleaning goes by."""

    name: str
    value: float
    unit: str
    meaning: str
    source: str
    low: float
    high: float


ALL = (
    Threshold(
        name="gap_s",
        value=10.0,
        unit="s",
        meaning="a longer break between two points begins a new pass",
        source=OUR_CHOICE,
        low=1,
        high=600,
    ),
    Threshold(
        name="headland_m",
        value=10.0,
        unit="m",
        meaning="trimmed from both ends of a strip",
        source=OUR_CHOICE,
        low=0,
        high=500,
    ),
    Threshold(
        name="start_m",
        value=20.0,
        unit="m",
        meaning="left out where a pass begins, while the combine fills",
        source=MEMORY,
        low=0,
        high=500,
    ),
    Threshold(
        name="end_m",
        value=10.0,
        unit="m",
        meaning="left out where a pass ends, while it empties",
        source=MEMORY,
        low=0,
        high=500,
    ),
    Threshold(
        name="outlier_sd",
        value=3.0,
        unit="standard deviations",
        meaning="flow, distance, moisture and speed may lie so far from the mean of their method",
        source=MEMORY,
        low=1,
        high=100,
    ),
    Threshold(
        name="lowest_kg_ha",
        value=100.0,
        unit="kg/ha",
        meaning="less is no canola that was cut here (about 2 bu/ac)",
        source=MEMORY,
        low=0,
        high=10_000,
    ),
    Threshold(
        name="highest_kg_ha",
        value=7000.0,
        unit="kg/ha",
        meaning="more does not grow (about 125 bu/ac)",
        source=MEMORY,
        low=100,
        high=50_000,
    ),
    Threshold(
        name="neighbour_share",
        value=0.5,
        unit="of the median",
        meaning="a point may differ so much from the eleven around it in its pass",
        source=OUR_CHOICE,
        low=0.01,
        high=100,
    ),
    Threshold(
        name="fewest_points",
        value=10.0,
        unit="points",
        meaning="a piece of a pass with fewer left is left out",
        source=OUR_CHOICE,
        low=1,
        high=10_000,
    ),
    Threshold(
        name="spot_m",
        value=0.2,
        unit="m",
        meaning="a point that moved less is left out",
        source=OUR_CHOICE,
        low=0,
        high=100,
    ),
    Threshold(
        name="overlap_share",
        value=0.7,
        unit="of the cut",
        meaning="a pass that cuts less new ground is left out",
        source=OUR_CHOICE,
        low=0,
        high=1,
    ),
)
AS_STARTED = {one.name: one.value for one in ALL}
OF_NAME = {one.name: one for one in ALL}


def checked_thresholds(typed: Mapping[str, str]) -> dict[str, float]:
    """All thresholds by name, those that were typed in the place of ours.

    Raises BadInput for a name that is none, and a value that is no number or not allowed.
    """
    values = dict(AS_STARTED)
    for name, text in typed.items():
        if name not in OF_NAME:
            raise BadInput(f"threshold: {name} given; allowed {', '.join(OF_NAME)}.")
        one = OF_NAME[name]
        allowed = f"{exact(one.low)} to {exact(one.high)} {one.unit}"
        try:
            number = read_number(text)
        except NotReadable as problem:
            raise BadInput(f"{name}: {text} given; allowed {allowed}. It is {problem}.") from problem
        if not one.low <= number <= one.high:
            raise BadInput(f"{name}: {text} given; allowed {allowed}.")
        values[name] = number
    return values

"""What is compared: each measure with its name, unit, direction and the difference that matters unless set otherwise.

A measure's default margin is a setting to be changed by the farm; none of these has a published source ("our choice,
no source"), except that a moisture meter is retested within 0.5 points of a class line (Official Grain
Grading Guide, moisture chapter, 2021).
"""

from dataclasses import dataclass

from analytics.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One thing compared. `label` starts a sentence; `per_acre` says that its unit follows the chosen yield unit."""

    name: str
    label: str
    unit: str
    direction: str  # "higher" or "lower" is better
    margin: float
    decimals: int
    meaning: str
    follows_yield_unit: bool = False


MEASURES = {
    measure.name: measure
    for measure in (
        Measure(
            name="yield",
            label="Yield",
            unit="bu/ac",
            direction="higher",
            margin=1.0,
            decimals=1,
            meaning="clean canola an acre, all of it brought to one moisture so that dry and tough loads compare",
            follows_yield_unit=True,
        ),
        Measure(
            name="yield_as_sold",
            label="Yield as sold",
            unit="bu/ac",
            direction="higher",
            margin=1.0,
            decimals=1,
            meaning="clean canola at the moisture it was delivered with, per acre",
            follows_yield_unit=True,
        ),
        Measure(
            name="green_seed",
            label="Green seed",
            unit="points",
            direction="lower",
            margin=0.5,
            decimals=2,
            meaning="distinctly green seeds among those crushed, percent",
        ),
        Measure(
            name="loss",
            label="Loss",
            unit="bu/ac",
            direction="lower",
            margin=0.5,
            decimals=2,
            meaning="seed left on the ground and thrown over by the combine, per acre",
            follows_yield_unit=True,
        ),
        Measure(
            name="dockage",
            label="Dockage",
            unit="points",
            direction="lower",
            margin=0.5,
            decimals=2,
            meaning="what must be cleaned out before grading, percent of the delivered weight",
        ),
        Measure(
            name="moisture",
            label="Moisture",
            unit="points",
            direction="lower",
            margin=0.5,
            decimals=2,
            meaning="water in the clean seed as delivered, percent",
        ),
        Measure(
            name="test_weight",
            label="Test weight",
            unit="kg/hL",
            direction="higher",
            margin=1.0,
            decimals=1,
            meaning="mass of a hectolitre of clean seed; not a grading factor for canola",
        ),
        Measure(
            name="thousand_seed",
            label="Thousand seed weight",
            unit="g",
            direction="higher",
            margin=0.2,
            decimals=2,
            meaning="mass of 1000 clean seeds",
        ),
        Measure(
            name="days_to_harvest",
            label="Days to harvest",
            unit="days",
            direction="lower",
            margin=3.0,
            decimals=1,
            meaning="days from seeding to combining",
        ),
        Measure(
            name="net_return",
            label="Net return",
            unit="$/ac",
            direction="higher",
            margin=10.0,
            decimals=2,
            meaning="canola sold at the price of its grade, less what the method cost, per acre",
        ),
        Measure(
            name="combining_pace",
            label="Combining pace",
            unit="ac/h",
            direction="higher",
            margin=1.0,
            decimals=1,
            meaning="acres an hour of combining, turns and stops counted",
        ),
        Measure(
            name="machine_hours",
            label="Machine hours",
            unit="h/100 ac",
            direction="lower",
            margin=1.0,
            decimals=1,
            meaning="hours per 100 acres of all jobs from the first cut or product to the combine",
        ),
        Measure(
            name="fuel",
            label="Fuel",
            unit="L/ac",
            direction="lower",
            margin=0.5,
            decimals=1,
            meaning="fuel of the same jobs, per acre",
        ),
        Measure(
            name="stops",
            label="Stops",
            unit="times/100 ac",
            direction="lower",
            margin=1.0,
            decimals=1,
            meaning="times the combine plugged or had to stop, per 100 acres",
        ),
        Measure(
            name="volunteers",
            label="Volunteers",
            unit="plants/m2",
            direction="lower",
            margin=10.0,
            decimals=0,
            meaning="volunteer canola counted on the plot in the spring after, plants to the square metre",
        ),
    )
}
MACHINE_MEASURES = ("combining_pace", "machine_hours", "fuel", "stops")
IF_NOTED = (*MACHINE_MEASURES, "volunteers")  # asked for only in crop years in which somebody noted them


def find_measure(name: str) -> Measure:
    """The measure of that name. Raises BadInput with the allowed names."""
    if name not in MEASURES:
        raise BadInput(f"measure: {name!r} given; allowed {', '.join(MEASURES)}.")
    return MEASURES[name]


YIELDS = ("yield", "yield_as_sold")
YIELD_GAPS_BU_AC = (1.0, 2.0, 3.0, 5.0)  # planned for; other measures plan for multiples of their margin


def gaps_to_plan_for(measure: str, unit: str) -> tuple[float, ...] | None:
    """Differences that a trial could be planned for; None: multiples of the margin."""
    return YIELD_GAPS_BU_AC if measure in YIELDS and unit == MEASURES[measure].unit else None

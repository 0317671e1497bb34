"""What several tables share: keys and references, columns of one kind, and the choices of a word."""

import polars as pl

from analytics.records.form import Column, Reference, Rule

METHODS = ("standing", "windrowed")
# Common practice, no source. A letter alone is none of them: S may be standing, straight or swathed.
METHOD_WORDS = tuple(
    (words, method)
    for method, said in (
        (
            "standing",
            "stand, straight, straight cut, straight cutting, straight combine, straight combined, combined standing, "
            "cut standing, left standing, direct, direct cut, direct combined",
        ),
        ("windrowed", "swath, swathed, swathing, windrow, windrowing, laid down, cut and laid down"),
    )
    for words in said.split(", ")
)
LAYOUTS = ("split field", "strips", "neighbouring fields", "matched after harvest")
ALLOCATIONS = ("drawn by lot", "chosen")
WEIGHED_BY = ("certified scale", "grain cart", "bin measure", "yield monitor")
PLACES = ("ground before harvest", "ground after windrower", "ground behind header", "pan behind combine")
EVENTS = ("wind", "frost", "snow", "hail", "rain")
BIN_PLACES = ("core", "top", "wall")

CROP_YEAR = Column(name="crop_year", kind="whole number", meaning="year of harvest", required=True, low=1980, high=2100)
FIELD = Column(name="field", kind="text", meaning="field, named as in fields", required=True)
PLOT = Column(name="plot", kind="text", meaning="piece harvested one way and weighed by itself", required=True)
NOTES = Column(name="notes", kind="note", meaning="anything worth keeping")
PLOT_KEY = ("crop_year", "field", "plot")
OF_A_FIELD = Reference(columns=("field",), table="fields", target=("field",))
OF_A_PLOT = Reference(columns=PLOT_KEY, table="plots", target=PLOT_KEY)
BIN = Column(name="bin", kind="text", meaning="bin, named as in bins", required=True)
BIN_KEY = ("crop_year", "bin")
OF_A_BIN = Reference(columns=BIN_KEY, table="bins", target=BIN_KEY)


def text_column(name: str, meaning: str, *, required: bool = False) -> Column:
    """Words of the farm's own."""
    return Column(name=name, kind="text", meaning=meaning, required=required)


def percent_column(
    name: str, meaning: str, *, low: float = 0, high: float = 100, usual_high: float | None = None
) -> Column:
    """A share from 0 to 100, unless said otherwise."""
    return Column(
        name=name,
        kind="number",
        meaning=meaning,
        low=low,
        high=high,
        usual_high=usual_high,
        remedy="Was a decimal mark left out?",
    )


def celsius_column(name: str, meaning: str, *, usual_low: float, usual_high: float) -> Column:
    """A temperature in degrees Celsius."""
    return Column(
        name=name,
        kind="number",
        meaning=meaning,
        low=-60,
        high=100,
        usual_low=usual_low,
        usual_high=usual_high,
        remedy="Is it in C? 59 F is 15 C.",
    )


def near_crop_year(column: str) -> Rule:
    """What asks about a day that lies far from the crop year."""
    return Rule(
        name=f"{column}_near_crop_year",
        columns=(column, "crop_year"),
        holds=pl.col(column).dt.year().is_between(pl.col("crop_year") - 1, pl.col("crop_year") + 1),
        allowed="a day within a year of the crop year",
        remedy="Check the year.",
    )

"""The tables of a farm's records: their columns and rules, stated once for import, screens and templates.

Each table is one CSV file and one sheet of the workbook. A blank means unknown, never zero.

What is allowed (low, high) keeps slips of the hand out, what is usual (usual_low, usual_high) is believed unasked. All
these limits are our choice, no source; a tonne of canola is 44.09 bushels of 50 lb by arithmetic.
"""

import polars as pl

from analytics.records.form import Column, Reference, Rule, Table
from analytics.trade import cautions
from analytics.trade.grade_limits import GRADES
from analytics.trade.units import BULK_DENSITY_G_ML

METHODS = ("standing", "windrowed")
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


def _text(name: str, meaning: str, *, required: bool = False) -> Column:
    return Column(name=name, kind="text", meaning=meaning, required=required)


def _percent(name: str, meaning: str, *, low: float = 0, high: float = 100, usual_high: float | None = None) -> Column:
    return Column(
        name=name,
        kind="number",
        meaning=meaning,
        low=low,
        high=high,
        usual_high=usual_high,
        remedy="Was a decimal mark left out?",
    )


def _celsius(name: str, meaning: str, *, usual_low: float, usual_high: float) -> Column:
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


def _near_crop_year(column: str) -> Rule:
    return Rule(
        name=f"{column}_near_crop_year",
        columns=(column, "crop_year"),
        holds=pl.col(column).dt.year().is_between(pl.col("crop_year") - 1, pl.col("crop_year") + 1),
        allowed="a day within a year of the crop year",
        remedy="Check the year.",
    )


FIELDS = Table(
    name="fields",
    meaning="the fields of the farm",
    key=("field",),
    columns=(
        FIELD,
        Column(name="acres", kind="number", meaning="acres seeded when whole", low=0.01, high=20_000),
        _text("soil", "soil in your own words"),
        _text("topography", "topography in your own words"),
        NOTES,
    ),
)

PLANTINGS = Table(
    name="plantings",
    meaning="what grew on a field in a crop year",
    key=("crop_year", "field"),
    columns=(
        CROP_YEAR,
        FIELD,
        _text("crop", "canola, oats, ..."),
        _text("variety", "variety, in your own words"),
        Column(name="shatter_tolerant", kind="yes/no", meaning="sold as tolerant of pod shatter"),
        _text("herbicide_system", "herbicide system in your own words"),
        Column(name="seeded_on", kind="date", meaning="day of seeding"),
        Column(name="weed_pressure", kind="choice", meaning="weeds at harvest", choices=("low", "medium", "high")),
        Column(name="stand", kind="choice", meaning="stand at harvest", choices=("thin", "average", "heavy")),
        NOTES,
    ),
    rules=(
        Rule(
            name="seeded_in_crop_year",
            columns=("seeded_on", "crop_year"),
            holds=pl.col("seeded_on").dt.year().is_between(pl.col("crop_year") - 1, pl.col("crop_year")),
            allowed="seeded in the crop year or the autumn before",
            remedy="Check the year.",
        ),
    ),
    references=(OF_A_FIELD,),
)

PLOTS = Table(
    name="plots",
    meaning="pieces of ground harvested one way in one crop year and weighed by themselves",
    caution=cautions.LABEL,
    key=PLOT_KEY,
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(
            name="method",
            kind="choice",
            meaning="how it was cut: standing (straight-cut) or windrowed (swathed)",
            required=True,
            choices=METHODS,
        ),
        Column(name="acres", kind="number", meaning="acres harvested", low=0.01, high=20_000),
        _percent("seed_colour_change_pct", "seed colour change when windrowed or when the product went on"),
        Column(name="windrowed_on", kind="date", meaning="day of windrowing"),
        Column(name="preharvest_on", kind="date", meaning="day of the pre-harvest product"),
        _text("preharvest_product", "active group or your own words"),
        Column(
            name="preharvest_interval_days",
            kind="number",
            meaning="days from spraying to the first cut, as the label asks; windrowing counts as the cut",
            low=0,
            high=120,
        ),
        Column(name="harvested_on", kind="date", meaning="day of combining"),
        Column(
            name="waiting_hours",
            kind="number",
            meaning="hours of combining weather in which it could not start, for damp or green",
            low=0,
            high=2000,
            usual_high=200,
        ),
        NOTES,
    ),
    rules=(
        Rule(
            name="combined_after_windrowing",
            columns=("harvested_on", "windrowed_on"),
            holds=pl.col("harvested_on") >= pl.col("windrowed_on"),
            allowed="combined on the day of windrowing or later",
            remedy="Were the two dates exchanged?",
        ),
        Rule(
            name="combined_after_product",
            columns=("harvested_on", "preharvest_on"),
            holds=pl.col("harvested_on") >= pl.col("preharvest_on"),
            allowed="combined on the day of the pre-harvest product or later",
            remedy="Were the two dates exchanged?",
        ),
        Rule(
            name="windrowed_after_product",
            columns=("windrowed_on", "preharvest_on"),
            holds=pl.col("windrowed_on") >= pl.col("preharvest_on"),
            allowed="windrowed on the day of the pre-harvest product or later",
            remedy="Were the two dates exchanged? Work after the cut goes into operations.",
        ),
        Rule(
            name="standing_has_no_windrow",
            columns=("method", "windrowed_on"),
            holds=~((pl.col("method") == "standing") & pl.col("windrowed_on").is_not_null()),
            allowed="no windrowing day for a standing plot",
            remedy="Leave windrowed_on blank, or change the method.",
        ),
        Rule(
            name="harvested_near_crop_year",
            columns=("harvested_on", "crop_year"),
            holds=pl.col("harvested_on").dt.year().is_between(pl.col("crop_year"), pl.col("crop_year") + 1),
            allowed="combined in the crop year or the spring after",
            remedy="Check the year.",
        ),
    ),
    questions=(
        Rule(
            name="label_interval_blank",
            columns=("preharvest_on", "preharvest_interval_days"),
            holds=~(pl.col("preharvest_on").is_not_null() & pl.col("preharvest_interval_days").is_null()),
            allowed="the days from spraying to the first cut, as the label states them",
            remedy="Type the interval from the label; without it the days cannot be checked.",
        ),
    ),
    references=(OF_A_FIELD,),
)

PAIRS = Table(
    name="pairs",
    meaning="one standing and one windrowed plot, set side by side",
    key=("crop_year", "pair"),
    columns=(
        CROP_YEAR,
        _text("pair", "short name of the pair", required=True),
        _text("standing_field", "field of the standing plot"),
        _text("standing_plot", "the standing plot"),
        _text("windrowed_field", "field of the windrowed plot"),
        _text("windrowed_plot", "the windrowed plot"),
        Column(name="layout", kind="choice", meaning="how the two lie to each other", choices=LAYOUTS, required=True),
        Column(name="allocation", kind="choice", meaning="how the methods were given", choices=ALLOCATIONS),
        NOTES,
    ),
    rules=(
        Rule(
            name="standing_side_whole",
            columns=("standing_field", "standing_plot"),
            holds=pl.col("standing_field").is_null() == pl.col("standing_plot").is_null(),
            allowed="field and plot together, or both blank",
            remedy="Fill in the other one.",
        ),
        Rule(
            name="windrowed_side_whole",
            columns=("windrowed_field", "windrowed_plot"),
            holds=pl.col("windrowed_field").is_null() == pl.col("windrowed_plot").is_null(),
            allowed="field and plot together, or both blank",
            remedy="Fill in the other one.",
        ),
        Rule(
            name="some_side",
            columns=("standing_plot", "windrowed_plot"),
            holds=pl.col("standing_plot").is_not_null() | pl.col("windrowed_plot").is_not_null(),
            allowed="at least one of the two plots",
            remedy="Name a plot, or leave the pair out.",
        ),
    ),
    references=(
        Reference(
            columns=("crop_year", "standing_field", "standing_plot"), table="plots", target=PLOT_KEY, method="standing"
        ),
        Reference(
            columns=("crop_year", "windrowed_field", "windrowed_plot"),
            table="plots",
            target=PLOT_KEY,
            method="windrowed",
        ),
    ),
)

LOADS = Table(
    name="loads",
    meaning="weighed loads, a row a ticket",
    key=(*PLOT_KEY, "ticket"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        _text("ticket", "number on the ticket", required=True),
        Column(name="delivered_on", kind="date", meaning="day on the ticket"),
        Column(
            name="weight_kg",
            kind="number",
            meaning="scale weight net of tare, dockage still in, kg",
            low=1,
            high=5_000_000,
            usual_low=500,
            usual_high=70_000,
            remedy="Is it in kg?",
        ),
        Column(
            name="moisture_pct",
            kind="number",
            meaning="moisture on the ticket, percent",
            low=2,
            high=30,
            usual_low=4,
            usual_high=16,
            remedy="Was a decimal mark left out?",
        ),
        _percent("dockage_pct", "dockage on the ticket, percent", high=50, usual_high=8),
        Column(name="weighed_by", kind="choice", meaning="what weighed it", choices=WEIGHED_BY),
    ),
    questions=(_near_crop_year("delivered_on"),),
    references=(OF_A_PLOT,),
)

FIELD_TOTALS = Table(
    name="field_totals",
    meaning="what a certified scale says a whole field brought; a yield monitor's loads are scaled to it",
    key=("crop_year", "field"),
    columns=(
        CROP_YEAR,
        FIELD,
        Column(
            name="certified_kg",
            kind="number",
            meaning="all loads of the field over a certified scale, net of tare, dockage still in, kg",
            required=True,
            low=1,
            high=50_000_000,
            usual_low=5_000,
            remedy="Is it in kg?",
        ),
        NOTES,
    ),
    references=(OF_A_FIELD,),
)

PLOT_TOTALS = Table(
    name="plot_totals",
    meaning="what a certified scale says a single plot brought; its yield monitor's loads are scaled to it",
    key=PLOT_KEY,
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(
            name="certified_kg",
            kind="number",
            meaning="all loads of the plot over a certified scale, net of tare, dockage still in, kg",
            required=True,
            low=1,
            high=50_000_000,
            usual_low=1_000,
            remedy="Is it in kg?",
        ),
        NOTES,
    ),
    references=(OF_A_PLOT,),
)

FIELD_DISTANCES = Table(
    name="field_distances",
    meaning="how far apart two fields are, in one row for both ways; near ones see the same rain and wind",
    key=("field", "other_field"),
    columns=(
        FIELD,
        _text("other_field", "the other field, named as in fields", required=True),
        Column(
            name="distance_km",
            kind="number",
            meaning="from the middle of one to the middle of the other, km",
            required=True,
            low=0.01,
            high=1000,
            usual_low=0.1,
            usual_high=60,
            remedy="Is it in km? A mile is 1.61 km.",
        ),
    ),
    rules=(
        Rule(
            name="two_fields",
            columns=("field", "other_field"),
            holds=pl.col("field") != pl.col("other_field"),
            allowed="two different fields",
            remedy="A field has no distance to itself; leave the row out.",
        ),
    ),
    references=(OF_A_FIELD, Reference(columns=("other_field",), table="fields", target=("field",))),
)

SAMPLES = Table(
    name="samples",
    meaning="grade slips and crush counts",
    key=(*PLOT_KEY, "sample"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        _text("sample", "number or name of the sample", required=True),
        Column(name="taken_on", kind="date", meaning="day the sample was taken"),
        _text("graded_by", "who graded or counted it"),
        Column(name="grade", kind="choice", meaning="grade on the ticket", choices=GRADES),
        Column(
            name="seeds_crushed",
            kind="whole number",
            meaning="seeds crushed",
            low=1,
            high=100_000,
            usual_low=100,
            usual_high=2000,
        ),
        Column(name="green_seeds", kind="whole number", meaning="distinctly green among them", low=0, high=100_000),
        _percent("heated_pct", "heated seed, percent", usual_high=5),
        _percent("total_damage_pct", "total damage, green and heated included, percent", usual_high=30),
        _percent("admixture_pct", "conspicuous other seeds that cannot be cleaned out, percent", usual_high=5),
        Column(
            name="test_weight_kg_hl",
            kind="number",
            meaning="test weight, kg/hL",
            low=40,
            high=85,
            usual_low=58,
            usual_high=72,
        ),
        Column(
            name="thousand_seed_g",
            kind="number",
            meaning="mass of 1000 seeds, g",
            low=1,
            high=10,
            usual_low=2,
            usual_high=6.5,
            remedy="Was a decimal mark left out?",
        ),
        _percent("green_pct", "green seed on a slip that gives no count, percent", usual_high=20),
    ),
    rules=(
        Rule(
            name="green_among_crushed",
            columns=("green_seeds", "seeds_crushed"),
            holds=pl.col("green_seeds") <= pl.col("seeds_crushed"),
            allowed="no more green seeds than were crushed",
            remedy="Were the two numbers exchanged?",
        ),
        Rule(
            name="crushed_with_green",
            columns=("green_seeds", "seeds_crushed"),
            holds=~(pl.col("green_seeds").is_not_null() & pl.col("seeds_crushed").is_null()),
            allowed="the number crushed beside the number green",
            remedy="Type how many seeds were crushed; a count without it is no percent.",
        ),
    ),
    questions=(
        _near_crop_year("taken_on"),
        Rule(
            name="count_or_percent",
            columns=("green_pct", "green_seeds"),
            holds=pl.col("green_pct").is_null() | pl.col("green_seeds").is_null(),
            allowed="a count, or the percent of a slip without one",
            remedy="With both, the count is used.",
        ),
        Rule(
            name="damage_holds_heated",
            columns=("total_damage_pct", "heated_pct"),
            holds=pl.col("total_damage_pct") >= pl.col("heated_pct"),
            allowed="total damage at least as large as heated",
            remedy="Total damage includes green and heated seed.",
        ),
    ),
    references=(OF_A_PLOT,),
)

LOSS_CHECKS = Table(
    name="loss_checks",
    meaning="seed counted or weighed on the ground or in a pan",
    caution=cautions.PANS,
    key=(*PLOT_KEY, "checked_on", "place", "spot"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="checked_on", kind="date", meaning="day of the check", required=True),
        Column(
            name="place",
            kind="choice",
            meaning="where; behind the header is behind the pick-up where it was windrowed, and a total needs that "
            "count and a pan on both sides",
            choices=PLACES,
            required=True,
        ),
        _text("spot", "which of several spots", required=True),
        Column(name="seeds", kind="whole number", meaning="seeds counted", low=0, high=1_000_000),
        Column(
            name="grams",
            kind="number",
            meaning=f"seed weighed, g; a mL typed or brought in counts as {BULK_DENSITY_G_ML} g",
            low=0,
            high=10_000,
        ),
        Column(
            name="area_m2",
            kind="number",
            meaning="area of the frame or pan, m2",
            low=0.001,
            high=100,
            usual_low=0.02,
            usual_high=5,
        ),
        Column(name="cut_width_m", kind="number", meaning="width that was cut, m", low=0.3, high=30, usual_low=3),
        Column(
            name="discharge_width_m",
            kind="number",
            meaning="width in which straw and chaff fell, m",
            low=0.3,
            high=30,
            usual_high=10,
        ),
        Column(name="seconds_note", kind="note", meaning="how the check was made, in your own words"),
        Column(name="hour_of_day", kind="number", meaning="hour of the check, 13.5 is half past one", low=0, high=24),
        Column(
            name="ground_speed_kmh",
            kind="number",
            meaning="ground speed of the combine, km/h",
            low=0.1,
            high=30,
            usual_low=1.5,
            usual_high=12,
            remedy="Is it in km/h? A mile an hour is 1.61.",
        ),
        _celsius("air_c", "temperature of the air, C", usual_low=-10, usual_high=38),
        _percent("humidity_pct", "relative humidity of the air, percent"),
        _text("machine_settings", "settings of the combine, in your own words"),
        _percent(
            "loss_pct",
            "loss at this place by somebody else's method, percent of the plot's yield; no area or widths needed",
            usual_high=10,
        ),
    ),
    rules=(
        Rule(
            name="seeds_or_grams",
            columns=("seeds", "grams", "loss_pct"),
            holds=pl.any_horizontal(pl.col("seeds", "grams", "loss_pct").is_not_null()),
            allowed="seeds counted, grams weighed, or the percent that somebody else's method gave",
            remedy="A spot without any seed is a 0.",
        ),
        Rule(
            name="area_of_what_was_found",
            columns=("area_m2", "seeds", "grams"),
            holds=pl.col("area_m2").is_not_null() | (pl.col("seeds").is_null() & pl.col("grams").is_null()),
            allowed="the area of the frame or pan, m2, beside what was found in it",
            remedy="Seed without its area says nothing.",
        ),
        Rule(
            name="pan_has_widths",
            columns=("place", "cut_width_m", "discharge_width_m"),
            holds=~(
                (pl.col("place") == "pan behind combine")
                & (pl.col("seeds").is_not_null() | pl.col("grams").is_not_null())
                & (pl.col("cut_width_m").is_null() | pl.col("discharge_width_m").is_null())
            ),
            allowed="cut width and discharge width beside every pan",
            remedy="A pan sees concentrated loss; without both widths it says nothing.",
        ),
        Rule(
            name="discharge_within_cut",
            columns=("discharge_width_m", "cut_width_m"),
            holds=pl.col("discharge_width_m") <= pl.col("cut_width_m"),
            allowed="a discharge no wider than the cut",
            remedy="Were the two widths exchanged?",
        ),
    ),
    questions=(
        _near_crop_year("checked_on"),
        Rule(
            name="seeds_and_grams",
            columns=("seeds", "grams"),
            holds=~(pl.col("seeds").is_not_null() & pl.col("grams").is_not_null()),
            allowed="seeds counted, or grams weighed",
            remedy="With both, the grams are used.",
        ),
        Rule(
            name="found_or_percent",
            columns=("loss_pct", "seeds", "grams"),
            holds=pl.col("loss_pct").is_null() | (pl.col("seeds").is_null() & pl.col("grams").is_null()),
            allowed="what was counted or weighed, or somebody else's percent",
            remedy="With both, what was counted or weighed is used.",
        ),
    ),
    references=(OF_A_PLOT,),
)

OPERATIONS = Table(
    name="operations",
    meaning="field work and what it cost",
    caution=cautions.LABEL,
    key=(*PLOT_KEY, "done_on", "operation"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="done_on", kind="date", meaning="day of the work", required=True),
        _text("operation", "windrowing, rolling, pre-harvest product, application, combining, ...", required=True),
        Column(name="dollars_per_acre", kind="number", meaning="cost, $/ac", low=0, high=5000, usual_high=150),
        Column(
            name="hours",
            kind="number",
            meaning="hours the machine was in the field, turns and stops counted",
            low=0.01,
            high=2000,
            usual_low=0.1,
            usual_high=60,
        ),
        Column(name="fuel_l", kind="number", meaning="fuel, L", low=0, high=100_000, usual_high=5000),
        Column(
            name="stops",
            kind="whole number",
            meaning="times it plugged or had to stop",
            low=0,
            high=1000,
            usual_high=60,
        ),
        _text("machine", "which machine, in your own words"),
        _text("operator", "who was at the wheel, in your own words"),
        _text("job", "a name where several plots were done in one go; hours, fuel and stops are split by their acres"),
        NOTES,
    ),
    questions=(_near_crop_year("done_on"),),
    references=(OF_A_PLOT,),
)

WEATHER = Table(
    name="weather",
    meaning="wind, frost, snow, hail and rain that mattered",
    key=("happened_on", "field", "event"),
    columns=(
        Column(name="happened_on", kind="date", meaning="day", required=True),
        _text("field", "field; blank is the whole farm"),
        Column(name="event", kind="choice", meaning="what happened", choices=EVENTS, required=True),
        Column(name="reading", kind="number", meaning="how much", low=-60, high=1000),
        _text("unit", "km/h, C, mm, ...; of a frost C, the lowest"),
        Column(
            name="hours_below_zero",
            kind="number",
            meaning="hours below 0 C, of a frost",
            low=0,
            high=240,
            usual_high=16,
        ),
        NOTES,
    ),
    references=(OF_A_FIELD,),
)

PRICES = Table(
    name="prices",
    meaning="what a tonne brought",
    key=("crop_year", "crop", "grade"),
    columns=(
        CROP_YEAR,
        _text("crop", "canola, oats, ...", required=True),
        Column(name="grade", kind="choice", meaning="grade", choices=GRADES, required=True),
        Column(
            name="dollars_per_tonne",
            kind="number",
            meaning="price, $/t",
            required=True,
            low=0,
            high=10_000,
            usual_low=150,
            usual_high=1500,
            remedy="Is it a price per bushel? A tonne of canola is 44.09 bushels.",
        ),
    ),
)


def _bin_moisture(meaning: str) -> Column:
    return Column(
        name="moisture_pct",
        kind="number",
        meaning=meaning,
        low=2,
        high=30,
        usual_low=4,
        usual_high=16,
        remedy="Was a decimal mark left out?",
    )


BINS = Table(
    name="bins",
    meaning="the bins of a crop year",
    caution=cautions.BINS,
    key=BIN_KEY,
    columns=(
        CROP_YEAR,
        _text("bin", "name of the bin; filled again in one crop year it is a bin of its own", required=True),
        Column(name="conditioned_on", kind="date", meaning="day on which drying and cooling were done"),
        Column(name="emptied_on", kind="date", meaning="day on which it was empty again; no check is due from then on"),
        NOTES,
    ),
    rules=(
        Rule(
            name="emptied_after_conditioning",
            columns=("emptied_on", "conditioned_on"),
            holds=pl.col("emptied_on") >= pl.col("conditioned_on"),
            allowed="emptied on the day of conditioning or later",
            remedy="Were the two dates exchanged?",
        ),
    ),
)

BIN_FILLS = Table(
    name="bin_fills",
    meaning="which plots went into which bin",
    caution=cautions.BINS,
    key=(*BIN_KEY, "filled_on", "field", "plot"),
    columns=(
        CROP_YEAR,
        BIN,
        Column(name="filled_on", kind="date", meaning="day of filling", required=True),
        FIELD,
        PLOT,
        Column(
            name="weight_kg",
            kind="number",
            meaning="what went in, kg",
            low=1,
            high=5_000_000,
            usual_low=500,
            remedy="Is it in kg?",
        ),
        _bin_moisture("moisture when it went in, percent; blank is that of the plot's wettest ticket"),
        _celsius("temperature_c", "temperature of the grain when it went in, C", usual_low=0, usual_high=45),
        NOTES,
    ),
    questions=(_near_crop_year("filled_on"),),
    references=(OF_A_BIN, OF_A_PLOT),
)

BIN_CHECKS = Table(
    name="bin_checks",
    meaning="every check of a bin, a row a place",
    caution=cautions.BINS,
    key=(*BIN_KEY, "checked_on", "place"),
    columns=(
        CROP_YEAR,
        BIN,
        Column(name="checked_on", kind="date", meaning="day of the check", required=True),
        Column(name="place", kind="choice", meaning="where in the bin", choices=BIN_PLACES, required=True),
        _celsius("temperature_c", "temperature of the grain there, C", usual_low=-30, usual_high=40),
        _bin_moisture("moisture of a sample from there, percent"),
        _celsius("outside_c", "temperature outside on that day, C", usual_low=-45, usual_high=38),
        _text("smell", "what it smelled of, in your own words"),
        Column(name="action", kind="note", meaning="what was done about it"),
    ),
    rules=(
        Rule(
            name="something_was_checked",
            columns=("temperature_c", "moisture_pct", "smell"),
            holds=pl.any_horizontal(pl.col("temperature_c", "moisture_pct", "smell").is_not_null()),
            allowed="a temperature, a moisture or a smell",
            remedy="Type what was found; a check that found nothing odd has a temperature.",
        ),
    ),
    questions=(_near_crop_year("checked_on"),),
    references=(OF_A_BIN,),
)

SPRING_COUNTS = Table(
    name="spring_counts",
    meaning="volunteer canola counted in the spring after",
    key=(*PLOT_KEY, "counted_on", "spot"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="counted_on", kind="date", meaning="day of the count", required=True),
        _text("spot", "which of several spots", required=True),
        Column(name="plants", kind="whole number", meaning="volunteers counted", required=True, low=0, high=100_000),
        Column(
            name="area_m2",
            kind="number",
            meaning="area of the frame, m2",
            required=True,
            low=0.001,
            high=100,
            usual_low=0.02,
            usual_high=5,
        ),
    ),
    rules=(
        Rule(
            name="counted_after_harvest",
            columns=("counted_on", "crop_year"),
            holds=pl.col("counted_on").dt.year().is_between(pl.col("crop_year"), pl.col("crop_year") + 2),
            allowed="counted in the autumn of the crop year or in one of the two years after",
            remedy="Crop year is that of the canola that was lost, not of the spring.",
        ),
    ),
    references=(OF_A_PLOT,),
)

# In this order every reference points to a table that comes before.
TABLES = {
    table.name: table
    for table in (
        FIELDS,
        PLANTINGS,
        PLOTS,
        PAIRS,
        LOADS,
        FIELD_TOTALS,
        SAMPLES,
        LOSS_CHECKS,
        OPERATIONS,
        WEATHER,
        PRICES,
        FIELD_DISTANCES,
        BINS,
        BIN_FILLS,
        BIN_CHECKS,
        SPRING_COUNTS,
        PLOT_TOTALS,
    )
}
REQUIRED_FILES = ("fields", "plots", "loads")

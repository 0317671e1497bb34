"""Tables of what grew where, how it was cut and paired, what was done, and under which weather and price."""

import polars as pl

from analytics.records.columns import (
    ALLOCATIONS,
    CROP_YEAR,
    EVENTS,
    FIELD,
    LAYOUTS,
    METHOD_WORDS,
    METHODS,
    NOTES,
    OF_A_FIELD,
    OF_A_PLOT,
    PLOT,
    PLOT_KEY,
    near_crop_year,
    percent_column,
    text_column,
)
from analytics.records.form import Column, Reference, Rule, Table
from analytics.trade import cautions
from analytics.trade.grade_limits import GRADES

FIELDS = Table(
    name="fields",
    meaning="the fields of the farm",
    key=("field",),
    columns=(
        FIELD,
        Column(name="acres", kind="number", meaning="acres seeded when whole", low=0.01, high=20_000),
        text_column("soil", "soil in your own words"),
        text_column("topography", "topography in your own words"),
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
        text_column("crop", "canola, oats, ..."),
        text_column("variety", "variety, in your own words"),
        Column(name="shatter_tolerant", kind="yes/no", meaning="sold as tolerant of pod shatter"),
        text_column("herbicide_system", "herbicide system in your own words"),
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
            other_words=METHOD_WORDS,
        ),
        Column(name="acres", kind="number", meaning="acres harvested", low=0.01, high=20_000),
        percent_column("seed_colour_change_pct", "seed colour change when windrowed or when the product went on"),
        Column(name="windrowed_on", kind="date", meaning="day of windrowing"),
        Column(name="preharvest_on", kind="date", meaning="day of the pre-harvest product"),
        text_column("preharvest_product", "active group or your own words"),
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
        text_column("pair", "short name of the pair", required=True),
        text_column("standing_field", "field of the standing plot"),
        text_column("standing_plot", "the standing plot"),
        text_column("windrowed_field", "field of the windrowed plot"),
        text_column("windrowed_plot", "the windrowed plot"),
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


FIELD_DISTANCES = Table(
    name="field_distances",
    meaning="how far apart two fields are, in one row for both ways; near ones see the same rain and wind",
    key=("field", "other_field"),
    columns=(
        FIELD,
        text_column("other_field", "the other field, named as in fields", required=True),
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
        text_column(
            "operation", "windrowing, rolling, pre-harvest product, application, combining, ...", required=True
        ),
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
        text_column("machine", "which machine, in your own words"),
        text_column("operator", "who was at the wheel, in your own words"),
        text_column(
            "job", "a name where several plots were done in one go; hours, fuel and stops are split by their acres"
        ),
        NOTES,
    ),
    questions=(near_crop_year("done_on"),),
    references=(OF_A_PLOT,),
)


WEATHER = Table(
    name="weather",
    meaning="wind, frost, snow, hail and rain that mattered",
    key=("happened_on", "field", "event"),
    columns=(
        Column(name="happened_on", kind="date", meaning="day", required=True),
        text_column("field", "field; blank is the whole farm"),
        Column(name="event", kind="choice", meaning="what happened", choices=EVENTS, required=True),
        Column(name="reading", kind="number", meaning="how much", low=-60, high=1000),
        text_column("unit", "km/h, C, mm, ...; of a frost C, the lowest"),
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
        text_column("crop", "canola, oats, ...", required=True),
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

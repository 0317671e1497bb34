"""Tables of what was weighed, graded and counted."""

import polars as pl

from analytics.records.columns import (
    CROP_YEAR,
    FIELD,
    NOTES,
    OF_A_FIELD,
    OF_A_PLOT,
    PLACES,
    PLOT,
    PLOT_KEY,
    WEIGHED_BY,
    celsius_column,
    near_crop_year,
    percent_column,
    text_column,
)
from analytics.records.form import Column, Rule, Table
from analytics.trade import cautions
from analytics.trade.grade_limits import GRADES
from analytics.trade.units import BULK_DENSITY_G_ML

LOADS = Table(
    name="loads",
    meaning="weighed loads, a row a ticket",
    key=(*PLOT_KEY, "ticket"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        text_column("ticket", "number on the ticket", required=True),
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
        percent_column("dockage_pct", "dockage on the ticket, percent", high=50, usual_high=8),
        Column(name="weighed_by", kind="choice", meaning="what weighed it", choices=WEIGHED_BY),
    ),
    questions=(near_crop_year("delivered_on"),),
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


SAMPLES = Table(
    name="samples",
    meaning="grade slips and crush counts",
    key=(*PLOT_KEY, "sample"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        text_column("sample", "number or name of the sample", required=True),
        Column(name="taken_on", kind="date", meaning="day the sample was taken"),
        text_column("graded_by", "who graded or counted it"),
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
        percent_column("heated_pct", "heated seed, percent", usual_high=5),
        percent_column("total_damage_pct", "total damage, green and heated included, percent", usual_high=30),
        percent_column("admixture_pct", "conspicuous other seeds that cannot be cleaned out, percent", usual_high=5),
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
        percent_column("green_pct", "green seed on a slip that gives no count, percent", usual_high=20),
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
        near_crop_year("taken_on"),
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
        text_column("spot", "which of several spots", required=True),
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
        percent_column(
            "loss_pct",
            "loss at this place by somebody else's method, percent of the plot's yield; no area or widths needed",
            usual_high=10,
        ),
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
        celsius_column("air_c", "temperature of the air, C", usual_low=-10, usual_high=38),
        percent_column("humidity_pct", "relative humidity of the air, percent"),
        text_column("machine_settings", "settings of the combine, in your own words"),
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
        near_crop_year("checked_on"),
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


SPRING_COUNTS = Table(
    name="spring_counts",
    meaning="volunteer canola counted in the spring after",
    key=(*PLOT_KEY, "counted_on", "spot"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="counted_on", kind="date", meaning="day of the count", required=True),
        text_column("spot", "which of several spots", required=True),
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

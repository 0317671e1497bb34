"""Tables of grain in the bin."""

import polars as pl

from analytics.records.columns import (
    BIN,
    BIN_KEY,
    BIN_PLACES,
    CROP_YEAR,
    FIELD,
    NOTES,
    OF_A_BIN,
    OF_A_PLOT,
    PLOT,
    celsius_column,
    near_crop_year,
    text_column,
)
from analytics.records.form import Column, Rule, Table
from analytics.trade import cautions


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
        text_column("bin", "name of the bin; filled again in one crop year it is a bin of its own", required=True),
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
        celsius_column("temperature_c", "temperature of the grain when it went in, C", usual_low=0, usual_high=45),
        NOTES,
    ),
    questions=(near_crop_year("filled_on"),),
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
        celsius_column("temperature_c", "temperature of the grain there, C", usual_low=-30, usual_high=40),
        _bin_moisture("moisture of a sample from there, percent"),
        celsius_column("outside_c", "temperature outside on that day, C", usual_low=-45, usual_high=38),
        text_column("smell", "what it smelled of, in your own words"),
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
    questions=(near_crop_year("checked_on"),),
    references=(OF_A_BIN,),
)

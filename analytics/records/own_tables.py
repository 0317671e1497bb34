"""Tables that no paper brings: the farm's own cost rates, its rules for planning, draws and draws that were broken,
how the columns of other people's files match, the codes under which it shares with a group, what is left of a yield
monitor's points, and settings.

They are saved, undone, exported and brought in again like any record.
"""

import polars as pl

from analytics.records.columns import CROP_YEAR, FIELD, METHODS, OF_A_PLOT, PLOT, PLOT_KEY
from analytics.records.form import Column, Rule, Table
from analytics.records.setting_values import is_allowed
from analytics.records.tables import TABLES

PAIR = Column(name="pair", kind="text", meaning="short name of the pair", required=True)
SOURCE = Column(name="source", kind="note", meaning="where it comes from", required=True)

COST_ASSUMPTIONS = Table(
    name="cost_assumptions",
    meaning="cost rates of this farm, each in the place of a default",
    key=("item",),
    columns=(
        Column(name="item", kind="text", meaning="cost item", required=True),
        Column(name="low", kind="number", meaning="lowest likely", low=0, high=5000),
        Column(name="middle", kind="number", meaning="rate that counts", required=True, low=0, high=5000),
        Column(name="high", kind="number", meaning="highest likely", low=0, high=5000),
        Column(name="year", kind="whole number", meaning="year of the rate", low=1980, high=2100),
        SOURCE,
    ),
)

PLANNING_RULES = Table(
    name="planning_rules",
    meaning="what speaks for and against cutting a field standing, as this farm sees it",
    key=("rule",),
    columns=(
        Column(name="rule", kind="text", meaning="name of the rule", required=True),
        Column(name="is_used", kind="yes/no", meaning="whether it counts", required=True),
        Column(name="threshold", kind="number", meaning="from where it counts", low=0, high=10_000),
        SOURCE,
    ),
)

DRAWS = Table(
    name="draws",
    meaning="which side of a pair the lot made standing",
    key=("crop_year", "pair"),
    columns=(
        CROP_YEAR,
        PAIR,
        Column(name="drawn_at", kind="text", meaning="day and time of the draw", required=True),
        Column(name="seed", kind="whole number", meaning="number that repeats the draw", required=True),
        Column(name="place", kind="whole number", meaning="place of the pair in the draw, from 1", required=True),
        Column(name="first_side", kind="note", meaning="field and plot named first", required=True),
        Column(name="second_side", kind="note", meaning="field and plot named second", required=True),
        Column(name="first_method", kind="choice", meaning="what the first became", required=True, choices=METHODS),
    ),
)

BROKEN_DRAWS = Table(
    name="broken_draws",
    meaning="pairs not cut as drawn, and why",
    key=("crop_year", "pair"),
    columns=(
        CROP_YEAR,
        PAIR,
        Column(name="noted_on", kind="date", meaning="day of the note", required=True),
        Column(name="reason", kind="note", meaning="why the draw was broken", required=True),
    ),
)

COLUMN_MATCHES = Table(
    name="column_matches",
    meaning="how the columns of somebody else's file match ours, by the name under which it is kept",
    key=("name", "table_name", "column_name"),
    columns=(
        Column(name="name", kind="text", meaning="name under which it is kept", required=True),
        Column(name="table_name", kind="text", meaning="table that the file fills", required=True),
        Column(name="column_name", kind="text", meaning="column of that table", required=True),
        Column(name="file_column", kind="note", meaning="column of the file", required=True),
        Column(name="unit", kind="text", meaning="unit in the file; blank is that of the record"),
    ),
)

SHARE_CODES = Table(
    name="share_codes",
    meaning="codes, drawn by lot, under which this farm and its places go to a growers' group",
    key=("kind", "name"),
    columns=(
        Column(name="kind", kind="choice", meaning="what it stands for", required=True, choices=("farm", "place")),
        Column(name="name", kind="note", meaning="what the farm calls it", required=True),
        Column(name="code", kind="text", meaning="code drawn by lot", required=True),
    ),
)

MONITOR_STRIPS = Table(
    name="monitor_strips",
    meaning="what is kept of a yield monitor's points, by strip; the points themselves are not kept",
    key=PLOT_KEY,
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="file_name", kind="note", meaning="file of the points", required=True),
        Column(name="fingerprint", kind="text", meaning="SHA-256 of that file", required=True),
        Column(name="points", kind="whole number", meaning="points in the strip", required=True, low=1, high=10**9),
        Column(
            name="kept", kind="whole number", meaning="points left after cleaning", required=True, low=1, high=10**9
        ),
        Column(name="delay_s", kind="number", meaning="seconds from the knife to the sensor", required=True),
        Column(name="cut_width_m", kind="number", meaning="width of one pass, m", required=True, low=1, high=60),
        Column(name="covered", kind="number", meaning="share of the strip that its passes cover", required=True),
        Column(name="monitor_kg", kind="number", meaning="all it logged in the strip, as read, kg", required=True),
        Column(name="field_monitor_kg", kind="number", meaning="all it logged in the file, as read, kg", required=True),
        Column(
            name="certified_kg", kind="number", meaning="the strip over a certified scale, kg", low=1, high=5_000_000
        ),
        Column(name="combine_hours", kind="number", meaning="hours in the strip, turns counted"),
        Column(name="thresholds", kind="note", meaning="what the cleaning went by", required=True),
        Column(name="outline", kind="note", meaning="corners: longitude latitude, or metres", required=True),
    ),
    references=(OF_A_PLOT,),
)

MONITOR_REMOVALS = Table(
    name="monitor_removals",
    meaning="how many points each step of the cleaning took out of a strip",
    key=(*PLOT_KEY, "step"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="step", kind="text", meaning="step of the cleaning", required=True),
        Column(name="points", kind="whole number", meaning="points it took out", required=True, low=0, high=10**9),
    ),
    references=(OF_A_PLOT,),
)

MONITOR_CELLS = Table(
    name="monitor_cells",
    meaning="a thinned picture of a strip's points",
    key=(*PLOT_KEY, "cell"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="cell", kind="whole number", meaning="number of the piece of a pass", required=True),
        Column(name="east_m", kind="number", meaning="metres east", required=True),
        Column(name="north_m", kind="number", meaning="metres north", required=True),
        Column(name="kg_ha", kind="number", meaning="wet yield as the monitor read it; blank where all was taken out"),
        Column(name="removed_by", kind="text", meaning="the step that took out most, where nothing is left"),
    ),
    references=(OF_A_PLOT,),
)

SETTINGS_TABLE = Table(
    name="settings",
    meaning="what governs every finding",
    key=("name",),
    columns=(
        Column(name="name", kind="text", meaning="name of the setting", required=True),
        Column(name="value", kind="text", meaning="its value as text", required=True),
    ),
    rules=(
        Rule(
            name="setting_is_allowed",
            columns=("name", "value"),
            holds=pl.struct("name", "value").map_elements(is_allowed, return_dtype=pl.Boolean),
            allowed="a setting and a value as an export writes them",
            remedy="Leave the row out and change the setting on the screen.",
        ),
    ),
)

KEPT_TABLES = {
    table.name: table
    for table in (
        COST_ASSUMPTIONS,
        PLANNING_RULES,
        DRAWS,
        BROKEN_DRAWS,
        COLUMN_MATCHES,
        SHARE_CODES,
        MONITOR_STRIPS,
        MONITOR_REMOVALS,
        MONITOR_CELLS,
        SETTINGS_TABLE,
    )
}
SAVED_TABLES = {**TABLES, **KEPT_TABLES}  # all that is saved, undone, restored, exported and brought in again

"""The tables of a farm's records: their columns and rules, stated once for import, screens and templates.

Each table is one CSV file and one sheet of the workbook. A blank means unknown, never zero.

What is allowed (low, high) keeps slips of the hand out, what is usual (usual_low, usual_high) is believed unasked. All
these limits are our choice, no source; a tonne of canola is 44.09 bushels of 50 lb by arithmetic.
"""

from analytics.records.bin_tables import BIN_CHECKS, BIN_FILLS, BINS
from analytics.records.grown_tables import FIELD_DISTANCES, FIELDS, OPERATIONS, PAIRS, PLANTINGS, PLOTS, PRICES, WEATHER
from analytics.records.harvest_tables import FIELD_TOTALS, LOADS, LOSS_CHECKS, PLOT_TOTALS, SAMPLES, SPRING_COUNTS

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

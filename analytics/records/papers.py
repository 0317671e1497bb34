"""The papers that a person types from: which table each fills, what it is called, and what a row of it is called."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.records.columns import PLOT_KEY
from analytics.records.form import Table
from analytics.records.tables import TABLES


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One kind of paper in the hand.

    name : what it is called on a screen; free to change
    noun : what a row of it is called
    """

    table: Table
    name: str
    noun: str

    @property
    def key(self) -> str:
        """What stands for it in drafts, addresses and lacks: the name of its table, whatever the screen calls it."""
        return self.table.name

    @property
    def is_of_a_plot(self) -> bool:
        """Whether its rows belong to one plot."""
        return set(PLOT_KEY) <= set(self.table.key) and self.table is not TABLES["plots"]

    def place(self, crop_year: int, field: str | None = None, plot: str | None = None) -> dict[str, object]:
        """What crop year and plot fix in every row of this paper."""
        if self.is_of_a_plot and plot is not None:
            return {"crop_year": crop_year, "field": field, "plot": plot}
        return {"crop_year": crop_year} if "crop_year" in self.table.column_names else {}


# By key, in the order in which a screen offers them.
PAPERS: Mapping[str, Paper] = {
    table: Paper(table=TABLES[table], name=name, noun=noun)
    for table, name, noun in (
        ("loads", "Tickets", "ticket"),
        ("samples", "Grade slips and crush counts", "sample"),
        ("loss_checks", "Loss checks", "loss check"),
        ("plots", "Dates and stages", "plot"),
        ("operations", "Field work", "operation"),
        ("weather", "Weather", "weather day"),
        ("prices", "Prices", "price"),
        ("fields", "Fields", "field"),
        ("plantings", "What grew where", "planting"),
        ("pairs", "Pairs", "pair"),
        ("field_totals", "Field totals", "field total"),
        ("field_distances", "Distances between fields", "distance"),
        ("bins", "Bins", "bin"),
        ("bin_fills", "What went into which bin", "bin filling"),
        ("bin_checks", "Bin checks", "bin check"),
        ("spring_counts", "Volunteers in spring", "spring count"),
        ("plot_totals", "Plot totals", "plot total"),
    )
}

# What addresses kept by a browser may name instead of a key: the names of the time when a name was the key.
FORMER_KEYS = {
    "Tickets": "loads",
    "Grade slips and crush counts": "samples",
    "Loss checks": "loss_checks",
    "Dates and stages": "plots",
    "Field work": "operations",
    "Weather": "weather",
    "Prices": "prices",
    "Fields": "fields",
    "What grew where": "plantings",
    "Pairs": "pairs",
    "Field totals": "field_totals",
    "Distances between fields": "field_distances",
}

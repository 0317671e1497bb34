"""What is possible about a typed row and still asks for a look, beside what the farm has on record."""

from collections.abc import Collection, Mapping, Sequence
from itertools import chain

import polars as pl

from analytics.entry.typed_rows import Row, label
from analytics.records.cell_text import as_text
from analytics.records.form import Records, Table
from analytics.records.tables import LOADS, LOSS_CHECKS, OPERATIONS, PLOT_KEY, PLOTS, SAMPLES
from analytics.trade.days import interval_doubt
from analytics.trade.field_work import work_question
from analytics.trade.units import KG_PER_BUSHEL, net_clean

NEIGHBOUR_TIMES = 3  # a yield so many times the neighbour's asks for a look; our choice, no source
FARM_VALUES = 20  # so many of the farm's own values before they say what is likely here; our choice, no source
FARM_SPREADS = 3  # interquartile ranges beyond the quartiles (Tukey 1977, "far out"; value from memory)


def cut_too_soon(table: Table, rows: Sequence[Row]) -> list[tuple[int, str]]:
    """Plots cut sooner after a product than the label asks; of all doubts the first to be told."""
    if table is not PLOTS:
        return []
    doubts = ((place, interval_doubt(row.values)) for place, row in enumerate(rows))
    return [(place, f"{doubt.words} Ask the buyer before delivering.") for place, doubt in doubts if doubt is not None]


def sounds_like_a_job(table: Table, rows: Sequence[Row], items: Mapping[str, str]) -> list[tuple[int, str]]:
    """Field work under a name that is not known but sounds like a job with a rate; place and words.

    items : the cost item of each known name, as in the view operation_items
    """
    if table is not OPERATIONS:
        return []
    asked = ((place, work_question(str(row.values["operation"] or ""), items)) for place, row in enumerate(rows))
    return [(place, question) for place, question in asked if question is not None]


def far_from_the_farm(table: Table, rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """Values far outside what this farm has on record in other rows, once it has enough to say; place and words."""
    if table not in (LOADS, SAMPLES, LOSS_CHECKS):
        return []
    typed = pl.DataFrame([row.values for row in rows], schema=table.polars_schema())
    others = records[table.name].join(typed, on=table.key, how="anti", nulls_equal=True)
    found = []
    for column in table.columns:
        known = others[column.name].drop_nulls()
        if column.kind != "number" or len(known) < FARM_VALUES:
            continue
        low, high = (float(known.quantile(part, "linear") or 0) for part in (0.25, 0.75))
        spread = FARM_SPREADS * (high - low)
        lowest, highest = as_text(known.min()), as_text(known.max())
        for place, row in enumerate(rows):
            value = row.values[column.name]
            if isinstance(value, float) and spread > 0 and not low - spread <= value <= high + spread:
                words = f"{label(column)}: {as_text(value)} given; on this farm so far it was {lowest} to {highest}."
                found.append((place, f"{words} {column.remedy}".rstrip()))
    return found


def compared_with_others(table: Table, rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """For loads: the same ticket on another plot, and a yield many times that of the rest of the field or pair."""
    if table is not LOADS:
        return []
    found = []
    stored = records["loads"]
    for place, row in enumerate(rows):
        same = stored.filter(
            pl.col("ticket").eq_missing(pl.lit(row.values["ticket"])),
            pl.col("crop_year").eq_missing(pl.lit(row.values["crop_year"])),
            (pl.col("field") != pl.lit(row.values["field"])) | (pl.col("plot") != pl.lit(row.values["plot"])),
        )
        for field, plot in same.select("field", "plot").iter_rows():
            found.append((place, f"ticket: {row.name} is on record for {field}, {plot} as well. Was it split?"))
    last = {tuple(row.values[name] for name in PLOT_KEY): place for place, row in enumerate(rows)}
    neighbours = {plot_key: _neighbours(plot_key, records) for plot_key in last}
    yields = plot_yields(records, rows, plots={*last, *chain.from_iterable(neighbours.values())})
    for plot_key, place in last.items():
        here = yields.get(plot_key)
        for neighbour in neighbours[plot_key]:
            there = yields.get(neighbour)
            if here and there and here > NEIGHBOUR_TIMES * there:
                words = f"{here:.1f} bu/ac, more than {NEIGHBOUR_TIMES} times the {there:.1f} of"
                found.append((place, f"yield so far: {words} {neighbour[1]}, {neighbour[2]}. Is the unit right?"))
    return found


def plot_yields(
    records: Records, rows: Sequence[Row], *, plots: Collection[tuple[object, ...]]
) -> dict[tuple[object, ...], float]:
    """bu/ac as sold by (crop_year, field, plot), of those plots that have acres: loads on record, or as typed."""
    wanted = pl.DataFrame(list(plots), schema={name: LOADS.polars_schema()[name] for name in PLOT_KEY}, orient="row")
    on_record = records["loads"].join(wanted, on=PLOT_KEY, how="semi").iter_rows(named=True)
    typed = (row.values for row in rows if not row.refused)
    loads = {tuple(load[name] for name in LOADS.key): load for load in chain(on_record, typed)}
    kilograms: dict[tuple[object, ...], float] = {}
    for load in loads.values():
        key = tuple(load[name] for name in PLOT_KEY)
        kilograms[key] = kilograms.get(key, 0.0) + clean_weight_kg(load)
    acres = plot_acres(records)
    return {key: mass / KG_PER_BUSHEL / acres[key] for key, mass in kilograms.items() if mass and key in acres}


def clean_weight_kg(load: Mapping[str, object]) -> float:
    """What a load weighs without its dockage, kg; with it where that is not known, and 0 without a weight."""
    weight, dockage = load["weight_kg"], load["dockage_pct"]
    if not isinstance(weight, float):
        return 0.0
    return net_clean(weight, dockage_pct=dockage) if isinstance(dockage, float) and 0 <= dockage <= 100 else weight


def plot_acres(records: Records) -> dict[tuple[object, ...], float]:
    """Acres by (crop_year, field, plot), of the plots that have them."""
    rows = records["plots"].select(*PLOT_KEY, "acres").drop_nulls("acres").iter_rows()
    return {row[:3]: row[3] for row in rows}


def _neighbours(plot_key: tuple[object, ...], records: Records) -> list[tuple[object, ...]]:
    """The other plots of the field in that crop year, and the other side of its pair."""
    year, field, plot = plot_key
    others = [
        row for row in records["plots"].select(PLOT_KEY).iter_rows() if row[:2] == (year, field) and row[2] != plot
    ]
    for pair in records["pairs"].iter_rows(named=True):
        sides = [(pair["crop_year"], pair[f"{side}_field"], pair[f"{side}_plot"]) for side in ("standing", "windrowed")]
        if plot_key in sides:
            others += [side for side in sides if side != plot_key and side[2] is not None]
    return list(dict.fromkeys(others))

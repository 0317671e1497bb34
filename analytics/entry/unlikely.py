"""What is possible about a typed row and still asks for a look, beside what the farm has on record."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from statistics import median

import polars as pl

from analytics.entry.typed_rows import Row, column_label
from analytics.files.alike_names import NAMES, name_and_place, seen_as, spelt
from analytics.records.cell_text import rounded_text
from analytics.records.columns import PLOT_KEY
from analytics.records.form import Records, Table
from analytics.records.grown_tables import OPERATIONS, PLOTS
from analytics.records.harvest_tables import LOADS, LOSS_CHECKS, SAMPLES
from analytics.trade.days import interval_doubt
from analytics.trade.field_work import work_question
from analytics.trade.numbers_as_text import number
from analytics.trade.units import KG_PER_BUSHEL, KG_PER_POUND, M2_PER_FT2, net_clean

NEIGHBOUR_TIMES = 1.8  # a yield so many times the neighbour's is asked about; a kg is 2.2 lb. Our choice, no source
ALL_IN = 0.6  # a neighbour with fewer loads an acre than this part of the plot's is not all in; our choice, no source
UNIT_SPREAD = 0.25  # how near a number in another unit must be to the others; our choice, no source
ENOUGH_OTHERS = 3  # so many others before they say what is usual; our choice, no source
FARM_VALUES = 20  # so many of the farm's own values before they say what is likely here; our choice, no source
FARM_SPREADS = 3  # interquartile ranges beyond the quartiles (Tukey 1977, "far out"; value from memory)


def cut_too_soon(table: Table, rows: Sequence[Row]) -> list[tuple[int, str]]:
    """Plots cut sooner after a product than the label asks; of all doubts the first to be told."""
    if table is not PLOTS:
        return []
    doubts = ((place, interval_doubt(row.values)) for place, row in enumerate(rows))
    return [(place, f"{doubt.words} Ask the buyer before delivering.") for place, doubt in doubts if doubt is not None]


def looks_like_another(table: Table, rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """New fields, plots and bins whose name a person takes for that of one on record, or of a row above."""
    if table.name not in NAMES:
        return []
    known = [name_and_place(table, row) for row in records[table.name].iter_rows(named=True)]
    names = {(place, seen_as(name)): name for name, place in known}
    found = []
    for at, row in enumerate(rows):
        name, place = name_and_place(table, row.values)
        other = names.setdefault((place, seen_as(name)), name)
        if name and other != name and (name, place) not in known:
            what = NAMES[table.name]
            found.append((at, f"{what}: {spelt(name)} looks like {spelt(other)}, and would be a second {what}."))
    return found


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
        lowest, highest = (rounded_text(value) for value in (known.min(), known.max()))
        for place, row in enumerate(rows):
            value = row.values[column.name]
            if isinstance(value, float) and spread > 0 and not low - spread <= value <= high + spread:
                so_far = f"on this farm so far it was {lowest} to {highest}."
                words = f"{column_label(column)}: {rounded_text(value)} given; {so_far}"
                found.append((place, f"{words} {column.remedy}".rstrip()))
    return found


def on_another_plot(table: Table, rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """Tickets that are on record for another plot as well; place and words."""
    if table is not LOADS:
        return []
    found = []
    for place, row in enumerate(rows):
        same = records["loads"].filter(
            pl.col("ticket").eq_missing(pl.lit(row.values["ticket"])),
            pl.col("crop_year").eq_missing(pl.lit(row.values["crop_year"])),
            (pl.col("field") != pl.lit(row.values["field"])) | (pl.col("plot") != pl.lit(row.values["plot"])),
        )
        for field, plot in same.select("field", "plot").iter_rows():
            found.append((place, f"ticket: {row.name} is on record for {field}, {plot} as well. Was it split?"))
    return found


# --- asked about, and no reason to wait with the save


def unit_questions(table: Table, rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """Numbers that look right in another unit than the one they were typed in; place and words."""
    if table is LOADS:
        return [*_yields_beside_neighbours(rows, records), *_loads_beside_the_others(rows)]
    return _areas_beside_the_others(rows, records) if table is LOSS_CHECKS else []


def _yields_beside_neighbours(rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """A yield about twice that of a neighbour, as pounds typed as kilograms make it.

    A neighbour with fewer loads an acre is not all in yet, and says nothing.
    """
    last = {tuple(row.values[name] for name in PLOT_KEY): place for place, row in enumerate(rows)}
    neighbours = {plot_key: _neighbours(plot_key, records) for plot_key in last}
    plots = _plots_so_far(records, rows, plots={*last, *chain.from_iterable(neighbours.values())})
    found = []
    for plot_key, place in last.items():
        here = plots.get(plot_key)
        for neighbour in neighbours[plot_key]:
            there = plots.get(neighbour)
            if here is None or there is None or there.loads_ac < ALL_IN * here.loads_ac:
                continue
            if here.bu_ac > NEIGHBOUR_TIMES * there.bu_ac:
                times = f"{here.bu_ac / there.bu_ac:.1f} times the {there.bu_ac:.1f} of {neighbour[1]}, {neighbour[2]}"
                words = f"yield so far: {here.bu_ac:.1f} bu/ac, {times}. Is the unit right, or were pounds typed as kg?"
                found.append((place, words))
    return found


def _loads_beside_the_others(rows: Sequence[Row]) -> list[tuple[int, str]]:
    """A load about 2.2 times the others of its plot: pounds among kilograms. A light last load is nothing unusual."""
    found = []
    for place, row in enumerate(rows):
        weight, plot = row.values["weight_kg"], [row.values[name] for name in PLOT_KEY]
        others = [
            other.values["weight_kg"]
            for other in rows
            if other is not row and not other.refused and [other.values[name] for name in PLOT_KEY] == plot
        ]
        usual = _usual(others)
        if isinstance(weight, float) and usual and abs(weight * KG_PER_POUND / usual - 1) < UNIT_SPREAD:
            words = f"weight, kg: {rounded_text(weight)} given, the other loads here about {number(usual, 0)}."
            found.append((place, f"{words} Was it in pounds?"))
    return found


def _areas_beside_the_others(rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """A frame or pan about ten times, or a tenth of, the farm's others at such a place: m2 among square feet."""
    typed = pl.DataFrame([row.values for row in rows], schema=LOSS_CHECKS.polars_schema())
    known = records["loss_checks"].join(typed, on=LOSS_CHECKS.key, how="anti", nulls_equal=True)
    found = []
    for place, row in enumerate(rows):
        area, where = row.values["area_m2"], row.values["place"]
        others = [other.values["area_m2"] for other in rows if other is not row and other.values["place"] == where]
        usual = _usual([*others, *known.filter(pl.col("place") == pl.lit(where, dtype=pl.String))["area_m2"]])
        if not isinstance(area, float) or not usual:
            continue
        for meant, times in (("1 sq ft", area * M2_PER_FT2 / usual), ("1 m2", area / M2_PER_FT2 / usual)):
            if abs(times - 1) < UNIT_SPREAD:
                words = f"area, m2: {number(area, 3)} given, the others about {number(usual, 3)}."
                found.append((place, f"{words} Was {meant} meant, or another unit?"))
    return found


def _usual(values: Sequence[object]) -> float | None:
    """The median of the known ones, once there are enough of them."""
    known = [value for value in values if isinstance(value, float)]
    return median(known) if len(known) >= ENOUGH_OTHERS else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plot:
    bu_ac: float  # as sold, of the loads so far
    loads_ac: float


def _plots_so_far(
    records: Records, rows: Sequence[Row], *, plots: Collection[tuple[object, ...]]
) -> dict[tuple[object, ...], _Plot]:
    """Yield and loads an acre by (crop_year, field, plot), of those plots that have acres: on record, or as typed."""
    wanted = pl.DataFrame(list(plots), schema={name: LOADS.polars_schema()[name] for name in PLOT_KEY}, orient="row")
    on_record = records["loads"].join(wanted, on=PLOT_KEY, how="semi").iter_rows(named=True)
    typed = (row.values for row in rows if not row.refused)
    loads = {tuple(load[name] for name in LOADS.key): load for load in chain(on_record, typed)}
    kilograms: dict[tuple[object, ...], list[float]] = {}
    for load in loads.values():
        kilograms.setdefault(tuple(load[name] for name in PLOT_KEY), []).append(clean_weight_kg(load))
    acres = plot_acres(records, crop_years={plot[0] for plot in plots})
    return {
        key: _Plot(bu_ac=sum(masses) / KG_PER_BUSHEL / acres[key], loads_ac=len(masses) / acres[key])
        for key, masses in kilograms.items()
        if sum(masses) and key in acres
    }


def clean_weight_kg(load: Mapping[str, object]) -> float:
    """What a load weighs without its dockage, kg; with it where that is not known, and 0 without a weight."""
    weight, dockage = load["weight_kg"], load["dockage_pct"]
    if not isinstance(weight, float):
        return 0.0
    return net_clean(weight, dockage_pct=dockage) if isinstance(dockage, float) and 0 <= dockage <= 100 else weight


def plot_acres(records: Records, *, crop_years: Collection[object]) -> dict[tuple[object, ...], float]:
    """Acres by (crop_year, field, plot), of the plots of these crop years that have them."""
    of_years = records["plots"].filter(pl.col("crop_year").is_in(list(crop_years)))
    rows = of_years.select(*PLOT_KEY, "acres").drop_nulls("acres").iter_rows()
    return {row[:3]: row[3] for row in rows}


def _neighbours(plot_key: tuple[object, ...], records: Records) -> list[tuple[object, ...]]:
    """The other plots of the field in that crop year, and the other side of its pair."""
    year, field, plot = plot_key
    of_year = pl.col("crop_year") == pl.lit(year)
    on_field = records["plots"].filter(of_year, pl.col("field") == pl.lit(field)).select(PLOT_KEY)
    others = [row for row in on_field.iter_rows() if row[2] != plot]
    for pair in records["pairs"].filter(of_year).iter_rows(named=True):
        sides = [(pair["crop_year"], pair[f"{side}_field"], pair[f"{side}_plot"]) for side in ("standing", "windrowed")]
        if plot_key in sides:
            others += [side for side in sides if side != plot_key and side[2] is not None]
    return list(dict.fromkeys(others))

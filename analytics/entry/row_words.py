"""What a typed row makes, in a few words beside it: tonnes and bushels, percent with its interval, loss per acre."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date

import polars as pl

from analytics.entry.typed_rows import Row
from analytics.entry.unlikely import clean_weight_kg, plot_acres
from analytics.pairs.grading import green_count
from analytics.records.columns import PLOT_KEY
from analytics.records.form import Records, Table
from analytics.records.grown_tables import OPERATIONS, PLOTS, PRICES
from analytics.records.harvest_tables import LOADS, LOSS_CHECKS, SAMPLES
from analytics.trade.days import days_to_first_cut
from analytics.trade.numbers_as_text import amount, count, exact, number
from analytics.trade.seed_loss import concentration_factor, grams_from_seeds, loss_bu_ac
from analytics.trade.units import CROP, KG_PER_BUSHEL, KG_PER_TONNE, YIELD_DECIMALS, per_bu_ac


def understood(table: Table, rows: Sequence[Row], records: Records, *, yield_unit: str, level: float) -> list[str]:
    """A line for each row, "" for a refused one and where there is nothing to add to what was typed."""
    if table is LOADS:
        return _loads(rows, records, yield_unit)
    words: dict[str, Callable[[Row], str]] = {
        SAMPLES.name: lambda row: _sample(row, level),
        LOSS_CHECKS.name: lambda row: _loss_check(row, records, yield_unit),
        PLOTS.name: _plot,
        OPERATIONS.name: lambda row: _operation(row, records),
        PRICES.name: _price,
    }
    one = words.get(table.name)
    return ["" if one is None or row.refused else one(row) for row in rows]


def _number(row: Row, name: str) -> float | None:
    value = row.values[name]
    return float(value) if isinstance(value, int | float) else None


def _loads(rows: Sequence[Row], records: Records, unit: str) -> list[str]:
    """Running totals of the rows as typed; loads on record that are not among them come first."""
    typed = pl.DataFrame([row.values for row in rows], schema=LOADS.polars_schema())
    others = records["loads"].join(typed, on=LOADS.key, how="anti").join(typed, on=PLOT_KEY, how="semi")
    clean_kg: dict[tuple[object, ...], float] = {}
    no_dockage: set[tuple[object, ...]] = set()

    def count_in(load: Mapping[str, object]) -> tuple[object, ...]:
        plot = tuple(load[name] for name in PLOT_KEY)
        clean_kg[plot] = clean_kg.get(plot, 0.0) + clean_weight_kg(load)
        if load["dockage_pct"] is None:
            no_dockage.add(plot)
        return plot

    for load in others.iter_rows(named=True):
        count_in(load)
    acres = plot_acres(records, crop_years={row.values["crop_year"] for row in rows})
    lines = []
    for row in rows:
        weight, dockage = _number(row, "weight_kg"), _number(row, "dockage_pct")
        if row.refused or weight is None:
            lines.append("" if row.refused else "the weight is not typed yet")
            continue
        clean = clean_weight_kg(row.values)
        kind = "t clean" if dockage is not None else "t, dockage unknown"
        plot = count_in(row.values)
        total = ", acres unknown"
        if plot in no_dockage:
            total = ", yield once every dockage is known"
        elif area := acres.get(plot):
            so_far = clean_kg[plot] / KG_PER_BUSHEL / area * per_bu_ac(unit)
            total = f", {amount(so_far, unit, _decimals(unit))} so far"
        lines.append(f"= {number(clean / KG_PER_TONNE, 2)} {kind}{total}")
    return lines


def _decimals(unit: str) -> int:
    return YIELD_DECIMALS[unit] + 1


def _sample(row: Row, level: float) -> str:
    green, crushed = row.values["green_seeds"], row.values["seeds_crushed"]
    if not isinstance(green, int) or not isinstance(crushed, int):
        slip = _number(row, "green_pct")
        return (
            ""
            if slip is None
            else f"= {amount(slip, '%', 2)} green on the slip, without a count and so without a range"
        )
    counted = green_count(green, crushed, level=level)
    spread = f"{number(counted.low, 2)} to {number(counted.high, 2)}"
    return f"= {amount(counted.percent, '%', 2)} green ({spread})"


def _loss_check(row: Row, records: Records, unit: str) -> str:
    percent = _number(row, "loss_pct")
    if percent is not None and row.values["seeds"] is None and row.values["grams"] is None:
        return f"= {amount(percent, '%', 1)} of the plot's yield, by somebody else's method"
    factor, words = 1.0, "="
    cut, discharge = _number(row, "cut_width_m"), _number(row, "discharge_width_m")
    if row.values["place"] == "pan behind combine" and cut and discharge:
        factor = concentration_factor(cut_width_m=cut, discharge_width_m=discharge)
        words = f"= {number(factor, 1)} times concentrated (cut over discharge),"
    grams, seeds, area = _number(row, "grams"), row.values["seeds"], _number(row, "area_m2")
    if grams is None and isinstance(seeds, int):
        thousand = _thousand_seed_g(row, records)
        if thousand is None:
            return f"{words} {count(seeds, 'seed')}; bu/ac once a thousand seed weight is known"
        grams = grams_from_seeds(seeds, thousand_seed_g=thousand)
    if grams is None or area is None:
        return ""
    lost = loss_bu_ac(grams, area_m2=area, concentration_factor=factor)
    return f"{words} {number(grams, 1)} g, {amount(lost * per_bu_ac(unit), unit, _decimals(unit))} lost"


def _thousand_seed_g(row: Row, records: Records) -> float | None:
    """The plot's own mean, else that of its crop year, as in the view loss_spots."""
    samples = records["samples"].drop_nulls("thousand_seed_g")
    means = samples.group_by(PLOT_KEY).agg(pl.col("thousand_seed_g").mean())
    of_plot = means.filter(pl.all_horizontal(pl.col(name) == pl.lit(row.values[name]) for name in PLOT_KEY))
    of_year = means.filter(pl.col("crop_year") == pl.lit(row.values["crop_year"]))["thousand_seed_g"].mean()
    if of_plot.height:
        return float(of_plot["thousand_seed_g"][0])
    return float(of_year) if isinstance(of_year, float) else None


def _plot(row: Row) -> str:
    windrowed, harvested = row.values["windrowed_on"], row.values["harvested_on"]
    lines = []
    if isinstance(windrowed, date) and isinstance(harvested, date):
        lines.append(f"{count((harvested - windrowed).days, 'day')} in the windrow")
    days, label = days_to_first_cut(row.values), row.values["preharvest_interval_days"]
    if days is not None:
        asked = f"label: {exact(label)}" if isinstance(label, int | float) else "label not typed"
        lines.append(f"{count(days, 'day')} from the product to the first cut ({asked})")
    return f"= {', '.join(lines)}" if lines else ""


def _operation(row: Row, records: Records) -> str:
    dollars = _number(row, "dollars_per_acre")
    plots = records["plots"].filter(pl.all_horizontal(pl.col(name) == pl.lit(row.values[name]) for name in PLOT_KEY))
    acres = plots["acres"][0] if plots.height else None
    if dollars is None or acres is None:
        return ""
    return f"= {amount(dollars * acres, '$', 0)} on {number(acres, 1)} ac"


def _price(row: Row) -> str:
    dollars = _number(row, "dollars_per_tonne")
    if dollars is None or str(row.values["crop"]).lower() != CROP:
        return ""
    return f"= {amount(dollars / KG_PER_TONNE * KG_PER_BUSHEL, '$/bu', 2)}"

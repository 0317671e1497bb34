"""From the records to an answer: pairs read, compared at the settings in force, cautions added."""

from dataclasses import replace

import duckdb
import polars as pl

from analytics.pairs.compared_pairs import all_pair_rows, cautions, interval_cautions, pair_facts, pair_rows
from analytics.settings import Settings, read_settings
from analytics.statistics.another_unit import scaled
from analytics.statistics.comparison import compare
from analytics.statistics.results import Caution, Comparison
from analytics.trade.measures import MEASURES, Measure, find_measure
from analytics.trade.units import per_bu_ac


def review(connection: duckdb.DuckDBPyConnection, measure_name: str) -> Comparison:
    """One measure over all pairs on record, in the unit of the record (bu/ac for yields).

    Raises BadInput for an unknown measure.
    """
    measure = find_measure(measure_name)
    rows, facts, intervals = pair_rows(connection, measure.name), pair_facts(connection), interval_cautions(connection)
    return reviewed(rows, facts, intervals, measure=measure, settings=read_settings(connection))


def review_all(connection: duckdb.DuckDBPyConnection) -> dict[str, Comparison]:
    """Every measure that has at least one complete pair, in the order of measures.py."""
    settings, rows, facts = read_settings(connection), all_pair_rows(connection), pair_facts(connection)
    intervals = interval_cautions(connection)
    found = {
        name: reviewed(rows[name], facts, intervals, measure=measure, settings=settings)
        for name, measure in MEASURES.items()
        if name in rows
    }
    return {name: comparison for name, comparison in found.items() if comparison.pairs}


def reviewed(
    rows: pl.DataFrame,
    facts: pl.DataFrame,
    intervals: tuple[Caution, ...],
    *,
    measure: Measure,
    settings: Settings,
) -> Comparison:
    """One measure from what compared_pairs reads, read once for several: rows as from pair_rows, facts as from
    pair_facts, intervals as from interval_cautions.
    """
    comparison = compare_rows(rows, measure=measure, settings=settings)
    return replace(comparison, cautions=(*intervals, *comparison.cautions, *cautions(facts, measure, rows)))


def compare_rows(rows: pl.DataFrame, *, measure: Measure, settings: Settings) -> Comparison:
    """The comparison of rows as from pairs.pair_rows; exploring a part of the pairs goes through here too."""
    return compare(
        rows["standing"].to_numpy(),
        rows["windrowed"].to_numpy(),
        crop_year=rows["crop_year"].to_list(),
        field=rows["field"].to_list(),
        pair=rows["pair"].to_list(),
        measure=measure.name,
        unit=measure.unit,
        direction=measure.direction,
        level=settings.level,
        margin=settings.margins[measure.name],
    )


def in_yield_unit(comparison: Comparison, unit: str) -> Comparison:
    """The same result in the chosen yield unit, where its measure follows that; no finding changes."""
    measure = MEASURES.get(comparison.measure)
    if measure is None or not measure.follows_yield_unit or comparison.unit == unit:
        return comparison
    return scaled(comparison, per_bu_ac(unit) / per_bu_ac(comparison.unit), unit)

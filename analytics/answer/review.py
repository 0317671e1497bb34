"""From the records to an answer: pairs read, compared at the settings in force, cautions added."""

from collections.abc import Mapping
from dataclasses import replace

import duckdb
import polars as pl

from analytics.pairs.compared_pairs import (
    EARLY_COLOUR_CHANGE_PCT,
    all_pair_rows,
    barred_cautions,
    interval_cautions,
    pair_cautions,
    pair_facts,
    pair_rows,
)
from analytics.records.setting_values import BY_DESIGN
from analytics.settings import Settings, read_settings
from analytics.statistics.another_unit import moved, scaled
from analytics.statistics.comparison import compare_pairs
from analytics.statistics.exploration import DependsOn, depends_on
from analytics.statistics.given_pairs import Pairs, complete_pairs
from analytics.statistics.many_measures import holm_marks
from analytics.statistics.results import Basis, Caution, Comparison, Finding, Question
from analytics.trade.measures import MEASURES, Measure, find_measure, gaps_to_plan_for
from analytics.trade.units import per_bu_ac

THE_SAME_QUESTION = "yield_as_sold"  # as yield, at another moisture
COMPARED = (
    "crop_year",
    "pair",
    "standing_field",
    "windrowed_field",
    "layout",
    "allocation",
    "standing",
    "windrowed",
    "barred",
)


def review(connection: duckdb.DuckDBPyConnection, measure_name: str) -> Comparison:
    """One measure over all pairs on record, in the unit of the record (bu/ac for yields).

    Raises BadInput for an unknown measure.
    """
    measure = find_measure(measure_name)
    rows, facts, intervals = pair_rows(connection, measure.name), pair_facts(connection), interval_cautions(connection)
    return reviewed(rows, facts, intervals, measure=measure, settings=read_settings(connection))


def review_all(
    connection: duckdb.DuckDBPyConnection,
    rows: Mapping[str, pl.DataFrame] | None = None,
    facts: pl.DataFrame | None = None,
    known: Mapping[str, Comparison] | None = None,
) -> dict[str, Comparison]:
    """Every measure that has at least one complete pair, in the order of measures.py, each also looked at together.

    rows, facts : as from all_pair_rows and pair_facts, where they were read already
    known : as from compare_rows by measure, where they were compared already
    """
    settings, intervals = read_settings(connection), interval_cautions(connection)
    rows = all_pair_rows(connection) if rows is None else rows
    facts = pair_facts(connection) if facts is None else facts
    found = {
        name: reviewed(
            rows[name], facts, intervals, measure=measure, settings=settings, known=known.get(name) if known else None
        )
        for name, measure in MEASURES.items()
        if name in rows
    }
    compared = {name: comparison for name, comparison in found.items() if comparison.all_pairs.pairs}
    return looked_at_together(compared, settings)


def looked_at_together(found: Mapping[str, Comparison], settings: Settings) -> dict[str, Comparison]:
    """The same comparisons, each with its mark among the others for both questions.

    The main measure is judged by itself; yield as sold asks the same as yield and is passed over.
    """
    marks = []
    for question in Question:
        answers = {name: getattr(comparison, question.value) for name, comparison in found.items()}
        p_values = {
            name: None if name == THE_SAME_QUESTION or answer.finding is Finding.TOO_FEW else answer.p_value
            for name, answer in answers.items()
        }
        marks.append(holm_marks(p_values, main=settings.main_measure, level=settings.level))
    return {name: replace(comparison, holm=(marks[0][name], marks[1][name])) for name, comparison in found.items()}


def reviewed(
    rows: pl.DataFrame,
    facts: pl.DataFrame,
    intervals: tuple[Caution, ...],
    *,
    measure: Measure,
    settings: Settings,
    known: Comparison | None = None,
) -> Comparison:
    """One measure from what compared_pairs reads, read once for several: rows as from pair_rows, facts as from
    pair_facts, intervals as from interval_cautions.

    known : as from compare_rows of the same, where it was compared already
    """
    comparison = known or compare_rows(rows, facts, measure=measure, settings=settings)
    used = {(pair.crop_year, pair.pair) for pair in comparison.pair_differences if pair.in_these or pair.in_to_come}
    is_used = pl.Series([pair in used for pair in rows.select("crop_year", "pair").iter_rows()], dtype=pl.Boolean)
    counted = rows.filter(rows["difference"].is_null() | is_used)
    barred = barred_cautions(comparison.all_pairs.barred)
    return replace(
        comparison, cautions=(*intervals, *barred, *comparison.cautions, *pair_cautions(facts, measure, counted))
    )


def compare_rows(rows: pl.DataFrame, facts: pl.DataFrame, *, measure: Measure, settings: Settings) -> Comparison:
    """The comparison alone of rows as from pair_rows, made as facts from pair_facts say."""
    return compare_pairs(
        pairs_of(rows, facts),
        measure=measure.name,
        unit=measure.unit,
        direction=measure.direction,
        level=settings.level,
        margin=settings.margins[measure.name],
        basis=None if settings.basis == BY_DESIGN else Basis(settings.basis),
        gaps=_with_margin(gaps_to_plan_for(measure.name, measure.unit), settings.margins[measure.name]),
        list_all=True,
    )


def _with_margin(gaps: tuple[float, ...] | None, margin: float) -> list[float] | None:
    """The gaps and the one that matters; None stays None, whose multiples begin with the margin."""
    return None if gaps is None else sorted({*gaps, margin})


def what_is_compared(rows: pl.DataFrame, facts: pl.DataFrame) -> pl.DataFrame:
    """All of rows and facts that pairs_of, and so compare_rows, looks at."""
    key = ["crop_year", "pair"]
    made = facts.select(*key, early_cut=pl.col("windrow_colour_change_pct") < EARLY_COLOUR_CHANGE_PCT)
    columns = [name for name in COMPARED if name in rows.columns]
    return rows.select(columns).join(made, on=key, how="left", maintain_order="left")


def pairs_of(rows: pl.DataFrame, facts: pl.DataFrame) -> Pairs:
    """The complete pairs among rows, with how they were made."""
    compared = what_is_compared(rows, facts)
    return complete_pairs(
        compared["standing"].to_numpy(),
        compared["windrowed"].to_numpy(),
        crop_year=compared["crop_year"].to_list(),
        standing_field=compared["standing_field"],
        windrowed_field=compared["windrowed_field"],
        pair=compared["pair"],
        layout=compared["layout"],
        allocation=compared["allocation"],
        early_cut=compared["early_cut"].to_list(),
        barred=compared["barred"].to_list() if "barred" in compared.columns else None,
    )


def what_it_depends_on(connection: duckdb.DuckDBPyConnection, measure_name: str, unit: str) -> tuple[DependsOn, ...]:
    """What the difference of one measure may depend on, over all pairs. Exploration.

    unit : the chosen yield unit, for measures that follow it
    """
    measure, settings = find_measure(measure_name), read_settings(connection)
    found = depends_on_of(pair_rows(connection, measure.name), pair_facts(connection), level=settings.level)
    return asked_in_unit(found, measure, unit)


def asked_in_unit(asked: tuple[DependsOn, ...], measure: Measure, unit: str) -> tuple[DependsOn, ...]:
    """The same in the chosen yield unit, where the measure follows that."""
    if not measure.follows_yield_unit:
        return asked
    in_unit: tuple[DependsOn, ...] = moved(asked, per_bu_ac(unit) / per_bu_ac(measure.unit))
    return in_unit


def depends_on_of(rows: pl.DataFrame, facts: pl.DataFrame, *, level: float) -> tuple[DependsOn, ...]:
    """The same from rows and facts as for reviewed, in the unit of the record."""
    known = rows.select("crop_year", "pair").join(facts, on=["crop_year", "pair"], how="left", maintain_order="left")
    return depends_on(
        pairs_of(rows, facts),
        {
            "shatter_tolerant": known["is_shatter_tolerant"].to_list(),
            "preharvest_product": known["has_preharvest_product"].to_list(),
            "same_variety": (~known["is_variety_different"]).to_list(),
        },
        level=level,
    )


def in_yield_unit(comparison: Comparison, unit: str) -> Comparison:
    """The same result in the chosen yield unit, where its measure follows that; no finding changes."""
    measure = MEASURES.get(comparison.measure)
    if measure is None or not measure.follows_yield_unit or comparison.unit == unit:
        return comparison
    return scaled(comparison, per_bu_ac(unit) / per_bu_ac(comparison.unit), unit)

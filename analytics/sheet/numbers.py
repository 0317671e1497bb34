"""The numbers behind the sheet as tables: what the XLSX holds, and what the sheet's own tables are made of.

Every difference is standing minus windrowed. Yields and losses are in the yield unit of the settings; null is unknown.
"""

from collections.abc import Mapping

import duckdb
import polars as pl

from analytics.money.costs import canola_prices, cost_rates
from analytics.pairs.losses import pair_losses
from analytics.settings import Settings
from analytics.statistics.results import Comparison
from analytics.storage.database import read_table
from analytics.trade.measures import MEASURES
from analytics.trade.seed_loss import PART_WORDS
from analytics.trade.units import per_bu_ac

Tables = dict[str, pl.DataFrame]  # by the name of the sheet in the workbook
PAIR = ["crop_year", "pair"]
ANSWER_NUMBERS = ("estimate", "low", "high", "std_error", "df", "p_value", "equivalence_p")


def answers(comparisons: Mapping[str, Comparison]) -> pl.DataFrame:
    """A row a measure and question: counts, finding, estimate with its interval, and how it was computed."""
    rows = [
        {
            "measure": MEASURES[name].label,
            "unit": comparison.unit,
            "question": question,
            "finding": answer.finding.value,
            **{number: getattr(answer, number) for number in ANSWER_NUMBERS},
            "prediction_low": answer.prediction_low,
            "prediction_high": answer.prediction_high,
            "level": comparison.level,
            "margin": comparison.margin,
            "pairs": comparison.pairs,
            "field_years": comparison.field_years,
            "years": comparison.years,
            "left_out": comparison.left_out,
            "method": answer.method,
        }
        for name, comparison in comparisons.items()
        for question, answer in (
            ("these fields", comparison.these_fields),
            ("years to come", comparison.years_to_come),
        )
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def by_year(comparisons: Mapping[str, Comparison]) -> pl.DataFrame:
    """A row a measure and crop year: field_years, estimate, low, high."""
    rows = [
        {
            "measure": MEASURES[name].label,
            "unit": comparison.unit,
            "crop_year": year.crop_year,
            "field_years": year.field_years,
            "estimate": year.estimate,
            "low": year.low,
            "high": year.high,
        }
        for name, comparison in comparisons.items()
        for year in comparison.by_year
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def pair_differences(rows: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """A row a measure and pair: standing, windrowed, difference, and what is missing where a side is unknown.

    rows : the view pair_measures
    """
    frames = []
    for name, measure in MEASURES.items():
        factor = per_bu_ac(settings.yield_unit) if measure.follows_yield_unit else 1.0
        unit = settings.yield_unit if measure.follows_yield_unit else measure.unit
        frames.append(
            rows.filter(pl.col("measure") == name).select(
                pl.lit(measure.label).alias("measure"),
                pl.lit(unit).alias("unit"),
                *PAIR,
                "field",
                "layout",
                "allocation",
                *(pl.col(side) * factor for side in ("standing", "windrowed", "difference")),
                "missing",
            )
        )
    return pl.concat(frames, how="vertical_relaxed")


def pairs(connection: duckdb.DuckDBPyConnection, rows: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """A row a pair, newest year first: crop_year, pair, field, layout, allocation; yield_ and loss_ of each side;
    green_ and crushed_ seeds of each side; windrow_colour_change_pct; is_weighing_different, is_variety_different,
    is_interval_short, days_between_seedings.

    rows : the view pair_measures
    """
    factor = per_bu_ac(settings.yield_unit)

    def sides(measure: str) -> pl.DataFrame:
        return rows.filter(pl.col("measure") == measure).select(
            *PAIR,
            (pl.col("standing") * factor).alias(f"{measure}_standing"),
            (pl.col("windrowed") * factor).alias(f"{measure}_windrowed"),
        )

    facts = read_table(connection, "pair_facts").select(
        *PAIR,
        "windrow_colour_change_pct",
        "is_weighing_different",
        "is_variety_different",
        "is_interval_short",
        "days_between_seedings",
    )
    return (
        rows.filter(pl.col("measure") == "yield")
        .select(*PAIR, "field", "layout", "allocation")
        .join(sides("yield"), on=PAIR)
        .join(sides("loss"), on=PAIR)
        .join(green_counts(connection), on=PAIR)
        .join(facts, on=PAIR)
        .sort("crop_year", "pair", descending=[True, False])
    )


def green_counts(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Crush counts of each pair, summed over the plot's samples: green_standing, crushed_standing, green_windrowed,
    crushed_windrowed.
    """
    return read_table(connection, "pair_counts").select(
        *PAIR,
        *(
            pl.col(f"{side}_{what}").alias(f"{what}_{side}")
            for side in ("standing", "windrowed")
            for what in ("green", "crushed")
        ),
    )


def losses(connection: duckdb.DuckDBPyConnection, settings: Settings) -> pl.DataFrame:
    """Mean of each part of the loss over the pairs that have it: part, pairs, standing, windrowed, difference.

    The windrower's part has no standing side: there standing is null, and the difference counts it as 0.
    """
    factor = per_bu_ac(settings.yield_unit)
    known = pair_losses(connection).filter(pl.col("difference_bu_ac").is_not_null())
    means = known.group_by("part").agg(
        pl.len().alias("pairs"),
        *((pl.col(f"{side}_bu_ac").mean() * factor).alias(side) for side in ("standing", "windrowed", "difference")),
    )
    order = pl.DataFrame({"part": list(PART_WORDS), "words": list(PART_WORDS.values())})
    joined = order.join(means, on="part", how="inner", maintain_order="left")
    return joined.select(pl.col("words").alias("part"), "pairs", "standing", "windrowed", "difference")


def costs(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """The rate in force for each cost item, with its range, year, basis and source."""
    rows = [
        {
            "item": rate.item,
            "low": rate.low,
            "middle": rate.middle,
            "high": rate.high,
            "unit": rate.unit,
            "region": rate.region,
            "year": rate.year,
            "basis": rate.basis,
            "source": rate.source,
            "own": "yes" if rate.is_own else "no",
        }
        for rate in cost_rates(connection).values()
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def all_tables(
    connection: duckdb.DuckDBPyConnection,
    rows: pl.DataFrame,
    settings: Settings,
    comparisons: Mapping[str, Comparison],
) -> Tables:
    """Every table of the workbook, by the name of its sheet; those without a row are left out.

    rows : the view pair_measures
    """
    cautions = [
        {"measure": MEASURES[name].label, "code": caution.code, "caution": caution.text}
        for name, comparison in comparisons.items()
        for caution in comparison.cautions
    ]
    found = {
        "answers": answers(comparisons),
        "by year": by_year(comparisons),
        "pairs by measure": pair_differences(rows, settings),
        "pairs": pairs(connection, rows, settings),
        "losses": losses(connection, settings),
        "costs": costs(connection),
        "prices": canola_prices(connection),
        "cautions": pl.DataFrame(cautions),
    }
    return {name: frame for name, frame in found.items() if frame.height}

"""The numbers behind the sheet as tables: what the XLSX holds, and what the sheet's own tables are made of.

Every difference is standing minus windrowed. Yields and losses are in the yield unit of the settings; null is unknown.
"""

from collections.abc import Mapping

import duckdb
import polars as pl

from analytics.answer import marks, statistics_rows
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


def answer_rows(comparisons: Mapping[str, Comparison]) -> pl.DataFrame:
    """A row a measure and question: counts, finding, estimate with its interval, and how it was computed."""
    rows = [
        {
            "measure": MEASURES[name].label,
            "unit": comparison.unit,
            "question": question,
            "finding": marks.finding_words(comparison, answer),
            "rests on": statistics_rows.basis_words(answer),
            **{number: getattr(answer, number) for number in ANSWER_NUMBERS},
            "a field not tried yet, from": None if question == "these fields" else new.prediction_low,
            "a field not tried yet, to": None if question == "these fields" else new.prediction_high,
            "level": comparison.level,
            "margin": comparison.margin,
            "pairs": answer.pairs,
            "field_years": answer.field_years,
            "years": answer.years,
            "left_out": comparison.left_out,
            "method": answer.method,
        }
        for name, comparison in comparisons.items()
        for new in (comparison.fields_not_tried,)
        for question, answer in (
            ("these fields", comparison.these_fields),
            ("years to come", comparison.years_to_come),
        )
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def carried_numbers(comparisons: Mapping[str, Comparison]) -> pl.DataFrame:
    """A row a measure, question and kind of pair: counts, estimate with its range."""
    rows = [
        {
            "measure": MEASURES[name].label,
            "unit": comparison.unit,
            "question": marks.QUESTION_WORDS[row.question],
            "pairs of": statistics_rows.ROW_WORDS[row.row],
            "pairs": row.pairs,
            "field_years": row.field_years,
            "years": row.years,
            "estimate": row.estimate,
            "low": row.low,
            "high": row.high,
        }
        for name, comparison in comparisons.items()
        for row in comparison.carries
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def year_rows(comparisons: Mapping[str, Comparison]) -> pl.DataFrame:
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


def pair_numbers(connection: duckdb.DuckDBPyConnection, rows: pl.DataFrame, settings: Settings) -> pl.DataFrame:
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


def loss_means(connection: duckdb.DuckDBPyConnection, settings: Settings, loss: Comparison) -> pl.DataFrame:
    """Mean of each part of the loss over field-years that have it: part, field_years, standing, windrowed, difference.

    loss : the comparison of the total; the parts rest on the same pairs, averaged to the same field-years
    The windrower's part has no standing side: there standing is null, and the difference counts it as 0.
    """
    factor = per_bu_ac(settings.yield_unit)
    places = pl.DataFrame(
        [(pair.crop_year, pair.pair, pair.place) for pair in loss.pair_differences if pair.in_these],
        schema={"crop_year": pl.Int64, "pair": pl.String, "place": pl.String},
        orient="row",
    )
    sides = [f"{side}_bu_ac" for side in ("standing", "windrowed", "difference")]
    known = pair_losses(connection).filter(pl.col("difference_bu_ac").is_not_null()).join(places, on=PAIR)
    field_years = known.group_by("part", "crop_year", "place", maintain_order=True).agg(pl.col(sides).mean())
    means = field_years.group_by("part", maintain_order=True).agg(
        pl.len().alias("field_years"), *((pl.col(side).mean() * factor).alias(side) for side in sides)
    )
    order = pl.DataFrame({"part": list(PART_WORDS), "words": list(PART_WORDS.values())})
    joined = order.join(means, on="part", how="inner", maintain_order="left")
    named = {side: side.removesuffix("_bu_ac") for side in sides}
    return joined.select(pl.col("words").alias("part"), "field_years", *sides).rename(named)


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
        "answers": answer_rows(comparisons),
        "what carries it": carried_numbers(comparisons),
        "by year": year_rows(comparisons),
        "pairs by measure": pair_differences(rows, settings),
        "pairs": pair_numbers(connection, rows, settings),
        "losses": loss_means(connection, settings, comparisons["loss"]) if "loss" in comparisons else pl.DataFrame(),
        "costs": costs(connection),
        "prices": canola_prices(connection),
        "cautions": pl.DataFrame(cautions),
    }
    return {name: frame for name, frame in found.items() if frame.height}

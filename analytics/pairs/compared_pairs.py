"""Which pairs are complete, which are left out and why, and what weakens the ones that are compared."""

from collections.abc import Sequence

import duckdb
import polars as pl

from analytics.statistics.results import Caution
from analytics.storage.database import read, read_query, read_table
from analytics.trade.days import interval_doubts
from analytics.trade.measures import Measure
from analytics.trade.numbers_as_text import count, number

DAYS_BETWEEN_SEEDINGS = 7  # more than so many is told; our choice, no source
EARLY_COLOUR_CHANGE_PCT = 60  # windrow at 60 % or later: Canola Council of Canada, 2019
MOST_PLOTS = 5  # named in one sentence; standrow check names them all
# What early cutting does by itself: Canola Council of Canada, 2019 (yield, green seed); the others follow from it.
EARLY_CUTTING = {
    "yield": "Early cutting alone can cost yield.",
    "yield_as_sold": "Early cutting alone can cost yield.",
    "net_return": "Early cutting alone can cost yield, and so money.",
    "green_seed": "Early cutting alone can leave more green seed.",
    "test_weight": "Early cutting alone can leave lighter seed.",
    "thousand_seed": "Early cutting alone can leave lighter seed.",
    "days_to_harvest": "Early cutting alone brings harvest forward.",
}
WEIGHED_MEASURES = ("yield", "yield_as_sold", "net_return")


def pair_rows(connection: duckdb.DuckDBPyConnection, measure: str) -> pl.DataFrame:
    """Every pair for one measure, oldest year first: crop_year, pair, field (for reading), standing_field,
    windrowed_field, layout, allocation, standing, windrowed, difference (standing minus windrowed), missing (in words;
    null where the pair is complete), barred (why it is in no answer though it is complete, in words; else null),
    not_known (what is asked of it beforehand and not known, though it counts; else null).
    """
    return rows_of_measures(connection, measure)[measure]


def rows_of_measures(connection: duckdb.DuckDBPyConnection, *measures: str) -> dict[str, pl.DataFrame]:
    """As from pair_rows for each of these measures, by its name; the view is worked out once."""
    rows = read(
        connection,
        "select * from pair_measures where measure in (select unnest($measures)) order by crop_year, pair",
        measures=list(measures),
    )
    return {measure: rows.filter(measure=measure).drop("measure") for measure in measures}


def all_pair_rows(connection: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    """Every pair for every measure, as from pair_rows, by the measure's name; the view is worked out once."""
    rows = read_table(connection, "pair_measures").sort("crop_year", "pair")
    return {str(name): frame.drop("measure") for (name,), frame in rows.group_by("measure", maintain_order=True)}


def pair_facts(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """One row a pair: what should be alike on both sides, how the pair was made, and what its year's weather was."""
    return read_table(connection, "pair_facts").join(read_table(connection, "year_weather"), on="crop_year", how="left")


def planned_pairs(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Pairs that are planned and not harvested yet: columns of pairs. They are in no comparison and lack nothing."""
    return read_table(connection, "planned_pairs").sort("crop_year", "pair")


def planned_words(count: int) -> str:
    """How many pairs are planned: "2 pairs are planned and not harvested yet"."""
    return f"{_pairs(count)} {'is' if count == 1 else 'are'} planned and not harvested yet"


def unpaired_plots(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Plots that are in no pair: crop_year, field, plot, method."""
    return read_query(connection, "unpaired_plots")


def interval_cautions(connection: duckdb.DuckDBPyConnection) -> tuple[Caution, ...]:
    """Every plot on record, in a pair or not, that was cut sooner after a product than its label asks as typed.

    It concerns what is delivered and no comparison, so it comes before whatever weakens one.
    """
    plots = read_table(connection, "plots").sort("crop_year", "field", "plot", descending=[True, False, False])
    short = [doubt.in_short for doubt in interval_doubts(plots) if doubt.is_short]
    if not short:
        return ()
    others = f" and {count(len(short) - MOST_PLOTS, 'more plot')}" if len(short) > MOST_PLOTS else ""
    text = (
        "Cut sooner after a product than the label asks, by the days on record: "
        f"{', '.join(short[:MOST_PLOTS])}{others}. Ask the buyer before delivering; the label, local rules and the "
        "contract come first."
    )
    return (Caution(code="interval_short", text=text),)


def barred_cautions(barred: Sequence[tuple[str, int]]) -> tuple[Caution, ...]:
    """Pairs that are in no answer though both sides are known; barred : reason and number of pairs."""
    return tuple(
        Caution(code="barred", text=f"{count(pairs, 'pair')} in no answer: {reason}.") for reason, pairs in barred
    )


def pair_cautions(facts: pl.DataFrame, measure: Measure, rows: pl.DataFrame) -> tuple[Caution, ...]:
    """What weakens the comparison of these pairs, the weightiest first.

    facts : as from pair_facts
    rows : as from pair_rows; only the complete ones count
    """
    planned = facts.filter(pl.col("is_planned")).height
    used_rows = rows.filter(pl.col("difference").is_not_null())
    facts = facts.join(used_rows.select("crop_year", "pair"), on=["crop_year", "pair"])
    total = facts.height
    found = []

    def say(code: str, count: int, text: str) -> None:
        if count:
            found.append(Caution(code=code, text=f"In {count} of {_pairs(total)} {text}"))

    say(
        "windrowed_early",
        facts.filter(pl.col("windrow_colour_change_pct") < EARLY_COLOUR_CHANGE_PCT).height,
        f"the windrowed side was cut before {EARLY_COLOUR_CHANGE_PCT} % seed colour change. "
        f"{EARLY_CUTTING.get(measure.name, '')}".rstrip(),
    )
    if measure.name in WEIGHED_MEASURES:
        say(
            "weighed_differently",
            facts.filter(pl.col("is_weighing_different")).height,
            "the two sides were weighed in different ways; the difference may come from the scales.",
        )
        say(
            "monitor_far_off",
            facts.filter(pl.col("is_monitor_far_off")).height,
            "a yield monitor was more than 5 % off its certified total; it was scaled, but ask why. A well calibrated "
            "one is within 3 %, a poor one 10 % (Iowa State specialist, farm press 2015).",
        )
        say(
            "monitor_apart",
            facts.filter(pl.col("is_monitor_apart")).height,
            "a yield monitor weighed and the sides were combined more than two weeks or 4 points of moisture apart "
            "(limits of our own); a monitor drifts with moisture and date.",
        )
    say(
        "different_variety",
        facts.filter(pl.col("is_variety_different")).height,
        "the two sides grew different varieties.",
    )
    say(
        "seeded_apart",
        facts.filter(pl.col("days_between_seedings") > DAYS_BETWEEN_SEEDINGS).height,
        f"the two sides were seeded more than {DAYS_BETWEEN_SEEDINGS} days apart.",
    )
    unknown = used_rows.drop_nulls("not_known")
    asked = sorted({one for names in unknown["not_known"] for one in names.split(", ")})
    say(
        "requirement_not_known",
        unknown.height,
        f"it is not known whether what was asked beforehand is so: {', '.join(asked)}. They count all the same.",
    )
    say(
        "allocation_chosen",
        facts.filter(pl.col("allocation") == "chosen").height,
        "the methods were chosen, not drawn by lot; a field that was easy to cut standing may have been the better "
        "one.",
    )
    say(
        "allocation_not_known",
        facts["allocation"].null_count(),
        "it is not known whether the methods were chosen or drawn by lot; say so under Pairs.",
    )
    say(
        "draw_broken",
        facts.filter(pl.col("is_draw_broken")).height,
        "the lot was drawn but not kept to; whatever forced it may also have moved the result.",
    )
    found += _no_bad_year(facts)
    last = [Caution(code="planned", text=f"{planned_words(planned)}; none is counted here.")] if planned else []
    return (*found, *_left_out(rows), *last)


def _no_bad_year(facts: pl.DataFrame) -> list[Caution]:
    """With no bad year among those whose weather is known: how often one may come and not have been seen yet.

    The yearly chance that Y quiet years cannot exclude at 95 % is 1 - 0.05^(1/Y): exact binomial, none seen in Y.
    """
    years = facts.filter(pl.col("is_weather_known")).group_by("crop_year").agg(pl.col("is_bad_year").any())
    if years.is_empty() or years["is_bad_year"].any():
        return []
    chance = 1 - 0.05 ** (1 / years.height)
    among = "the one year" if years.height == 1 else f"the {years.height} years"
    text = (
        f"No year with frost or strong wind between cutting and combining is among {among} whose weather is on record. "
        f"Such years could come {number(100 * chance, 0)} times in 100 and not have been seen yet; what they do to a "
        "standing crop is not in this answer."
    )
    return [Caution(code="no_bad_year", text=text)]


def _left_out(rows: pl.DataFrame) -> Sequence[Caution]:
    missing = rows.filter(pl.col("difference").is_null())
    if missing.is_empty():
        return ()
    first = missing.row(0, named=True)
    others = f" And {missing.height - 1} more." if missing.height > 1 else ""
    text = f"Left out: pair {first['pair']}, {first['crop_year']}, which lacks {first['missing']}.{others}"
    return (Caution(code="left_out", text=text),)


def _pairs(count: int) -> str:
    return "1 pair" if count == 1 else f"{count} pairs"

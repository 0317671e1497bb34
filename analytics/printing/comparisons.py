"""Answers in the terminal: all measures in one table, or one with all that it rests on."""

from collections.abc import Mapping

from rich.console import Console

from analytics.answer import marks, statistics_rows, wording
from analytics.answer.beside_published import Beside
from analytics.answer.next_steps import next_steps
from analytics.printing.beside_trials import print_beside_trials
from analytics.printing.listed import plain_table, print_list
from analytics.statistics.results import Comparison
from analytics.trade.cautions import NOT_ADVICE
from analytics.trade.measures import MEASURES


def print_answers(console: Console, comparisons: Mapping[str, Comparison]) -> None:
    """One row a measure: the difference on these fields and for years to come, with the finding of each."""
    table = plain_table("Standing minus windrowed")
    table.add_column("measure", min_width=9)
    for question in ("these fields", "years to come"):
        table.add_column(question, justify="right", no_wrap=True)
        table.add_column("finding", min_width=9)
    for comparison in comparisons.values():
        table.add_row(
            f"{MEASURES[comparison.measure].label}, {comparison.unit}",
            wording.estimate_with_range(comparison, comparison.these_fields),
            marks.finding_words(comparison, comparison.these_fields),
            wording.estimate_with_range(comparison, comparison.years_to_come),
            marks.finding_words(comparison, comparison.years_to_come),
        )
    console.print(table)


def print_comparison(console: Console, comparison: Comparison, others: Beside | None) -> None:
    """The sentence, what carries it, each year, the statistics, what others found, what it rests on, the cautions."""
    console.print(wording.sentence(comparison), markup=False, soft_wrap=True)
    print_carried(console, comparison)
    years = plain_table("By crop year")
    for name in ("crop year", "field-years", f"difference, {comparison.unit}"):
        years.add_column(name, justify="right")
    for row in comparison.by_year:
        years.add_row(str(row.crop_year or "all"), str(row.field_years), wording.year_with_range(comparison, row))
    console.print(years)
    statistics = plain_table("For a statistician")
    statistics.add_column("number")
    statistics.add_column("these fields", justify="right")
    statistics.add_column("years to come", justify="right")
    for line in statistics_rows.statistics_rows(comparison):
        statistics.add_row(line.name, line.these_fields, line.years_to_come)
    console.print(statistics)
    if others is not None:
        print_beside_trials(console, others)
    print_ground(console, comparison)


def print_carried(console: Console, comparison: Comparison) -> None:
    """What carries the answer: each kind of pair alone; the rows that it rests on are starred."""
    table = plain_table(f"What carries it: {comparison.unit}, standing minus windrowed")
    table.add_column("pairs")
    for name in ("field-years", "these fields", "years", "years to come"):
        table.add_column(name, justify="right")
    for row in statistics_rows.carried_rows(comparison):
        table.add_row(row.name, row.field_years, row.these_fields, row.years, row.years_to_come)
    console.print(table)
    console.print(statistics_rows.carried_notes(comparison), soft_wrap=True)


def print_ground(console: Console, comparison: Comparison) -> None:
    """What a comparison rests on, what governs it, what weakens it and what would settle it."""
    console.print(f"It rests on {wording.rests_on(comparison)} {wording.level_and_margin(comparison)}", soft_wrap=True)
    print_list(console, "Cautions", (caution.text for caution in comparison.cautions))
    print_list(console, "Next", next_steps(comparison))
    console.print(NOT_ADVICE, markup=False, soft_wrap=True)

"""Results as readable tables and sentences in the terminal."""

from collections.abc import Iterable, Mapping

from rich.console import Console
from rich.table import Table

from analytics import wording
from analytics.measures import MEASURES
from analytics.results import Comparison


def answers(console: Console, comparisons: Mapping[str, Comparison]) -> None:
    """One row a measure: the difference on these fields and for years to come, with the finding of each."""
    table = Table(title="Standing minus windrowed", title_justify="left", pad_edge=False)
    table.add_column("measure", no_wrap=True)
    table.add_column("unit")
    for question in ("these fields", "years to come"):
        table.add_column(question, justify="right", no_wrap=True)
        table.add_column("finding")
    for comparison in comparisons.values():
        table.add_row(
            MEASURES[comparison.measure].label,
            comparison.unit,
            wording.estimate_with_range(comparison, comparison.these_fields),
            wording.finding_words(comparison.these_fields),
            wording.estimate_with_range(comparison, comparison.years_to_come),
            wording.finding_words(comparison.years_to_come),
        )
    console.print(table)


def one_comparison(console: Console, comparison: Comparison) -> None:
    """The sentence, what it rests on, each year, the statistics for a checker, and the cautions."""
    console.print(wording.sentence(comparison))
    console.print(f"It rests on {wording.rests_on(comparison)}")
    years = Table(title="By crop year", title_justify="left", pad_edge=False)
    for name in ("crop year", "field-years", f"difference, {comparison.unit}"):
        years.add_column(name, justify="right")
    for row in comparison.by_year:
        years.add_row(
            str(row.crop_year or "all"), str(row.field_years), wording.year_with_range(comparison, row)
        )
    console.print(years)
    statistics = Table(title="For a checker", title_justify="left", pad_edge=False)
    statistics.add_column("")
    statistics.add_column("these fields", justify="right")
    statistics.add_column("years to come", justify="right")
    for line in wording.checker_rows(comparison):
        statistics.add_row(line.name, line.these_fields, line.years_to_come)
    console.print(statistics)
    sentences(console, "Cautions", (caution.text for caution in comparison.cautions))
    sentences(console, "Next", wording.next_steps(comparison))


def sentences(console: Console, title: str, lines: Iterable[str]) -> None:
    """A titled list of sentences; nothing when there are none."""
    kept = list(lines)
    if kept:
        console.print(f"{title}:")
    for line in kept:
        console.print(f"  - {line}")

"""A growers' group in the terminal: every measure in one table, and one in full."""

from collections.abc import Mapping

from rich.console import Console

from analytics.answer import marks, wording
from analytics.pool import group_words
from analytics.pool.farm_answers import FarmAnswers
from analytics.pool.group_files import GroupRows
from analytics.pool.group_review import GroupMeasure
from analytics.printing.listed import plain_table, print_list
from analytics.statistics.results import Comparison
from analytics.trade.cautions import GROUPS_ARE_NOT_ADVICE


def print_group(console: Console, of: GroupRows, found: Mapping[str, GroupMeasure], *, own: str | None) -> None:
    """A row a measure with the three questions, then yield, or the first measure, in full; own : this farm's code."""
    console.print(group_words.of_whom(of), markup=False, soft_wrap=True)
    table = plain_table("Standing minus windrowed")
    table.add_column("measure", min_width=9)
    for question in ("these records", "these farms, years to come", "another farm, years to come"):
        table.add_column(question, justify="right")
        table.add_column("finding", min_width=9)
    for name, one in found.items():
        answers = (one.comparison.these_fields, one.answers.these_farms, one.answers.another_farm)
        cells = [
            (wording.estimate_with_range(one.comparison, answer), marks.finding_words(one.comparison, answer))
            for answer in answers
        ]
        table.add_row(group_words.heading(name, one), *(text for cell in cells for text in cell))
    console.print(table)
    main = found.get("yield") or next(iter(found.values()))
    for said in (group_words.group_sentence(main), group_words.agree(main), group_words.own_farm(main, own)):
        if said:
            console.print(said, markup=False, soft_wrap=True)
    _farms(console, main, own)
    _carried(console, main)
    print_list(
        console, "Does it depend on something", (group_words.depends_line(main, line) for line in main.depends_on)
    )
    console.print(group_words.ASKED, markup=False, soft_wrap=True)
    print_list(console, "Cautions", group_words.group_cautions(main))
    console.print(GROUPS_ARE_NOT_ADVICE, markup=False, soft_wrap=True)


def _farms(console: Console, one: GroupMeasure, own: str | None) -> None:
    farms = plain_table(f"Farms: {one.comparison.unit}, standing minus windrowed")
    farms.add_column("farm")
    for name in ("field-years", "its own mean", "drawn towards the group"):
        farms.add_column(name, justify="right")
    for farm in one.answers.farms[: group_words.MOST_LISTED_FARMS]:
        cells = group_words.farm_cells(one, farm)
        farms.add_row(f"{cells[0]} (this farm)" if farm.name == own else cells[0], *cells[1:])
    console.print(farms)
    if len(one.answers.farms) > group_words.MOST_LISTED_FARMS:
        console.print(f"The first {group_words.MOST_LISTED_FARMS} are listed; --json has them all.")


def _carried(console: Console, one: GroupMeasure) -> None:
    table = plain_table(f"What carries it: {one.comparison.unit}, standing minus windrowed")
    table.add_column("pairs")
    for name in ("farms", "field-years", "these records", "another farm"):
        table.add_column(name, justify="right")
    for row in one.carries:
        table.add_row(*group_words.carried_cells(one, row))
    console.print(table)


def print_farms(console: Console, comparison: Comparison, answers: FarmAnswers) -> None:
    """What pairs of several farms say of these and of another, and each farm."""
    for line in group_words.of_farms(comparison, answers):
        console.print(line, markup=False, soft_wrap=True)

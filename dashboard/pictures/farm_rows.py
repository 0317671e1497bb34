"""The picture of a growers' group: its answers, and below them each farm with its own mean and the drawn one."""

from dataclasses import asdict

import altair as alt

from analytics.answer import marks
from analytics.pool.group_review import GroupMeasure
from analytics.statistics.results import Question
from analytics.trade.numbers_as_text import count
from dashboard.pictures.charts import of_differences
from dashboard.pictures.rows import Rows

MOST_FARMS = 40  # rows of the picture; the table has them all


def farms(one: GroupMeasure, own: str | None) -> alt.LayerChart:
    """Which farms agree; own : the code of this farm, which is named."""
    return of_differences(one.comparison, farm_rows(one, own))


def farm_rows(one: GroupMeasure, own: str | None) -> Rows:
    """A heading and a row a question, then a row a farm: a bar from its own mean (dot) to the drawn one (stroke)."""
    rows, comparison = Rows(), one.comparison
    rows.add()
    rows.add()
    rows.add("All together", heading=True)
    for words, answer, question in (
        ("these records", comparison.these_fields, Question.THESE_FIELDS),
        ("these farms, years to come", one.answers.these_farms, Question.YEARS_TO_COME),
        ("another farm, years to come", one.answers.another_farm, Question.YEARS_TO_COME),
    ):
        if answer.estimate is None:
            rows.add(f"{words}: too few")
            continue
        look = asdict(marks.mark_look(answer, question))
        tip = f"{words}: {marks.estimate(comparison, answer)}"
        rows.mark(rows.add(words), estimate=answer.estimate, low=answer.low, high=answer.high, tip=tip, **look)
    rows.add("Each farm", heading=True)
    for farm in sorted(one.answers.farms, key=lambda farm: farm.shrunken, reverse=True)[:MOST_FARMS]:
        name = f"{farm.name} (this farm)" if farm.name == own else str(farm.name)
        row = rows.add(f"{name}, {count(farm.field_years, 'field-year')}")
        raw, drawn = (marks.difference(comparison, value) for value in (farm.raw, farm.shrunken))
        ends = {"low": min(farm.raw, farm.shrunken), "high": max(farm.raw, farm.shrunken)}
        grey = {"colour": marks.UNDECIDED, "fill": marks.UNDECIDED, "shape": marks.CIRCLE, "thickness": 1.0}
        rows.mark(row, estimate=farm.raw, tip=f"{name}: its own mean {raw}", **ends, **grey)
        if one.answers.model is not None:
            stroke = {"colour": marks.INK, "fill": marks.INK, "shape": marks.UPRIGHT, "thickness": 1.0}
            rows.mark(row, estimate=farm.shrunken, tip=f"{name}: drawn towards the group {drawn}", **stroke)
    return rows

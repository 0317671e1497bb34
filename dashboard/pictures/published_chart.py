"""What others published, the farm's own and both together, in one scale: boxes, bars, and bars in boxes."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from textwrap import wrap

import altair as alt

from analytics.answer import marks
from analytics.answer.beside_published import Line, Whose
from analytics.answer.marks import BAND, INK, UNDECIDED, UPRIGHT
from analytics.statistics.results import Comparison, Question
from dashboard.pictures.charts import of_differences
from dashboard.pictures.rows import Rows, between, boxes, cut_intervals, framed, points

WIDEST = 32  # letters that a label holds, be they wide ones


def beside(comparison: Comparison, lines: Sequence[Line]) -> alt.LayerChart:
    """Differences, standing minus windrowed; the farm's own answers keep their marks."""
    rows = Rows()
    rows.add()
    rows.add()
    placed = _placed(rows, lines)
    for row, line in placed:
        if line.question is not None:
            answers = {Question.THESE_FIELDS: comparison.these_fields, Question.YEARS_TO_COME: comparison.years_to_come}
            answer = replace(answers[line.question], low=line.low, high=line.high)
            rows.mark_answer(row, comparison, line.question, answer)
        else:
            _draw(rows, row, line)
    starts = [line.start for _, line in placed if line.start is not None]
    stated = starts[0] if starts else 0.0
    wider = [row for row, line in placed if line.start is not None and line.start > stated]
    return of_differences(comparison, rows, may_run_on=wider)


def one_way(lines: Sequence[Line], title: str) -> alt.LayerChart:
    """Values that are no difference between the methods: what each lost by itself, what windrowing early cost."""
    rows = Rows()
    for row, line in _placed(rows, lines):
        _draw(rows, row, line)
    ends = [end for box in rows.boxes for end in (box.low, box.high)]
    frame, y = rows.frame, rows.y()
    values = [0.0, *ends, *frame["estimate"].drop_nulls(), *frame["low"].drop_nulls(), *frame["high"].drop_nulls()]
    low, high = min(values), max(values)
    low, high = low - 0.04 * (high - low), high + 0.04 * (high - low)
    x = partial(
        alt.X,
        scale=alt.Scale(domain=[low, high], nice=False),
        axis=alt.Axis(title=title.split(", "), tickCount=5, grid=True, gridColor=BAND),
    )
    drawn = [*boxes(rows, x, y, low, high), *cut_intervals(frame, x, y, low, high), points(frame, x, y)]
    return framed([between(rows), *drawn], rows)


def _placed(rows: Rows, lines: Sequence[Line]) -> list[tuple[str, Line]]:
    """Rows for the lines under a heading for whose they are; a trial is named once above its lines."""
    placed = []
    whose: Whose | None = None
    about = ""
    for line in lines:
        if line.whose is not whose:
            rows.add(line.whose, heading=True)
            whose, about = line.whose, ""
        if line.about and line.about != about:
            for text in wrap(line.about, WIDEST):
                rows.add(text, is_name=True)
        about = line.about
        fits = len(line.told) <= WIDEST
        *first, last = [line.told] if fits else [*wrap(line.words, WIDEST), *wrap(line.size, WIDEST)]
        for text in first:
            rows.add(text)
        placed.append((rows.add(last), line))
    return placed


def _draw(rows: Rows, row: str, line: Line) -> None:
    """A box for what is published, a bar for the farm's own, a bar in a box for both."""
    colour, shape = marks.SIDES[line.side] if line.side else (INK, UPRIGHT)
    if line.whose is Whose.PUBLISHED:
        if line.low is not None and line.high is not None:
            rows.box(row, line.low, line.high, colour=colour)
        return
    if line.start is not None:
        rows.box(row, -line.start, line.start, colour=UNDECIDED)
    rows.mark(
        row,
        estimate=line.estimate,
        low=line.low,
        high=line.high,
        colour=colour,
        fill=colour,
        shape=shape,
        thickness=marks.THICKNESS[Question.YEARS_TO_COME],
        tip=line.told,
    )

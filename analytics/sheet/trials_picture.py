"""What others published, the farm's own and both together on the sheet: boxes, bars, and bars in boxes."""

from collections.abc import Sequence
from dataclasses import replace
from textwrap import shorten

from analytics.answer import marks
from analytics.answer.beside_published import Line, Whose
from analytics.answer.marks import INK, UPRIGHT
from analytics.sheet.drawn_rows import PictureRow, Scale, Widths, axis, line, rules_above, svg
from analytics.sheet.picture import answer_row, ground_lines
from analytics.statistics.results import Comparison, Question

WIDTHS = Widths(label=215, words=305, scale=210)
LONGEST = 66  # letters beside a label; all of it is told with its source on the last page


def beside_svg(comparison: Comparison, lines: Sequence[Line]) -> str:
    """Differences: what is published, the farm's own answers, and both together."""
    rows, rules = _rows(comparison, lines)
    stated = next((one.start for one in lines if one.start is not None), 0.0)
    margin = comparison.margin or 0.0
    scale = _scale([-margin, margin, -stated, stated, *_ends(lines)], rows)
    title = f"standing less windrowed, {comparison.unit}"
    return svg(scale, [*ground_lines(comparison, scale, rules), *axis(scale, title)], rows)


def one_way_svg(comparison: Comparison, lines: Sequence[Line], title: str) -> str:
    """What is no difference of the methods: what each lost by itself, what windrowing early cost."""
    rows, rules = _rows(comparison, lines)
    scale = _scale([0.0, *_ends(lines)], rows)
    zero = line(scale.x(0), scale.top, to_y=scale.height, ink=INK, width=1)
    return svg(scale, [zero, *rules_above(scale, rules), *axis(scale, title)], rows)


def _scale(values: Sequence[float], rows: Sequence[PictureRow]) -> Scale:
    low, high = min(values), max(values)
    spare = 0.04 * (high - low) or 1.0
    return Scale(low=low - spare, high=high + spare, rows=len(rows), widths=WIDTHS)


def _ends(lines: Sequence[Line]) -> list[float]:
    return [end for one in lines for end in (one.low, one.estimate, one.high) if end is not None]


def _rows(comparison: Comparison, lines: Sequence[Line]) -> tuple[list[PictureRow], list[int]]:
    """A row a line under a heading for whose it is; and above which rows a rule goes."""
    rows: list[PictureRow] = []
    rules: list[int] = []
    whose, about = "", ""
    for one in lines:
        if one.whose != whose:
            rules += [len(rows)] if rows else []
            whose, about = one.whose, ""
            rows.append(PictureRow(label=one.whose.value, value="", is_heading=True))
        rows.append(_row(comparison, one, "" if one.about == about else one.about))
        about = one.about
    return rows, rules


def _row(comparison: Comparison, one: Line, about: str) -> PictureRow:
    if one.question is not None:
        answer = comparison.these_fields if one.question is Question.THESE_FIELDS else comparison.years_to_come
        row = answer_row(comparison, one.words, answer, one.question)
        return replace(row, value=one.size, low=one.low, high=one.high)
    colour, shape = marks.SIDES[one.side] if one.side else (INK, UPRIGHT)
    if one.whose is Whose.PUBLISHED:
        box = None if one.low is None or one.high is None else (one.low, one.high)
        value = f"{one.size}: {one.words}" if one.size else one.words
        return PictureRow(label=about, value=shorten(value, LONGEST, placeholder=" …"), box=box, colour=colour)
    return PictureRow(
        label=one.words,
        value=one.size,
        low=one.low,
        estimate=one.estimate,
        high=one.high,
        colour=colour,
        fill=colour,
        shape=shape,
        box=None if one.start is None else (-one.start, one.start),
    )

"""The pictures of comparisons: frames are built from a result, so that a screen hands it over and gets a chart."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from functools import partial
from typing import Any

import altair as alt
import polars as pl

from analytics.answer import marks
from analytics.answer.difference_words import words_for
from analytics.answer.marks import BAND, INK, UNDECIDED, UPRIGHT
from analytics.answer.statistics_rows import ROW_WORDS
from analytics.statistics.exploration import DependsOn
from analytics.statistics.replicates import PairDifference
from analytics.statistics.results import Answer, CarriedBy, CarriesRow, Comparison, Finding, LeftOut, Question
from analytics.trade.numbers_as_text import count
from dashboard.pictures.rows import (
    Rows,
    answers,
    band_and_zero,
    between,
    boxes,
    cut_intervals,
    dots,
    framed,
    grouped,
    intervals,
    points,
    tip_text,
    year_words,
)

FEWEST_MARGINS, MOST_MARGINS = 3.0, 8.0  # how far the picture of all measures reaches to either side
MOST_LEFT_OUT = 15  # field-years in the picture of influence: those that move the estimate most
HERE, AHEAD = Question.THESE_FIELDS, Question.YEARS_TO_COME


# --- all measures in one picture


def all_measures(comparisons: dict[str, Comparison]) -> alt.LayerChart:
    """Each measure with both answers, in multiples of the difference that matters; standing better to the right.

    A click on a measure's rows selects it: selection `chosen`, field `measure`.
    """
    reach = _reach(comparisons.values())
    rows = all_measure_rows(comparisons)
    frame, y = rows.frame, rows.y()
    x = partial(
        alt.X,
        scale=alt.Scale(domain=[-reach, reach], nice=False),
        axis=alt.Axis(title=["times the difference", "that matters"], tickCount=5, grid=False),
    )
    inside = frame.filter(pl.col("estimate").is_between(-reach, reach))
    chosen = alt.selection_point(name="chosen", fields=["measure"], empty=False)
    click = (
        alt.Chart(pl.DataFrame(list(rows.measures.items()), schema=["row", "measure"], orient="row"))
        .mark_rect(color="white", opacity=0.001, cursor="pointer")
        .encode(y=y, x=alt.XDatum(-reach), x2=alt.X2Datum(reach))
        .add_params(chosen)
    )
    words = ("windrowed\n← better", "standing\nbetter →")
    below = band_and_zero(rows, margin=1, low=-reach, high=reach, words=words)
    drawn = [*cut_intervals(frame, x, y, -reach, reach), points(inside, x, y)]
    return framed([*below, *drawn, click], rows)


def all_measure_rows(comparisons: dict[str, Comparison]) -> Rows:
    """Three rows a measure: its name, these fields, years to come; in multiples of its margin."""
    rows = Rows()
    rows.add()
    rows.add()
    for name, comparison in comparisons.items():
        rows.measures[rows.add(f"{marks.measure_label(comparison)}, {comparison.unit}", heading=True)] = name
        for question, answer in answers(comparison):
            row = rows.add(marks.mark(comparison, answer))
            rows.measures[row] = name
            rows.mark(row, tip=tip_text(comparison, question, answer), **_in_margins(comparison, question, answer))
    return rows


def _in_margins(comparison: Comparison, question: Question, answer: Answer) -> dict[str, Any]:
    """An answer in multiples of the margin, turned so that standing better is above 0."""
    per_margin = (1 if comparison.direction == "higher" else -1) / (comparison.margin or 1.0)
    values = [
        None if value is None else value * per_margin
        for value in (answer.shown_low, answer.estimate, answer.shown_high)
    ]
    low, estimate, high = values if per_margin > 0 else reversed(values)
    return {"low": low, "estimate": estimate, "high": high, **asdict(marks.mark_look(answer, question))}


def _reach(comparisons: Iterable[Comparison]) -> float:
    """Wide enough for what is known of these fields; the wider ranges of years to come may run on."""
    ends = [
        abs(end) / (comparison.margin or 1.0)
        for comparison in comparisons
        for end in (comparison.these_fields.shown_low, comparison.these_fields.shown_high)
        if end is not None
    ]
    return min(max([FEWEST_MARGINS, *(end * 1.05 for end in ends)]), MOST_MARGINS)


# --- one measure: what carries it, every pair, the years, and what it hangs on


def carries_chart(comparison: Comparison) -> alt.LayerChart:
    """Each kind of pair alone, for both questions."""
    rows = carries_rows(comparison)
    return of_differences(comparison, rows)


def carries_rows(comparison: Comparison) -> Rows:
    """Three rows a kind: what it is, these fields, years to come; kinds without a pair say so and have no mark."""
    rows = Rows()
    rows.add()
    rows.add()
    found = {(row.row, row.question): row for row in comparison.carries}
    for kind in CarriedBy:
        here, ahead = found[kind, HERE], found[kind, AHEAD]
        if not here.field_years:
            rows.add(f"{ROW_WORDS[kind]}: no pair")
            continue
        grounds = f"{count(here.field_years, 'field-year')}, {count(here.years, 'year')}"
        rows.add(f"{ROW_WORDS[kind]}", heading=True)
        for question, row, words in ((HERE, here, grounds), (AHEAD, ahead, "years to come")):
            size = marks.difference(comparison, row.estimate)
            few = "" if row.low is not None else ", too few"
            key = rows.add(f"{words}: {size}{few}")
            rows.mark(
                key,
                estimate=row.estimate,
                low=row.low,
                high=row.high,
                tip=f"{ROW_WORDS[kind]}, {marks.QUESTION_WORDS[question]}: {size}",
                **_carried_look(comparison, row, question),
            )
    return rows


def _carried_look(comparison: Comparison, row: CarriesRow, question: Question) -> dict[str, Any]:
    """Coloured where the range of this kind of pair alone does not hold 0; open otherwise."""
    answer = comparison.these_fields if question is HERE else comparison.years_to_come
    better, finding = None, Finding.NOT_SETTLED
    if row.low is not None and row.high is not None and (row.low > 0 or row.high < 0):
        is_up = row.low > 0
        finding = Finding.STANDING_HIGHER if is_up else Finding.STANDING_LOWER
        better = "standing" if is_up == (comparison.direction == "higher") else "windrowed"
    return asdict(marks.mark_look(replace(answer, finding=finding, better=better), question))


def pairs_chart(comparison: Comparison, shown: Sequence[PairDifference]) -> alt.LayerChart:
    """Each pair a row, windrowed and standing joined by a line."""
    rows = pairs_chart_rows(comparison, shown)
    frame, y = rows.frame, rows.y()
    title = f"{marks.measure_label(comparison)}, {marks.unit_of_values(comparison)}"
    x = partial(alt.X, scale=alt.Scale(zero=False), axis=alt.Axis(title=title, tickCount=5, grid=True, gridColor=BAND))
    return framed([between(rows), intervals(frame, x, y), points(frame, x, y)], rows)


def pairs_chart_rows(comparison: Comparison, shown: Sequence[PairDifference]) -> Rows:
    """Grouped by crop year, sorted by difference; three marks a pair: the line between its sides, and the sides."""
    rows = Rows()
    for crop_year, of_year in grouped(shown, lambda pair: pair.crop_year).items():
        rows.add(year_words(crop_year), heading=True)
        for pair in sorted(of_year, key=lambda pair: pair.difference, reverse=True):
            name = ", ".join(text for text in (pair.field, pair.pair) if text)
            row = rows.add(f"{name}: {marks.difference(comparison, pair.difference)}")
            ends = sorted((pair.standing, pair.windrowed))
            rows.mark(row, low=ends[0], high=ends[1], colour=UNDECIDED, thickness=1.5)
            for side, value in (("standing", pair.standing), ("windrowed", pair.windrowed)):
                colour, shape = marks.SIDES[side]
                tip = f"{side}, {name}, {year_words(crop_year)}: {marks.level(comparison, value)}"
                rows.mark(row, estimate=value, tip=tip, colour=colour, fill=colour, shape=shape)
    return rows


def by_year_chart(comparison: Comparison) -> alt.LayerChart:
    """Both answers and the range for a field not tried yet; under them each crop year: a dot a field-year, the mean of
    the year with its range.
    """
    rows = Rows()
    rows.add()
    rows.add()
    rows.add("All together", heading=True)
    for question, answer in answers(comparison):
        rows.mark_answer(rows.add(marks.QUESTION_WORDS[question]), comparison, question, answer)
    new = comparison.fields_not_tried
    if new.prediction_low is not None and new.prediction_high is not None:
        tip = "where a field not tried yet may lie in a new year"
        row = rows.add("a field not tried yet")
        rows.mark(row, low=new.prediction_low, high=new.prediction_high, colour=UNDECIDED, thickness=1.0, tip=tip)
    rows.add("Each crop year", heading=True)
    year_rows = []
    of_years = grouped(comparison.places, lambda place: place.crop_year)
    for year in comparison.by_year:
        row = rows.add(f"{year_words(year.crop_year)}, {count(year.field_years, 'field-year')}")
        year_rows.append(row)
        tip = f"mean of {year_words(year.crop_year)}: {marks.difference(comparison, year.estimate)}"
        look = {"colour": INK, "fill": INK, "shape": UPRIGHT, "thickness": 1.5}
        rows.mark(row, estimate=year.estimate, low=year.low, high=year.high, tip=tip, **look)
        for place in of_years.get(year.crop_year, []):
            tip = f"{place.place}, {year_words(year.crop_year)}: {marks.difference(comparison, place.difference)}"
            rows.dot(row, place.difference, tip)
    return of_differences(comparison, rows, may_run_on=year_rows)


def left_out_chart(comparison: Comparison) -> alt.LayerChart:
    """The estimate for these fields without each field-year, and the one for years to come without each year.

    Of many field-years only those that move the estimate most are shown.
    """
    rows = Rows()
    rows.add()
    rows.add()
    whole, without = comparison.these_fields.estimate or 0.0, comparison.firm.leave_one_out
    one_place = sorted(
        (one for one in without if one.place is not None and one.question is HERE),
        key=lambda one: abs((one.estimate or 0.0) - whole),
        reverse=True,
    )[:MOST_LEFT_OUT]
    rows.add("These fields", heading=True)
    rows.mark_answer(rows.add("with all field-years"), comparison, HERE, comparison.these_fields)
    for one in one_place:
        rows.mark_answer(rows.add(f"less {one.words}"), comparison, HERE, _rest(comparison.these_fields, one))
    if one_year := [one for one in without if one.place is None and one.question is AHEAD]:
        rows.add("Years to come", heading=True)
        rows.mark_answer(rows.add("with all years"), comparison, AHEAD, comparison.years_to_come)
        for one in one_year:
            answer = _rest(comparison.years_to_come, one)
            rows.mark_answer(rows.add(f"less {year_words(one.crop_year)}"), comparison, AHEAD, answer)
    return of_differences(comparison, rows)


def _rest(answer: Answer, one: LeftOut) -> Answer:
    """The answer as it would be without what was left out, as far as the picture shows it."""
    return replace(
        answer, finding=one.finding, better=one.better, small=False, estimate=one.estimate, low=one.low, high=one.high
    )


def depends_on_chart(comparison: Comparison, asked: Sequence[tuple[str, str, str, DependsOn]]) -> alt.LayerChart:
    """Exploration: the two groups of each question and their difference.

    asked : the question, what its two groups are called, and what was found; only those that could be computed
    """
    rows = Rows()
    rows.add()
    rows.add()
    for question, without_words, with_words, line in asked:
        rows.add(question, heading=True)
        fixed = line.found.fixed  # type: ignore[union-attr]
        for words, value in ((without_words, fixed.without), (with_words, fixed.with_)):
            size = marks.difference(comparison, value)
            tip = f"{question} {words}: {size}"
            key = rows.add(f"{words}: {size}")
            rows.mark(key, estimate=value, tip=tip, colour=UNDECIDED, fill=UNDECIDED, shape=marks.CIRCLE)
        key = rows.add(f"difference: {marks.difference(comparison, fixed.difference)}")
        rows.mark(
            key,
            estimate=fixed.difference,
            low=fixed.low,
            high=fixed.high,
            tip=f"{question} difference {marks.difference(comparison, fixed.difference)}",
            colour=INK,
            fill="white",
            shape=UPRIGHT,
            thickness=1.5,
        )
    return of_differences(comparison, rows)


def of_differences(comparison: Comparison, rows: Rows, *, may_run_on: Sequence[str] = ()) -> alt.LayerChart:
    """A picture of differences in the measure's unit, standing minus windrowed.

    may_run_on : rows whose intervals and boxes need not fit in; two field-years can give a range that dwarfs all others
    """
    frame, y, margin = rows.frame, rows.y(), comparison.margin or 0.0
    wide = frame.filter(~pl.col("row").is_in(list(may_run_on)))
    boxed = [end for box in rows.boxes if box.row not in may_run_on for end in (box.low, box.high)]
    dotted = [dot["estimate"] for dot in rows.dots]
    values = [*frame["estimate"].drop_nulls(), *wide["low"].drop_nulls(), *wide["high"].drop_nulls(), *boxed, *dotted]
    low, high = min([-margin, *values]), max([margin, *values])
    low, high = low - 0.04 * (high - low), high + 0.04 * (high - low)
    x = partial(
        alt.X,
        scale=alt.Scale(domain=[low, high], nice=False),
        axis=alt.Axis(title=f"difference, {comparison.unit}", tickCount=5, grid=False),
    )
    phrase = words_for(comparison, comparison.these_fields).phrase
    words = (f"standing\n← {phrase.down}", f"standing\n{phrase.up} →")
    below = band_and_zero(rows, margin=margin, low=low, high=high, words=words)
    marked = [*cut_intervals(frame, x, y, low, high), points(frame, x, y), dots(rows, x, y)]
    return framed([*below, *boxes(rows, x, y, low, high), *marked], rows)

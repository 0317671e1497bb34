"""The pictures. Frames are built from a comparison, so that a screen hands over a result and gets a chart.

Colour and shape say the same thing twice: blue circle for standing, vermilion diamond for windrowed (Okabe-Ito palette,
told apart by colour-blind eyes), grey where it is not settled. A chart keeps to one view, with what there is to read at
the left of each row, because only such a chart follows the width of a phone.
"""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import Literal, TypeVar

import altair as alt
import polars as pl

from analytics.answer.difference_words import words_for
from analytics.statistics.results import Answer, Comparison, Finding, LeftOut, PairDifference, Question
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import count
from dashboard.pictures import short_words

STANDING, WINDROWED = "#0072B2", "#D55E00"
UNDECIDED, INK, BAND, FAINT = "#767676", "#222222", "#ECECEC", "#C8C8C8"
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"
UPRIGHT = "M0,-0.9V0.9"  # a small upright stroke: the mean of a year, which is neither method's
LINE = 19  # pixels that a row takes
AXIS = 42  # pixels for the horizontal axis and its title
LABEL_WIDTH = 215
FEWEST_MARGINS, MOST_MARGINS = 3.0, 8.0  # how far the picture of all measures reaches to either side
MOST_LEFT_OUT = 15  # field-years in the picture of influence: those that move the estimate most

MARK_COLUMNS = {
    "row": pl.String,
    "estimate": pl.Float64,
    "low": pl.Float64,
    "high": pl.Float64,
    "colour": pl.String,
    "fill": pl.String,
    "shape": pl.String,
    "thickness": pl.Float64,
    "tip": pl.String,
}

Thing = TypeVar("Thing")
Key = TypeVar("Key", bound=Hashable)
Horizontal = Callable[[str], alt.X]


class Rows:
    """The rows of a picture from top to bottom: a key for each, what is written at its left, and the marks on it."""

    def __init__(self) -> None:
        self.labels: dict[str, str] = {}
        self.headings: list[str] = []
        self.marks: list[dict[str, object]] = []
        self.measures: dict[str, str] = {}  # the measure that a click on a row opens

    def add(self, label: str = "", *, heading: bool = False) -> str:
        """A new row below the others; its key. The two fields of a pair of neighbours take a line each."""
        *lines, last = label.split(" / ")
        for text in (*(f"{line} /" for line in lines), last):
            key = str(len(self.labels))
            self.labels[key] = text
        if heading:
            self.headings.append(key)
        return key

    def mark(self, row: str, **values: object) -> None:
        """A mark on a row; columns as in MARK_COLUMNS."""
        self.marks.append({"row": row, **values})

    def mark_answer(self, row: str, comparison: Comparison, question: str, answer: Answer) -> None:
        """An answer in its own unit."""
        tip = tip_text(comparison, question, answer)
        look = _look(answer, to_come=question == "years to come")
        self.mark(row, estimate=answer.estimate, low=answer.low, high=answer.high, tip=tip, **look)

    @property
    def frame(self) -> pl.DataFrame:
        """The marks, one row each."""
        return pl.DataFrame(self.marks, schema=MARK_COLUMNS)

    def y(self, position: float = 0.5) -> alt.Y:
        """The rows as a vertical axis; a mark stands at the middle of its row, or at another share of its height."""
        names = "{" + ",".join(f"{_quoted(key)}:{_quoted(label)}" for key, label in self.labels.items()) + "}"
        is_heading = f"indexof([{','.join(_quoted(key) for key in self.headings)}], datum.value) >= 0"
        axis = alt.Axis(
            title=None,
            labelExpr=f"{names}[datum.value]",
            labelFontWeight=alt.condition(is_heading, alt.value("bold"), alt.value("normal")),
            labelLimit=LABEL_WIDTH,
            labelPadding=6,
            labelOverlap=False,
            ticks=False,
            domain=False,
        )
        scale = alt.Scale(domain=list(self.labels))
        return alt.Y("row:N", sort=list(self.labels), scale=scale, axis=axis, bandPosition=position)


def _quoted(text: str) -> str:
    """Text as a Vega expression reads it."""
    escaped = text.replace("\\", "\\\\").replace("'", "\\'")
    return f"'{escaped}'"


def _look(answer: Answer, *, to_come: bool) -> dict[str, object]:
    """Colour, fill, shape and thickness of an answer's mark."""
    hollow = to_come
    if answer.better == "standing":
        colour, shape = STANDING, "circle"
    elif answer.better == "windrowed":
        colour, shape = WINDROWED, "diamond"
    elif answer.finding == Finding.NO_DIFFERENCE_THAT_MATTERS:
        colour, shape = INK, "square"
    else:
        colour, shape, hollow = UNDECIDED, "circle", True
    return {
        "colour": colour,
        "shape": shape,
        "fill": "white" if hollow else colour,
        "thickness": 1.5 if to_come else 3.5,
    }


def tip_text(comparison: Comparison, question: str, answer: Answer) -> str:
    """What a mark says when it is pointed at: "these fields: 1.3 more, standing higher (0.4 to 2.2)"."""
    return f"{question}: {short_words.mark(comparison, answer)}{short_words.bracket(comparison, answer)}"


def _answers(comparison: Comparison) -> tuple[tuple[str, Answer], ...]:
    return (("these fields", comparison.these_fields), ("years to come", comparison.years_to_come))


def _grouped(things: Iterable[Thing], key: Callable[[Thing], Key]) -> dict[Key, list[Thing]]:
    groups: dict[Key, list[Thing]] = {}
    for thing in things:
        groups.setdefault(key(thing), []).append(thing)
    return groups


def _year(crop_year: int | None) -> str:
    return "all years" if crop_year is None else str(crop_year)


# --- layers that several pictures share


def _intervals(frame: pl.DataFrame, x: Horizontal, y: alt.Y) -> alt.Chart:
    """Frame as from Rows.frame."""
    drawn: alt.Chart = (
        alt.Chart(frame.filter(pl.col("low").is_not_null()))
        .mark_rule()
        .encode(
            y=y,
            x=x("low:Q"),
            x2="high:Q",
            color=alt.Color("colour:N", scale=None),
            strokeWidth=alt.StrokeWidth("thickness:Q", scale=None),
            tooltip=_tip(),
        )
    )
    return drawn


def _clipped_intervals(frame: pl.DataFrame, x: Horizontal, y: alt.Y, low: float, high: float) -> list[alt.Chart]:
    """Intervals as far as the picture reaches, with an arrow where they run on. Frame as from Rows.frame."""
    arrows = [
        alt.Chart(frame.filter(runs_off).select("row", "colour", "tip", edge=pl.lit(edge)))
        .mark_point(size=60, filled=True, opacity=1, shape=shape)
        .encode(y=y, x=x("edge:Q"), color=alt.Color("colour:N", scale=None), tooltip=_tip())
        for runs_off, edge, shape in (
            (pl.col("low") < low, low, "triangle-left"),
            (pl.col("high") > high, high, "triangle-right"),
        )
    ]
    return [_intervals(frame.with_columns(pl.col("low", "high").clip(low, high)), x, y), *arrows]


def _points(frame: pl.DataFrame, x: Horizontal, y: alt.Y) -> alt.Chart:
    """Frame as from Rows.frame."""
    drawn: alt.Chart = (
        alt.Chart(frame.filter(pl.col("estimate").is_not_null()))
        .mark_point(size=75, opacity=1, strokeWidth=2)
        .encode(
            y=y,
            x=x("estimate:Q"),
            color=alt.Color("colour:N", scale=None),
            fill=alt.Fill("fill:N", scale=None),
            shape=alt.Shape("shape:N", scale=None),
            tooltip=_tip(),
        )
    )
    return drawn


def _tip() -> alt.Tooltip:
    return alt.Tooltip("tip:N", title=" ")


def _one() -> alt.InlineData:
    """Data for a mark that stands once."""
    return alt.InlineData(values=[{}])


def _words(text: str, row: str, y: alt.Y, at: float, align: Literal["left", "right"]) -> alt.Chart:
    """A few words inside the picture, on a row that is kept for them."""
    drawn: alt.Chart = (
        alt.Chart(alt.InlineData(values=[{"row": row}]))
        .mark_text(text=text.split("\n"), align=align, color=INK, fontSize=12, lineHeight=15)
        .encode(y=y, x=alt.datum(at))
    )
    return drawn


def _between(rows: Rows) -> alt.Chart:
    """A faint line above each heading."""
    drawn: alt.Chart = alt.Chart(pl.DataFrame({"row": rows.headings})).mark_rule(color=FAINT).encode(y=rows.y(0))
    return drawn


def _ground(rows: Rows, *, margin: float, low: float, high: float, words: tuple[str, str]) -> list[alt.Chart]:
    """The band that does not matter, the solid line at no difference, and what lies to either side.

    The first two rows are kept for the words.
    """
    first, y = next(iter(rows.labels)), rows.y()
    return [
        alt.Chart(_one()).mark_rect(color=BAND).encode(x=alt.datum(-margin), x2=alt.datum(margin)),
        _between(rows),
        alt.Chart(_one()).mark_rule(color=INK, size=1).encode(x=alt.datum(0)),
        _words(words[0], first, y, low, "left"),
        _words(words[1], first, y, high, "right"),
    ]


def _framed(layers: Sequence[alt.Chart], rows: Rows) -> alt.LayerChart:
    framed: alt.LayerChart = (
        alt.layer(*layers)
        .properties(height=LINE * len(rows.labels) + AXIS)
        .configure(font=FONT)
        .configure_mark(aria=False)  # the picture is told in words beside it
        .configure_view(stroke=None)
        .configure_axis(labelFontSize=12, titleFontSize=12, titleFontWeight="normal", labelColor=INK, titleColor=INK)
    )
    return framed


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
        .encode(y=y, x=alt.datum(-reach), x2=alt.datum(reach))
        .add_params(chosen)
    )
    words = ("windrowed\n← better", "standing\nbetter →")
    ground = _ground(rows, margin=1, low=-reach, high=reach, words=words)
    drawn = [*_clipped_intervals(frame, x, y, -reach, reach), _points(inside, x, y)]
    return _framed([*ground, *drawn, click], rows)


def all_measure_rows(comparisons: dict[str, Comparison]) -> Rows:
    """Three rows a measure: its name, these fields, years to come; in multiples of its margin."""
    rows = Rows()
    rows.add()
    rows.add()
    for name, comparison in comparisons.items():
        rows.measures[rows.add(f"{MEASURES[name].label}, {comparison.unit}", heading=True)] = name
        for question, answer in _answers(comparison):
            row = rows.add(short_words.mark(comparison, answer))
            rows.measures[row] = name
            rows.mark(row, tip=tip_text(comparison, question, answer), **_in_margins(comparison, question, answer))
    return rows


def _in_margins(comparison: Comparison, question: str, answer: Answer) -> dict[str, object]:
    """An answer in multiples of the margin, turned so that standing better is above 0."""
    per_margin = (1 if comparison.direction == "higher" else -1) / _margin(comparison)
    values = [None if value is None else value * per_margin for value in (answer.low, answer.estimate, answer.high)]
    low, estimate, high = values if per_margin > 0 else reversed(values)
    return {"low": low, "estimate": estimate, "high": high, **_look(answer, to_come=question == "years to come")}


def _margin(comparison: Comparison) -> float:
    """The difference that matters; every comparison of records has one, that of a file of pairs may have none."""
    if comparison.margin is None:
        raise ValueError(f"{comparison.measure} has no margin, so it cannot be drawn in multiples of it.")
    return comparison.margin


def _reach(comparisons: Iterable[Comparison]) -> float:
    """Wide enough for what is known of these fields; the wider ranges of years to come may run off."""
    ends = [
        abs(end) / _margin(comparison)
        for comparison in comparisons
        for end in (comparison.these_fields.low, comparison.these_fields.high)
        if end is not None
    ]
    return min(max([FEWEST_MARGINS, *(end * 1.05 for end in ends)]), MOST_MARGINS)


# --- one measure: every pair, the years, and what it hangs on


def pairs(comparison: Comparison, shown: Sequence[PairDifference]) -> alt.LayerChart:
    """Each pair a row, windrowed and standing joined by a line."""
    rows = pair_rows(comparison, shown)
    frame, y = rows.frame, rows.y()
    title = f"{MEASURES[comparison.measure].label}, {short_words.unit_of_values(comparison)}"
    x = partial(alt.X, scale=alt.Scale(zero=False), axis=alt.Axis(title=title, tickCount=5, grid=True, gridColor=BAND))
    return _framed([_between(rows), _intervals(frame, x, y), _points(frame, x, y)], rows)


def pair_rows(comparison: Comparison, shown: Sequence[PairDifference]) -> Rows:
    """Grouped by crop year, sorted by difference; three marks a pair: the line between its sides, and the sides."""
    rows = Rows()
    for crop_year, of_year in _grouped(shown, lambda pair: pair.crop_year).items():
        rows.add(_year(crop_year), heading=True)
        for pair in sorted(of_year, key=lambda pair: pair.difference, reverse=True):
            name = ", ".join(text for text in (pair.field, pair.pair) if text)
            difference = short_words.difference(comparison, pair.difference)
            row = rows.add(f"{name}: {difference}")
            ends = sorted((pair.standing, pair.windrowed))
            rows.mark(row, low=ends[0], high=ends[1], colour=UNDECIDED, thickness=1.5)
            for side, value, colour, shape in (
                ("standing", pair.standing, STANDING, "circle"),
                ("windrowed", pair.windrowed, WINDROWED, "diamond"),
            ):
                tip = f"{side}, {name}, {_year(crop_year)}: {short_words.level(comparison, value)}"
                rows.mark(row, estimate=value, tip=tip, colour=colour, fill=colour, shape=shape)
    return rows


def by_year(comparison: Comparison) -> alt.LayerChart:
    """Differences by crop year: a dot a field-year, the mean of each year with its range; below them both answers and
    the range for a single new field.
    """
    rows = Rows()
    rows.add()
    rows.add()
    rows.add("Each crop year", heading=True)
    year_rows = []
    of_years = _grouped(comparison.places, lambda place: place.crop_year)
    for year in comparison.by_year:
        row = rows.add(f"{_year(year.crop_year)}, {count(year.field_years, 'field-year')}")
        year_rows.append(row)
        tip = f"mean of {_year(year.crop_year)}: {short_words.difference(comparison, year.estimate)}"
        look = {"colour": INK, "fill": INK, "shape": UPRIGHT, "thickness": 1.5}
        rows.mark(row, estimate=year.estimate, low=year.low, high=year.high, tip=tip, **look)
        for place in of_years[year.crop_year]:
            tip = f"{place.place}, {_year(year.crop_year)}: {short_words.difference(comparison, place.difference)}"
            rows.mark(row, estimate=place.difference, tip=tip, colour=UNDECIDED, fill=UNDECIDED, shape="circle")
    rows.add("All together", heading=True)
    for question, answer in _answers(comparison):
        rows.mark_answer(rows.add(question), comparison, question, answer)
    future = comparison.fields_not_tried
    if future.prediction_low is not None and future.prediction_high is not None:
        tip = "where a single new field in a new year may lie"
        row = rows.add("a single new field")
        rows.mark(row, low=future.prediction_low, high=future.prediction_high, colour=UNDECIDED, thickness=1.0, tip=tip)
    return _of_differences(comparison, rows, may_run_off=year_rows)


def left_out(comparison: Comparison) -> alt.LayerChart:
    """The estimate for these fields without each field-year, and the one for years to come without each year.

    Of many field-years only those that move the estimate most are shown.
    """
    rows = Rows()
    rows.add()
    rows.add()
    whole, without = comparison.these_fields.estimate or 0.0, comparison.firm.leave_one_out
    one_place = sorted(
        (one for one in without if one.place is not None and one.question is Question.THESE_FIELDS),
        key=lambda one: abs((one.estimate or 0.0) - whole),
        reverse=True,
    )[:MOST_LEFT_OUT]
    rows.add("These fields", heading=True)
    rows.mark_answer(rows.add("with all field-years"), comparison, "these fields", comparison.these_fields)
    for one in one_place:
        rows.mark_answer(rows.add(f"less {one.words}"), comparison, "these fields", _rest(comparison.these_fields, one))
    if one_year := [one for one in without if one.place is None and one.question is Question.YEARS_TO_COME]:
        rows.add("Years to come", heading=True)
        rows.mark_answer(rows.add("with all years"), comparison, "years to come", comparison.years_to_come)
        for one in one_year:
            answer = _rest(comparison.years_to_come, one)
            rows.mark_answer(rows.add(f"less {_year(one.crop_year)}"), comparison, "years to come", answer)
    return _of_differences(comparison, rows)


def _rest(answer: Answer, one: LeftOut) -> Answer:
    """The answer as it would be without what was left out, as far as the picture shows it."""
    return replace(
        answer, finding=one.finding, better=one.better, small=False, estimate=one.estimate, low=one.low, high=one.high
    )


def _of_differences(comparison: Comparison, rows: Rows, *, may_run_off: Sequence[str] = ()) -> alt.LayerChart:
    """A picture of differences in the measure's unit, standing minus windrowed.

    may_run_off : rows whose intervals need not fit in; two field-years can give a range that dwarfs all others
    """
    frame, y, margin = rows.frame, rows.y(), comparison.margin or 0.0
    wide = frame.filter(~pl.col("row").is_in(may_run_off))
    values = [*frame["estimate"].drop_nulls(), *wide["low"].drop_nulls(), *wide["high"].drop_nulls()]
    low, high = min([-margin, *values]), max([margin, *values])
    low, high = low - 0.04 * (high - low), high + 0.04 * (high - low)
    x = partial(
        alt.X,
        scale=alt.Scale(domain=[low, high], nice=False),
        axis=alt.Axis(title=f"difference, {comparison.unit}", tickCount=5, grid=False),
    )
    up = words_for(comparison, comparison.these_fields).phrase.up
    words = (f"windrowed\n← {up}", f"standing\n{up} →")
    ground = _ground(rows, margin=margin, low=low, high=high, words=words)
    return _framed([*ground, *_clipped_intervals(frame, x, y, low, high), _points(frame, x, y)], rows)

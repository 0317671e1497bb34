"""Rows of a picture, and the layers that several pictures share. What a mark looks like is said in answer/marks.

A chart keeps to one view, with what there is to read at the left of each row, because only such a chart follows the
width of a phone.
"""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Literal, TypeVar

import altair as alt
import polars as pl

from analytics.answer import marks
from analytics.answer.marks import BAND, FAINT, INK, QUESTION_WORDS, UNDECIDED
from analytics.statistics.results import Answer, Comparison, Question
from dashboard.pictures.one_picture import one_picture

LINE = 19  # pixels that a row takes
BOX = 11  # pixels that a box is high
AXIS = 42  # pixels for the horizontal axis and its title
LABEL_WIDTH = 215
LABELS, HEADINGS, NAMES = "labels", "headings", "names"  # known to a picture's expressions

ONCE = pl.DataFrame({"once": [0]})  # data for a mark that stands once
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A hollow box on a row: what others published, or where the joint answer starts."""

    row: str
    low: float
    high: float
    colour: str


class Rows:
    """The rows of a picture from top to bottom: a key for each, what is written at its left, and the marks on it."""

    def __init__(self) -> None:
        self.labels: dict[str, str] = {}
        self.headings: list[str] = []
        self.names: list[str] = []  # of trials, set apart from what they found
        self.marks: list[dict[str, object]] = []
        self.boxes: list[Box] = []
        self.dots: list[dict[str, object]] = []  # grey, all alike: many, so that their look is told once
        self.measures: dict[str, str] = {}  # the measure that a click on a row opens

    def add(self, label: str = "", *, heading: bool = False, is_name: bool = False) -> str:
        """A new row below the others; its key. The two fields of a pair of neighbours take a line each."""
        *lines, last = label.split(" / ")
        for text in (*(f"{line} /" for line in lines), last):
            key = str(len(self.labels))
            self.labels[key] = text
        if heading:
            self.headings.append(key)
        if is_name:
            self.names.append(key)
        return key

    def mark(self, row: str, **values: object) -> None:
        """A mark on a row; columns as in MARK_COLUMNS."""
        self.marks.append({"row": row, **values})

    def dot(self, row: str, estimate: float, tip: str) -> None:
        """A grey dot on a row, above the marks."""
        self.dots.append({"row": row, "estimate": estimate, "tip": tip})

    def box(self, row: str, low: float, high: float, *, colour: str = INK) -> None:
        """A box on a row."""
        self.boxes.append(Box(row=row, low=low, high=high, colour=colour))

    def mark_answer(self, row: str, comparison: Comparison, question: Question, answer: Answer) -> None:
        """An answer in its own unit."""
        tip = tip_text(comparison, question, answer)
        look = asdict(marks.mark_look(answer, question))
        self.mark(row, estimate=answer.estimate, low=answer.shown_low, high=answer.shown_high, tip=tip, **look)

    @property
    def frame(self) -> pl.DataFrame:
        """The marks, one row each."""
        return pl.DataFrame(self.marks, schema=MARK_COLUMNS)

    def y(self, position: float = 0.5) -> alt.Y:
        """The rows as a vertical axis; a mark stands at the middle of its row, or at another share of its height."""
        axis = alt.Axis(
            title=None,
            labelExpr=f"{LABELS}[datum.value]",
            labelFontWeight=alt.condition(f"{HEADINGS}[datum.value]", alt.value("bold"), alt.value("normal")),
            labelFontStyle=alt.condition(f"{NAMES}[datum.value]", alt.value("italic"), alt.value("normal")),
            labelLimit=LABEL_WIDTH,
            labelPadding=6,
            labelOverlap=False,
            ticks=False,
            domain=False,
        )
        # The order is the scale's alone: `sort` would have the browser look up the place of each mark in a list of all.
        scale = alt.Scale(domain=tuple(self.labels))  # no list, of which the library copies each part at each step
        return alt.Y("row:N", scale=scale, axis=axis, bandPosition=position)

    @property
    def params(self) -> list[alt.VariableParameter]:
        """What the axis looks up for each row, there once for all of them."""
        return [
            alt.VariableParameter(name=LABELS, value=self.labels),
            alt.VariableParameter(name=HEADINGS, value=dict.fromkeys(self.headings, True)),
            alt.VariableParameter(name=NAMES, value=dict.fromkeys(self.names, True)),
        ]


def tip_text(comparison: Comparison, question: Question, answer: Answer) -> str:
    """What a mark says when it is pointed at: "these fields: 1.3 more (better) (0.4 to 2.2)"."""
    return f"{QUESTION_WORDS[question]}: {marks.mark(comparison, answer)}{marks.bracket(comparison, answer)}"


def answers(comparison: Comparison) -> tuple[tuple[Question, Answer], ...]:
    """Both questions with their answers."""
    return ((Question.THESE_FIELDS, comparison.these_fields), (Question.YEARS_TO_COME, comparison.years_to_come))


def grouped(things: Iterable[Thing], key: Callable[[Thing], Key]) -> dict[Key, list[Thing]]:
    """Things by their key, in order of first appearance."""
    groups: dict[Key, list[Thing]] = {}
    for thing in things:
        groups.setdefault(key(thing), []).append(thing)
    return groups


def year_words(crop_year: int | None) -> str:
    """A crop year as a heading."""
    return "all years" if crop_year is None else str(crop_year)


# --- layers that several pictures share


def intervals(frame: pl.DataFrame, x: Horizontal, y: alt.Y) -> alt.Chart:
    """Frame as from Rows.frame."""
    drawn: alt.Chart = (
        alt.Chart(frame.filter(pl.col("low").is_not_null()).select("row", "low", "high", "colour", "thickness", "tip"))
        .mark_rule()
        .encode(
            y=y,
            x=x("low:Q"),
            x2=alt.X2("high:Q"),
            color=alt.Color("colour:N", scale=None),
            strokeWidth=alt.StrokeWidth("thickness:Q", scale=None),
            tooltip=_tip(),
        )
    )
    return drawn


def cut_intervals(frame: pl.DataFrame, x: Horizontal, y: alt.Y, low: float, high: float) -> list[alt.Chart]:
    """Intervals as far as the picture reaches, with the word "on" where they run on. Frame as from Rows.frame."""
    ends: tuple[tuple[pl.Expr, float, Literal["left", "right"]], ...] = (
        (pl.col("low") < low, low, "left"),
        (pl.col("high") > high, high, "right"),
    )
    words = [
        alt.Chart(frame.filter(runs_on).select("row", "colour", "tip", edge=pl.lit(edge)))
        .mark_text(text="on", align=align, dy=-6, fontSize=10)
        .encode(y=y, x=x("edge:Q"), color=alt.Color("colour:N", scale=None), tooltip=_tip())
        for runs_on, edge, align in ends
    ]
    reaching = frame.filter(pl.col("low").is_null() | ((pl.col("low") <= high) & (pl.col("high") >= low)))
    return [intervals(reaching.with_columns(pl.col("low", "high").clip(low, high)), x, y), *words]


def boxes(rows: Rows, x: Horizontal, y: alt.Y, low: float, high: float) -> list[alt.Chart]:
    """The hollow boxes as far as the picture reaches; one that runs on is open at that end."""
    columns = {"row": pl.String, "low": pl.Float64, "high": pl.Float64, "colour": pl.String}
    frame = pl.DataFrame([asdict(box) for box in rows.boxes], schema=columns)
    spare = (high - low) / 10  # beyond the edge, which cuts off what lies there
    reaching = frame.with_columns(pl.col("low", "high").clip(low - spare, high + spare))
    return [
        alt.Chart(reaching)
        .mark_bar(filled=False, height=BOX, strokeWidth=1, clip=True)
        .encode(y=y, x=x("low:Q"), x2=alt.X2("high:Q"), stroke=alt.Stroke("colour:N", scale=None))
    ]


def points(frame: pl.DataFrame, x: Horizontal, y: alt.Y) -> alt.Chart:
    """Frame as from Rows.frame."""
    drawn: alt.Chart = (
        alt.Chart(
            frame.filter(pl.col("estimate").is_not_null()).select("row", "estimate", "colour", "fill", "shape", "tip")
        )
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


def dots(rows: Rows, x: Horizontal, y: alt.Y) -> alt.Chart:
    """The dots of the rows."""
    frame = pl.DataFrame(rows.dots, schema={name: MARK_COLUMNS[name] for name in ("row", "estimate", "tip")})
    drawn: alt.Chart = (
        alt.Chart(frame)
        .mark_point(size=75, opacity=1, strokeWidth=2, stroke=UNDECIDED, fill=UNDECIDED, shape="circle")
        .encode(y=y, x=x("estimate:Q"), tooltip=_tip())
    )
    return drawn


def _tip() -> alt.Tooltip:
    return alt.Tooltip("tip:N", title=" ")


def _words(text: str, row: str, y: alt.Y, at: float, align: Literal["left", "right"]) -> alt.Chart:
    """A few words inside the picture, on a row that is kept for them."""
    drawn: alt.Chart = (
        alt.Chart(pl.DataFrame({"row": [row]}))
        .mark_text(text=text.split("\n"), align=align, color=INK, fontSize=12, lineHeight=15)
        .encode(y=y, x=alt.XDatum(at))
    )
    return drawn


def between(rows: Rows) -> alt.Chart:
    """A faint line above each heading."""
    drawn: alt.Chart = alt.Chart(pl.DataFrame({"row": rows.headings})).mark_rule(color=FAINT).encode(y=rows.y(0))
    return drawn


def band_and_zero(rows: Rows, *, margin: float, low: float, high: float, words: tuple[str, str]) -> list[alt.Chart]:
    """The band that does not matter, the solid line at no difference, and what lies to either side.

    The first two rows are kept for the words.
    """
    first, y = next(iter(rows.labels)), rows.y()
    return [
        alt.Chart(ONCE).mark_rect(color=BAND).encode(x=alt.XDatum(-margin), x2=alt.X2Datum(margin)),
        between(rows),
        alt.Chart(ONCE).mark_rule(color=INK, size=1).encode(x=alt.XDatum(0)),
        _words(words[0], first, y, low, "left"),
        _words(words[1], first, y, high, "right"),
    ]


def framed(layers: Sequence[alt.Chart], rows: Rows) -> alt.LayerChart:
    """The layers as one picture, as high as its rows need."""
    return one_picture(layers, height=LINE * len(rows.labels) + AXIS, params=rows.params)

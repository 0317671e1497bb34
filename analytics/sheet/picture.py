"""The picture on the sheet, as SVG: both answers, then each crop year, with the words beside the marks.

Its size is fixed and no text is measured, so that the same comparison gives the same bytes on every machine. The font
is the one of the sheet (fonts/); what a mark looks like is said in answer/marks.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import altair as alt
import polars as pl
import vl_convert

from analytics.answer import marks
from analytics.answer.difference_words import words_for
from analytics.answer.marks import BAND, FAINT, INK, UNDECIDED, UPRIGHT
from analytics.statistics.results import Answer, Comparison, Question, YearResult
from analytics.trade.numbers_as_text import count

FONT = "Source Sans Pro, system-ui, sans-serif"
WIDTH, LEFT, RIGHT = 320, 135, 180  # pixels: the scale, the words to both sides of it
ROW, LEAST_ROW, TALL = 13, 10.5, 230  # pixels: a row, one so low that its words just fit, all rows of many years
TOP, BOTTOM = 4, 34


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One line of the picture: words to the left, the mark with its interval, words to the right."""

    label: str
    value: str
    low: float | None = None
    estimate: float | None = None
    high: float | None = None
    colour: str = INK
    fill: str = INK
    shape: str = UPRIGHT
    thickness: float = 1.5
    dots: tuple[float, ...] = ()


def by_year_svg(comparison: Comparison) -> str:
    """Each crop year with its field-years, both answers, and the range for a single new field.

    Raises ValueError for a comparison without a pair: there is nothing to draw.
    """
    if not comparison.by_year:
        raise ValueError(f"{comparison.measure}: no pair to draw")
    answers, years = _answers(comparison), _years(comparison)
    rows = [*answers, *years]
    low, high = _reach(comparison, answers, [dot for row in rows for dot in row.dots])
    layers = [*_ground(comparison, rows, len(answers), low, high), *_marks(rows, low, high), *_words(rows)]
    picture = (
        alt.layer(*layers)
        .properties(
            width=WIDTH,
            height=max(LEAST_ROW, min(ROW, TALL / len(rows))) * (len(rows) + 1.2),
            autosize=alt.AutoSizeParams(type="none"),
            padding={"left": LEFT, "right": RIGHT, "top": TOP, "bottom": BOTTOM},
        )
        .configure(font=FONT)
        .configure_view(stroke=None)
        .configure_axis(labelFontSize=10, titleFontSize=10, titleFontWeight="normal", labelColor=INK, titleColor=INK)
    )
    return str(vl_convert.vegalite_to_svg(picture.to_json(), vl_version="6.4"))


def by_year_words(comparison: Comparison) -> str:
    """The same picture in words, for those who cannot see it."""
    told = [f"{row.label}: {row.value}" for row in (*_answers(comparison), *_years(comparison))]
    return f"Standing less windrowed by crop year. {'. '.join(told)}."


def _years(comparison: Comparison) -> list[_Row]:
    return [
        _Row(
            label=f"{year.crop_year or 'all years'}, {count(year.field_years, 'field-year')}",
            value=marks.difference(comparison, year.estimate),
            low=year.low,
            estimate=year.estimate,
            high=year.high,
            dots=_field_years(comparison, year),
        )
        for year in comparison.by_year
    ]


def _field_years(comparison: Comparison, year: YearResult) -> tuple[float, ...]:
    """The difference of each field-year of a crop year."""
    return tuple(place.difference for place in comparison.places if place.crop_year == year.crop_year)


def _answers(comparison: Comparison) -> list[_Row]:
    these, future = comparison.these_fields, comparison.years_to_come
    rows = [_answer_row(comparison, "these fields", these, Question.THESE_FIELDS)]
    if future.low is not None:
        rows.append(_answer_row(comparison, "years to come", future, Question.YEARS_TO_COME))
    new = comparison.fields_not_tried
    if new.prediction_low is not None and new.prediction_high is not None:
        between = words_for(comparison, future).bracket(new.prediction_low, new.prediction_high)
        rows.append(
            _Row(
                label="a field not tried yet",
                value=between,
                low=new.prediction_low,
                high=new.prediction_high,
                colour=UNDECIDED,
                thickness=1.0,
            )
        )
    return rows


def _answer_row(comparison: Comparison, label: str, answer: Answer, question: Question) -> _Row:
    return _Row(
        label=label,
        value=marks.difference(comparison, answer.estimate, of=answer) + marks.bracket(comparison, answer),
        low=answer.low,
        estimate=answer.estimate,
        high=answer.high,
        **asdict(marks.look(answer, question)),
    )


def _reach(comparison: Comparison, answers: Sequence[_Row], dots: Sequence[float]) -> tuple[float, float]:
    """From where to where the scale goes; the range of one crop year alone may run off, since two field-years can
    give one that dwarfs all others.
    """
    margin = comparison.margin or 0.0
    ends = [end for row in answers for end in (row.low, row.estimate, row.high) if end is not None]
    low, high = min(-margin, *ends, *dots), max(margin, *ends, *dots)
    spare = 0.04 * (high - low) or 1.0
    return low - spare, high + spare


# --- layers


def _y(rows: int) -> Any:
    return alt.Y("place:Q", scale=alt.Scale(domain=[rows - 0.4, -1.6], nice=False, zero=False), axis=None)


def _x(field: str, low: float, high: float, title: str = "") -> Any:
    axis = alt.Axis(title=title, tickCount=5, grid=False, domainColor=FAINT, tickColor=FAINT)
    return alt.X(field, scale=alt.Scale(domain=[low, high], nice=False, zero=False), axis=axis)


def _ground(comparison: Comparison, rows: list[_Row], answers: int, low: float, high: float) -> list[Any]:
    """The band that does not matter, the line at no difference, which way is which, and a line under the answers."""
    margin = comparison.margin or 0.0
    phrase = words_for(comparison, comparison.these_fields).phrase
    sides = pl.DataFrame(
        {
            "place": [-1.1, -1.1],
            "at": [low, high],
            "words": [f"← standing {phrase.down}", f"standing {phrase.up} →"],
            "align": ["right", "left"],  # outside the scale, where no mark can lie under them
        }
    )
    line = pl.DataFrame({"place": [answers - 0.5], "start": [low], "end": [high]})
    title = f"standing less windrowed, {comparison.unit}"
    band = pl.DataFrame({"start": [-margin], "end": [margin]})
    layers = [
        alt.Chart(band).mark_rect(color=BAND).encode(x=_x("start:Q", low, high, title), x2="end:Q"),
        alt.Chart(pl.DataFrame({"none": [0.0]})).mark_rule(color=INK, size=1).encode(x=_x("none:Q", low, high, title)),
        alt.Chart(line).mark_rule(color=FAINT).encode(x=_x("start:Q", low, high, title), x2="end:Q", y=_y(len(rows))),
    ]
    for align in ("left", "right"):
        words = alt.Chart(sides.filter(align=align)).mark_text(
            align=align, dx=12 if align == "left" else -6, color=INK, fontSize=10, baseline="middle", clip=False
        )
        layers.append(words.encode(x=_x("at:Q", low, high, title), y=_y(len(rows)), text="words:N"))
    return layers


def _marks(rows: list[_Row], low: float, high: float) -> list[Any]:
    y = _y(len(rows))
    colour = alt.Color("colour:N", scale=None)
    bars = pl.DataFrame(
        [
            {
                "place": place + 0.0,
                "low": max(row.low, low),
                "high": min(row.high, high),
                "colour": row.colour,
                "thickness": row.thickness,
            }
            for place, row in enumerate(rows)
            if row.low is not None and row.high is not None and row.low < high and row.high > low
        ],
        schema={
            "place": pl.Float64,
            "low": pl.Float64,
            "high": pl.Float64,
            "colour": pl.String,
            "thickness": pl.Float64,
        },
    )
    running_on = pl.DataFrame(
        [
            {"place": place - 0.45, "at": edge, "align": align}
            for place, row in enumerate(rows)
            for edge, align, runs_on in (
                (low, "left", row.low is not None and row.low < low),
                (high, "right", row.high is not None and row.high > high),
            )
            if runs_on
        ],
        schema={"place": pl.Float64, "at": pl.Float64, "align": pl.String},
    )
    dots = pl.DataFrame(
        [{"place": place + 0.0, "at": dot} for place, row in enumerate(rows) for dot in row.dots],
        schema={"place": pl.Float64, "at": pl.Float64},
    )
    points = pl.DataFrame(
        [
            {
                "place": place + 0.0,
                "at": row.estimate,
                "colour": row.colour,
                "fill": row.fill,
                "shape": row.shape,
            }
            for place, row in enumerate(rows)
            if row.estimate is not None
        ]
    )
    shape = alt.Shape("shape:N", scale=None)
    width = alt.StrokeWidth("thickness:Q", scale=None)
    return [
        alt.Chart(bars).mark_rule().encode(x=_x("low:Q", low, high), x2="high:Q", y=y, color=colour, strokeWidth=width),
        *(
            alt.Chart(running_on.filter(align=align))
            .mark_text(text="on", align=align, fontSize=8, color=INK)
            .encode(x=_x("at:Q", low, high), y=y)
            for align in ("left", "right")
        ),
        alt.Chart(dots)
        .mark_point(size=22, filled=True, opacity=0.75, color=UNDECIDED)
        .encode(x=_x("at:Q", low, high), y=y),
        alt.Chart(points)
        .mark_point(size=60, opacity=1, strokeWidth=1.8)
        .encode(x=_x("at:Q", low, high), y=y, color=colour, fill=alt.Fill("fill:N", scale=None), shape=shape),
    ]


def _words(rows: list[_Row]) -> list[Any]:
    """What is written to the left and to the right of the scale, at a fixed distance."""
    frame = pl.DataFrame(
        {
            "place": [float(place) for place in range(len(rows))],
            "label": [row.label for row in rows],
            "value": [row.value for row in rows],
        }
    )
    base = alt.Chart(frame)
    text: dict[str, Any] = {"color": INK, "fontSize": 10.5, "baseline": "middle", "clip": False}
    return [
        base.mark_text(align="left", **text).encode(x=alt.value(8 - LEFT), y=_y(len(rows)), text="label:N"),
        base.mark_text(align="left", **text).encode(x=alt.value(WIDTH + 12), y=_y(len(rows)), text="value:N"),
    ]

"""The picture on the sheet, as SVG: both answers, then each crop year, with the words beside the marks.

Its size is fixed and no text is measured, so that the same comparison gives the same bytes on every machine. The font
is the one of the sheet (fonts/); what a mark looks like is said in answer/marks. It is written as SVG here: a library
of charts took a browser engine of 88 MB and a second to draw these lines.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from html import escape
from math import ceil, floor, log10

from analytics.answer import marks
from analytics.answer.difference_words import words_for
from analytics.answer.marks import BAND, CIRCLE, FAINT, INK, SQUARE, UNDECIDED, UPRIGHT
from analytics.statistics.results import Answer, Comparison, Question, YearResult
from analytics.trade.numbers_as_text import count, number

FONT = "Source Sans Pro, system-ui, sans-serif"
WIDTH, LEFT, RIGHT = 320, 135, 180  # pixels: the scale, the words to both sides of it
ROW, LEAST_ROW, TALL = 13, 10.5, 230  # pixels: a row, one so low that its words just fit, all rows of many years
TOP, BOTTOM = 4, 34
ABOVE = 1.6  # rows from the upper edge to the middle of the first; the words of the two sides stand there
DOT, MARK = 2.35, 3.9  # pixels: half the width of a field-year's dot, of an answer's mark
STROKE, TICK = 1.8, 5


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRow:
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
    return picture_of(comparison, _answers(comparison), _years(comparison))


def picture_of(comparison: Comparison, answers: Sequence[PictureRow], below: Sequence[PictureRow]) -> str:
    """Answers, a line, and what stands below them, on the scale of the measure."""
    rows = [*answers, *below]
    low, high = _reach(comparison, answers, [dot for row in rows for dot in row.dots])
    scale = _Scale(low=low, high=high, row=max(LEAST_ROW, min(ROW, TALL / len(rows))), rows=len(rows))
    drawn = [
        *_ground(comparison, scale, len(answers)),
        *(part for place, row in enumerate(rows) for part in _interval(scale, scale.y(place), row)),
        *(_dot(scale.x(dot), scale.y(place)) for place, row in enumerate(rows) for dot in row.dots),
        *(
            _mark(scale.x(row.estimate), scale.y(place), row)
            for place, row in enumerate(rows)
            if row.estimate is not None
        ),
        *(part for place, row in enumerate(rows) for part in _words(scale.y(place), row)),
    ]
    width, height = LEFT + WIDTH + RIGHT, scale.height + TOP + BOTTOM
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{_at(height)}" '
            f'viewBox="0 0 {width} {_at(height)}">',
            f'<rect width="{width}" height="{_at(height)}" fill="white"/>',
            f'<g transform="translate({LEFT},{TOP})" font-family="{FONT}" fill="none">',
            *drawn,
            "</g>",
            "</svg>",
        ]
    )


def by_year_words(comparison: Comparison) -> str:
    """The same picture in words, for those who cannot see it."""
    told = [f"{row.label}: {row.value}" for row in (*_answers(comparison), *_years(comparison))]
    return f"Standing less windrowed by crop year. {'. '.join(told)}."


def _years(comparison: Comparison) -> list[PictureRow]:
    return [
        PictureRow(
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


def _answers(comparison: Comparison) -> list[PictureRow]:
    these, future = comparison.these_fields, comparison.years_to_come
    rows = [answer_row(comparison, "these fields", these, Question.THESE_FIELDS)]
    if future.low is not None:
        rows.append(answer_row(comparison, "years to come", future, Question.YEARS_TO_COME))
    new = comparison.fields_not_tried
    if new.prediction_low is not None and new.prediction_high is not None:
        between = words_for(comparison, future).bracket(new.prediction_low, new.prediction_high)
        rows.append(
            PictureRow(
                label="a field not tried yet",
                value=between,
                low=new.prediction_low,
                high=new.prediction_high,
                colour=UNDECIDED,
                thickness=1.0,
            )
        )
    return rows


def answer_row(comparison: Comparison, label: str, answer: Answer, question: Question) -> PictureRow:
    """One answer with its range, in its words."""
    return PictureRow(
        label=label,
        value=marks.difference(comparison, answer.estimate, of=answer) + marks.bracket(comparison, answer),
        low=answer.low,
        estimate=answer.estimate,
        high=answer.high,
        **asdict(marks.look(answer, question)),
    )


def _reach(comparison: Comparison, answers: Sequence[PictureRow], dots: Sequence[float]) -> tuple[float, float]:
    """From where to where the scale goes; the range of one crop year alone may run off, since two field-years can
    give one that dwarfs all others.
    """
    margin = comparison.margin or 0.0
    ends = [end for row in answers for end in (row.low, row.estimate, row.high) if end is not None]
    low, high = min(-margin, *ends, *dots), max(margin, *ends, *dots)
    spare = 0.04 * (high - low) or 1.0
    return low - spare, high + spare


# --- what is drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """Where a value and a row lie, in pixels from the upper left corner of the scale."""

    low: float
    high: float
    row: float  # height of a row
    rows: int

    @property
    def height(self) -> float:
        return self.row * (self.rows + 1.2)

    def x(self, value: float) -> float:
        return (value - self.low) / (self.high - self.low) * WIDTH

    def y(self, place: float) -> float:
        return (place + ABOVE) * self.row


def _at(pixels: float) -> str:
    return f"{pixels:.2f}".rstrip("0").rstrip(".")


def _line(x: float, y: float, *, to_x: float | None = None, to_y: float | None = None, ink: str, width: float) -> str:
    end_x, end_y = x if to_x is None else to_x, y if to_y is None else to_y
    ends = f'x1="{_at(x)}" y1="{_at(y)}" x2="{_at(end_x)}" y2="{_at(end_y)}"'
    return f'<line {ends} stroke="{ink}" stroke-width="{_at(width)}"/>'


def _text(x: float, y: float, words: str, *, size: float = 10, anchor: str = "start") -> str:
    """Words whose middle lies at this height: a third of their size above the line they stand on."""
    place = f'x="{_at(x)}" y="{_at(y + size / 3)}" font-size="{size:g}px" text-anchor="{anchor}"'
    return f'<text {place} fill="{INK}">{escape(words, quote=False)}</text>'


def _ground(comparison: Comparison, scale: _Scale, answers: int) -> list[str]:
    """The band that does not matter, the line at no difference, which way is which, a line under the answers, and the
    axis.
    """
    margin, bottom = comparison.margin or 0.0, scale.height
    phrase = words_for(comparison, comparison.these_fields).phrase
    band, edge = scale.x(-margin), scale.x(margin)
    under = scale.y(answers - 0.5)
    sides = scale.y(-1.1)  # outside the scale, where no mark can lie under them
    drawn = [
        f'<rect x="{_at(band)}" y="0" width="{_at(edge - band)}" height="{_at(bottom)}" fill="{BAND}"/>',
        _line(scale.x(0), 0, to_y=bottom, ink=INK, width=1),
        _line(0, under, to_x=WIDTH, ink=FAINT, width=1),
        _text(-6, sides, f"← standing {phrase.down}", anchor="end"),
        _text(WIDTH + 12, sides, f"standing {phrase.up} →"),
        _line(0, bottom, to_x=WIDTH, ink=FAINT, width=1),
    ]
    for value, words in _ticks(scale.low, scale.high):
        drawn.append(_line(scale.x(value), bottom, to_y=bottom + TICK, ink=FAINT, width=1))
        drawn.append(_text(scale.x(value), bottom + 12, words, anchor="middle"))
    title = f"standing less windrowed, {comparison.unit}"
    return [*drawn, _text(WIDTH / 2, bottom + 26, title, anchor="middle")]


def _ticks(low: float, high: float) -> list[tuple[float, str]]:
    """About five round values from low to high, in steps of 1, 2 or 5 times a power of ten, and their figures."""
    power = 10.0 ** floor(log10((high - low) / 5))
    step = next(step for step in (power, 2 * power, 5 * power, 10 * power) if (high - low) / step <= 7)
    decimals = max(0, -floor(log10(step)))
    places = range(ceil(low / step), floor(high / step) + 1)
    return [(place * step, number(place * step, decimals)) for place in places]


def _interval(scale: _Scale, y: float, row: PictureRow) -> list[str]:
    """The range as far as the scale reaches, with the word "on" where it runs on."""
    if row.low is None or row.high is None:
        return []
    drawn = []
    if row.low < scale.high and row.high > scale.low:
        start, end = scale.x(max(row.low, scale.low)), scale.x(min(row.high, scale.high))
        drawn.append(_line(start, y, to_x=end, ink=row.colour, width=row.thickness))
    if row.low < scale.low:
        drawn.append(_text(0, y - 0.45 * scale.row, "on", size=8))
    if row.high > scale.high:
        drawn.append(_text(WIDTH, y - 0.45 * scale.row, "on", size=8, anchor="end"))
    return drawn


def _dot(x: float, y: float) -> str:
    """A field-year."""
    return f'<circle cx="{_at(x)}" cy="{_at(y)}" r="{DOT}" fill="{UNDECIDED}" opacity="0.75"/>'


def _mark(x: float, y: float, row: PictureRow) -> str:
    """The mark of an answer or of a year's mean."""
    look = f'fill="{row.fill}" stroke="{row.colour}" stroke-width="{STROKE}"'
    if row.shape == CIRCLE:
        return f'<circle cx="{_at(x)}" cy="{_at(y)}" r="{MARK}" {look}/>'
    if row.shape == SQUARE:
        return f'<rect x="{_at(x - MARK)}" y="{_at(y - MARK)}" width="{2 * MARK}" height="{2 * MARK}" {look}/>'
    place = f'transform="translate({_at(x)},{_at(y)}) scale({MARK})"'
    return f'<path d="{row.shape}" {place} stroke="{row.colour}" stroke-width="{STROKE / MARK:.3f}"/>'


def _words(y: float, row: PictureRow) -> tuple[str, str]:
    """What is written to the left and to the right of the scale, at a fixed distance."""
    return _text(8 - LEFT, y, row.label, size=10.5), _text(WIDTH + 12, y, row.value, size=10.5)

"""Rows of a picture on the sheet, drawn as SVG: what it is, its words, and its marks on a scale.

Its size is fixed and no text is measured, so that the same rows give the same bytes on every machine. The font is the
one of the sheet (fonts/); what a mark looks like is said in answer/marks. It is written as SVG here: a library of
charts took a browser engine of 88 MB and a second to draw these lines.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, log10

from analytics.answer.marks import CIRCLE, FAINT, INK, SQUARE, UNDECIDED, UPRIGHT
from analytics.trade.numbers_as_text import number

FONT = "Source Sans Pro, system-ui, sans-serif"
ROW, LEAST_ROW, TALL = 13, 10.5, 230  # pixels: a row, one so low that its words just fit, all rows of many years
TOP, BOTTOM, EDGE = 4, 34, 20
ABOVE = 1.6  # rows from the upper edge to the middle of the first; the words of the two sides stand there
DOT, MARK = 2.35, 3.9  # pixels: half the width of a field-year's dot, of an answer's mark
STROKE, TICK = 1.8, 5
BOX = 0.33  # of a row, up and down from its middle


@dataclass(frozen=True, slots=True, kw_only=True)
class Widths:
    """Pixels: what a row is, the words that say its size, the scale."""

    label: int
    words: int
    scale: int

    @property
    def left(self) -> int:
        """How far from the left edge the scale begins."""
        return self.label + self.words


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRow:
    """One line of the picture: what it is, its size in words, the mark with its interval.

    box : a hollow box from here to there, what others published or where a joint answer starts
    """

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
    box: tuple[float, float] | None = None
    is_heading: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Where a value and a row lie, in pixels from the upper left corner of the scale."""

    low: float
    high: float
    rows: int
    widths: Widths

    @property
    def row(self) -> float:
        """The height of a row."""
        return max(LEAST_ROW, min(ROW, TALL / self.rows))

    @property
    def height(self) -> float:
        """The height of the scale."""
        return self.row * (self.rows + 1.2)

    @property
    def top(self) -> float:
        """The upper edge of the first row."""
        return self.y(-0.5)

    def x(self, value: float) -> float:
        """Where a value lies."""
        return (value - self.low) / (self.high - self.low) * self.widths.scale

    def y(self, place: float) -> float:
        """The middle of a row."""
        return (place + ABOVE) * self.row


def at(pixels: float) -> str:
    """Pixels as they stand in the file."""
    return f"{pixels:.2f}".rstrip("0").rstrip(".")


def line(x: float, y: float, *, to_x: float | None = None, to_y: float | None = None, ink: str, width: float) -> str:
    """A line from one point to another on its row or column."""
    end_x, end_y = x if to_x is None else to_x, y if to_y is None else to_y
    ends = f'x1="{at(x)}" y1="{at(y)}" x2="{at(end_x)}" y2="{at(end_y)}"'
    return f'<line {ends} stroke="{ink}" stroke-width="{at(width)}"/>'


def text(x: float, y: float, words: str, *, size: float = 10, anchor: str = "start", is_bold: bool = False) -> str:
    """Words whose middle lies at this height: a third of their size above the line they stand on."""
    place = f'x="{at(x)}" y="{at(y + size / 3)}" font-size="{size:g}px" text-anchor="{anchor}"'
    place += ' font-weight="bold"' if is_bold else ""
    return f'<text {place} fill="{INK}">{escape(words, quote=False)}</text>'


def _ticks(low: float, high: float) -> list[tuple[float, str]]:
    """About five round values from low to high, in steps of 1, 2 or 5 times a power of ten, and their figures."""
    power = 10.0 ** floor(log10((high - low) / 5))
    step = next(step for step in (power, 2 * power, 5 * power, 10 * power) if (high - low) / step <= 7)
    decimals = max(0, -floor(log10(step)))
    places = range(ceil(low / step), floor(high / step) + 1)
    return [(place * step, number(place * step, decimals)) for place in places]


def _interval(scale: Scale, y: float, row: PictureRow) -> list[str]:
    """The range as far as the scale reaches, with the word "on" where it runs on."""
    if row.low is None or row.high is None:
        return []
    drawn = []
    if row.low < scale.high and row.high > scale.low:
        start, end = scale.x(max(row.low, scale.low)), scale.x(min(row.high, scale.high))
        drawn.append(line(start, y, to_x=end, ink=row.colour, width=row.thickness))
    if row.low < scale.low:
        drawn.append(text(0, y - 0.45 * scale.row, "on", size=8))
    if row.high > scale.high:
        drawn.append(text(scale.widths.scale, y - 0.45 * scale.row, "on", size=8, anchor="end"))
    return drawn


def _dot(x: float, y: float) -> str:
    """A field-year."""
    return f'<circle cx="{at(x)}" cy="{at(y)}" r="{DOT}" fill="{UNDECIDED}" fill-opacity="0.75"/>'


def _mark(x: float, y: float, row: PictureRow) -> str:
    """The mark of an answer or of a year's mean."""
    look = f'fill="{row.fill}" stroke="{row.colour}" stroke-width="{STROKE}"'
    if row.shape == CIRCLE:
        return f'<circle cx="{at(x)}" cy="{at(y)}" r="{MARK}" {look}/>'
    if row.shape == SQUARE:
        return f'<rect x="{at(x - MARK)}" y="{at(y - MARK)}" width="{2 * MARK}" height="{2 * MARK}" {look}/>'
    place = f'transform="translate({at(x)},{at(y)}) scale({MARK})"'
    return f'<path d="{row.shape}" {place} stroke="{row.colour}" stroke-width="{STROKE / MARK:.3f}"/>'


def _box(scale: Scale, y: float, row: PictureRow) -> list[str]:
    """A hollow box as far as the scale reaches; one that runs on is open at that end."""
    if row.box is None:
        return []
    low, high = row.box
    start, end = scale.x(max(low, scale.low)), scale.x(min(high, scale.high))
    up, down = y - BOX * scale.row, y + BOX * scale.row
    ends = [x for x, closed in ((start, low >= scale.low), (end, high <= scale.high)) if closed]
    edges = [line(start, at_y, to_x=end, ink=row.colour, width=0.9) for at_y in (up, down)]
    return [*edges, *(line(x, up, to_y=down, ink=row.colour, width=0.9) for x in ends)]


def _words(scale: Scale, y: float, row: PictureRow) -> tuple[str, str]:
    """What a row is and its size, to the left of the scale."""
    label = text(8 - scale.widths.left, y, row.label, size=10.5, is_bold=row.is_heading)
    return label, text(-scale.widths.words, y, row.value, size=10.5)


def rules_above(scale: Scale, rows: Sequence[int]) -> list[str]:
    """A faint line above each of these rows."""
    return [line(0, scale.y(row - 0.5), to_x=scale.widths.scale, ink=FAINT, width=1) for row in rows]


def axis(scale: Scale, title: str) -> list[str]:
    """The scale's line, its ticks with their figures, and what it measures."""
    bottom, width = scale.height, scale.widths.scale
    drawn = [line(0, bottom, to_x=width, ink=FAINT, width=1)]
    for value, words in _ticks(scale.low, scale.high):
        drawn.append(line(scale.x(value), bottom, to_y=bottom + TICK, ink=FAINT, width=1))
        drawn.append(text(scale.x(value), bottom + 12, words, anchor="middle"))
    return [*drawn, text(width / 2, bottom + 26, title, anchor="middle")]


def svg(scale: Scale, ground: Sequence[str], rows: Sequence[PictureRow]) -> str:
    """What lies below the rows, then the rows: boxes, ranges, dots, marks, words."""
    at_y = [(scale.y(place), row) for place, row in enumerate(rows)]
    drawn = [
        *ground,
        *(part for y, row in at_y for part in (*_box(scale, y, row), *_interval(scale, y, row))),
        *(_dot(scale.x(dot), y) for y, row in at_y for dot in row.dots),
        *(_mark(scale.x(row.estimate), y, row) for y, row in at_y if row.estimate is not None),
        *(part for y, row in at_y for part in _words(scale, y, row)),
    ]
    widths = scale.widths
    width, height = widths.left + widths.scale + EDGE, scale.height + TOP + BOTTOM
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{at(height)}" '
            f'viewBox="0 0 {width} {at(height)}">',
            f'<rect width="{width}" height="{at(height)}" fill="white"/>',
            f'<g transform="translate({widths.left},{TOP})" font-family="{FONT}" fill="none">',
            *drawn,
            "</g>",
            "</svg>",
        ]
    )

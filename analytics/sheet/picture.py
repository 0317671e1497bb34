"""The picture on the sheet: both answers, then each crop year, with the words before the marks."""

from collections.abc import Sequence
from dataclasses import asdict

from analytics.answer import marks
from analytics.answer.difference_words import words_for
from analytics.answer.marks import BAND, INK, UNDECIDED
from analytics.sheet.drawn_rows import PictureRow, Scale, Widths, at, axis, line, rules_above, svg, text
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Answer, Comparison, Question
from analytics.trade.numbers_as_text import count

BY_YEAR = Widths(label=135, words=170, scale=315)


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
    scale = Scale(low=low, high=high, rows=len(rows), widths=BY_YEAR)
    title = f"standing less windrowed, {comparison.unit}"
    return svg(scale, [*ground_lines(comparison, scale, [len(answers)]), *axis(scale, title)], rows)


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
    if future.told_low is not None:
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
        low=answer.shown_low,
        estimate=answer.estimate,
        high=answer.shown_high,
        **asdict(marks.mark_look(answer, question)),
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


def ground_lines(comparison: Comparison, scale: Scale, rules: Sequence[int]) -> list[str]:
    """The band that does not matter, the line at no difference, which way is which, and a line above some rows."""
    margin, top, bottom = comparison.margin or 0.0, scale.top, scale.height
    phrase = words_for(comparison, comparison.these_fields).phrase
    band, edge = scale.x(-margin), scale.x(margin)
    sides = scale.y(-1.1)  # above the rows, where no mark can lie under them
    return [
        f'<rect x="{at(band)}" y="{at(top)}" width="{at(edge - band)}" height="{at(bottom - top)}" fill="{BAND}"/>',
        line(scale.x(0), top, to_y=bottom, ink=INK, width=1),
        *rules_above(scale, rules),
        text(0, sides, f"← standing {phrase.down}"),
        text(scale.widths.scale, sides, f"standing {phrase.up} →", anchor="end"),
    ]

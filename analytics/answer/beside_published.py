"""What others found, the farm's own two answers, and both together: one scale for screen, paper and terminal.

Each line says whose it is. What is published is a hollow box, the farm's own a bar with its mark, both together a bar
in a box. Surveys of unlike growers are on no scale.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist

from analytics.answer import marks
from analytics.answer.difference_words import words_for
from analytics.answer.published import (
    TOPICS,
    PublishedRow,
    StartedFromPublished,
    span,
    starting_from_published,
    unlike_others,
    what_others_found,
)
from analytics.answer.published import marks as three_marks
from analytics.answer.wording import on_which_pairs
from analytics.statistics.depends_on import NotAsked
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Answer, Comparison, Finding, Question
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, capital, number
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac

EARLY = "early_cutting"
HEADING = "What have others found?"
EACH_WAY_HEADING = "What does each way lose by itself?"
EARLY_HEADING = "What does windrowing too early cost?"
A_BOX = "Hollow box: published by others."
NO_BOX = "What others published is in words alone, without a size."
A_BAR = "Bar with a mark: this farm's own."
A_BAR_IN_A_BOX = (
    "Bar in a box: both together; the box is where the published trials start it, the bar where this farm's years "
    "move it."
)
NO_FINDING = "Nothing here changes the finding above."
APART = (
    "Surveys of growers, told apart: each grower had his own method and his own fields, so they show no effect of the "
    "method."
)
EARLY_WORDS = (
    "These set windrows against windrows. A farm's own pairs tell it only indirectly: by how much more standing plots "
    "were ahead where the windrow was cut before 60 % colour."
)
NOT_YET = "Whether this farm is unlike them cannot be told yet: too few years for a range of a field not tried yet."


class Whose(StrEnum):
    """Who speaks in a line; the heading over its group."""

    PUBLISHED = "Published by others"
    FARM = "This farm's own"
    BOTH = "Both together, years to come"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a picture, in the unit of the comparison.

    about : the trial, to stand above its lines; "" for none
    words : what it says; size : its figure, "" where only words are published
    low, high : None where there is no range; estimate : None for a range alone
    side : the method whose own value it is; None for a difference, and for both methods
    question : which of the farm's answers it is
    start : how far to either side of 0 the joint answer starts, before any year of the farm's
    """

    whose: Whose
    about: str = ""
    words: str
    size: str = ""
    low: float | None = None
    high: float | None = None
    estimate: float | None = None
    side: str | None = None
    question: Question | None = None
    start: float | None = None

    @property
    def told(self) -> str:
        """The line in words: "these fields: 0.3 bu/ac more (1.8 less to 2.4 more)"."""
        return ": ".join(part for part in (self.words, self.size) if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A comparison beside what is published about its measure.

    differences : standing less windrowed, published, the farm's own, both
    each_way : what each method lost by itself, published and on this farm; empty but for loss
    early : what windrowing early cost; empty but for yield
    trials, surveys : every published result, for its source, design, place, crop and what it cannot tell
    unlike : whether this farm is unlike them, or why that cannot be told yet; "" where no size is published
    started : the joint answer; None where nothing published supports one, or for fewer than two years
    """

    measure: str
    unit: str
    differences: tuple[Line, ...]
    each_way: tuple[Line, ...]
    early: tuple[Line, ...]
    trials: tuple[PublishedRow, ...]
    surveys: tuple[PublishedRow, ...]
    unlike: str
    started: StartedFromPublished | None

    @property
    def how_to_read(self) -> str:
        """What the boxes and bars of the picture mean."""
        is_boxed = any(line.low is not None for line in self.differences if line.whose is Whose.PUBLISHED)
        boxes = A_BOX if is_boxed else NO_BOX
        return " ".join((boxes, A_BAR, *([A_BAR_IN_A_BOX] if self.started else []), NO_FINDING))

    @property
    def joint_words(self) -> tuple[str, ...]:
        """The joint answer in sentences; none where there is no such answer."""
        if self.started is None:
            return ()
        return (self.started.sentence, self.started.chances, self.started.new_field, self.started.why)


def started_of(comparison: Comparison) -> StartedFromPublished | None:
    """The joint answer for the field-years that years to come rests on; None where there is none."""
    if not _is_published_in(comparison):
        return None
    return starting_from_published(
        comparison.measure,
        [place.difference for place in comparison.places_to_come],
        [-1 if place.crop_year is None else place.crop_year for place in comparison.places_to_come],
        unit=comparison.unit,
        margin=comparison.margin,
        level=comparison.level,
        where=on_which_pairs(comparison, comparison.years_to_come),
    )


def beside_published(
    comparison: Comparison, *, grain: Comparison | None = None, asked: Sequence[DependsOn] = ()
) -> Beside | None:
    """None where nothing is published about the measure in its unit.

    grain : the comparison of yield in the same unit, by which shares of a yield become bushels
    asked : what the difference may depend on, as from exploration.depends_on
    """
    if not _is_published_in(comparison):
        return None
    found = what_others_found(comparison.measure, unit=comparison.unit, yield_bu_ac=_mean_yield(grain))
    started = started_of(comparison)
    about_it = [row for row in found if row.about != EARLY and not row.is_survey]
    early = [_published(comparison, row) for row in found if row.about == EARLY]
    levels = [_published(comparison, row) for row in about_it if row.low is not None and not row.is_difference]
    return Beside(
        measure=comparison.measure,
        unit=comparison.unit,
        differences=(
            *(_published(comparison, row) for row in about_it if row.is_difference),
            *_own(comparison),
            *_both(comparison, started),
        ),
        each_way=(*levels, *_each_way(comparison)) if levels else (),
        early=(*early, *_early_here(comparison, asked)),
        trials=tuple(row for row in found if not row.is_survey),
        surveys=tuple(row for row in found if row.is_survey),
        unlike=_unlike(comparison),
        started=started,
    )


def _is_published_in(comparison: Comparison) -> bool:
    known = MEASURES.get(comparison.measure)
    if known is None or comparison.measure not in TOPICS:
        return False
    return comparison.unit in YIELD_DECIMALS if known.follows_yield_unit else comparison.unit == known.unit


def _mean_yield(grain: Comparison | None) -> float | None:
    if grain is None or grain.mean_windrowed is None or grain.unit not in YIELD_DECIMALS:
        return None
    return grain.mean_windrowed / per_bu_ac(grain.unit)


def _unlike(comparison: Comparison) -> str:
    new = comparison.fields_not_tried
    said = unlike_others(
        comparison.measure,
        prediction_low=new.prediction_low,
        prediction_high=new.prediction_high,
        unit=comparison.unit,
    )
    is_told = any(
        row.is_difference and row.low is not None for row in what_others_found(comparison.measure, unit=comparison.unit)
    )
    if said or not is_told or not comparison.all_pairs.pairs:
        return said
    return NOT_YET


# --- the lines


def _published(comparison: Comparison, row: PublishedRow) -> Line:
    side = row.told_of if row.told_of in marks.SIDES else None
    size = ""
    if row.low is not None and row.high is not None and not row.is_difference:
        size = _level_span(row.low, row.high, row.unit)
    elif row.low is not None and row.high is not None and row.high > row.low:
        size = span(words_for(comparison, comparison.these_fields), row.low, row.high)
    words = row.in_words or row.told_of
    return Line(
        whose=Whose.PUBLISHED,
        about=row.trial,
        words=f"{side}, {row.in_words}" if side and row.in_words else words,
        size=size,
        low=row.low,
        high=row.high,
        side=side,
    )


def _level_span(low: float, high: float, unit: str) -> str:
    """A range of one method's own values: "0.5 to 6.4 bu/ac"."""
    decimals = YIELD_DECIMALS.get(unit, 1)
    last = amount(high, unit, decimals)
    first = number(low, decimals if low else 0)
    return last if round(low, decimals) == round(high, decimals) else f"{first} to {last}"


def _own(comparison: Comparison) -> tuple[Line, ...]:
    asked = ((Question.THESE_FIELDS, comparison.these_fields), (Question.YEARS_TO_COME, comparison.years_to_come))
    return tuple(
        Line(
            whose=Whose.FARM,
            words=marks.QUESTION_WORDS[question],
            size=marks.mark(comparison, answer)
            if answer.finding is not Finding.TOO_FEW
            else _too_few(comparison, answer),
            low=None if answer.finding is Finding.TOO_FEW else answer.low,
            high=None if answer.finding is Finding.TOO_FEW else answer.high,
            estimate=answer.estimate,
            question=question,
        )
        for question, answer in asked
    )


def _too_few(comparison: Comparison, answer: Answer) -> str:
    if answer.estimate is None:
        return "too few"
    return f"{marks.difference(comparison, answer.estimate, of=answer)}, too few"


def _both(comparison: Comparison, started: StartedFromPublished | None) -> tuple[Line, ...]:
    if started is None:
        return ()
    words = words_for(comparison, comparison.years_to_come)
    wide = NormalDist().inv_cdf((1 + comparison.level) / 2)
    return tuple(
        Line(
            whose=Whose.BOTH,
            words=name,
            size=f"{words.sized(one.mean)} ({words.bracket(one.low, one.high)})",
            low=one.low,
            high=one.high,
            estimate=one.mean,
            start=wide * one.mean_sd,
        )
        for name, one in three_marks(started)
    )


def _each_way(comparison: Comparison) -> tuple[Line, ...]:
    """The farm's own mean of each method."""
    means = (("standing", comparison.mean_standing), ("windrowed", comparison.mean_windrowed))
    return tuple(
        Line(whose=Whose.FARM, words=side, size=marks.level(comparison, mean), estimate=mean, side=side)
        for side, mean in means
        if mean is not None
    )


def _early_here(comparison: Comparison, asked: Sequence[DependsOn]) -> tuple[Line, ...]:
    """By how much more standing was ahead where the windrow was cut early; exploration."""
    lines = []
    words = words_for(comparison, comparison.these_fields)
    for line in asked if comparison.measure == "yield" else ():
        if line.name != "early_cut" or isinstance(line.found, NotAsked):
            continue
        fixed = line.found.fixed
        lines.append(
            Line(
                whose=Whose.FARM,
                words="this farm's pairs, indirectly",
                size=f"{words.sized(fixed.difference)} ({words.bracket(fixed.low, fixed.high)})",
                low=fixed.low,
                high=fixed.high,
                estimate=fixed.difference,
            )
        )
    return tuple(lines)


# --- the same in words


def lines_in_words(lines: Sequence[Line]) -> list[str]:
    """A picture for those who cannot see it: a sentence a line, each saying whose it is."""
    return [f"{', '.join(part for part in (line.whose, line.about) if part)}: {line.told}." for line in lines]


def results_words(rows: Sequence[PublishedRow]) -> list[str]:
    """A text a source: each of its results with how and where, and what it cannot tell; where to find it, once."""
    by_source: dict[str, list[str]] = {}
    how: dict[str, str] = {}
    for row in rows:
        parts = by_source.setdefault(row.source, [])
        ground = f"{capital(row.design)}; {row.where}."
        parts.append(f"{capital(row.found)}.")
        if how.get(row.source) != ground:
            parts.append(ground)
            how[row.source] = ground
        parts.append(row.cannot_tell)
    return [" ".join([*parts, f"{source}."]) for source, parts in by_source.items()]

"""How one difference is said in its unit: "1.3 bu/ac more", "between 1.1 less and 3.6 more", and with which decimals.

Only where every pair was drawn by lot may the words name a cause ("standing gave"); otherwise they say what was seen
("standing plots yielded"). Adding a measure: give it a row in PHRASES, or it reads "standing plots were 1.3 higher in".
"""

import math
from dataclasses import dataclass, replace

from analytics.statistics.results import Answer, Comparison, Finding
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import UNKNOWN, amount, number
from analytics.trade.units import YIELD_DECIMALS

ESTIMATE_AND_ENDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """How a difference in one measure is said.

    caused, would_cause : "standing {caused} 1.3 bu/ac {up}{rest}", where every pair was drawn by lot
    seen, would_be : "standing plots {seen} 1.3 bu/ac {up}{rest}", where not
    order : how number and way stand together where "1.3 h/100 ac less machine time" would not be said aloud; it names
        the measure's own unit and is left out for another one, as a file of pairs may have
    up, down : the way of a difference above and below 0
    mark_up, mark_down : the same beside a mark, where nothing else names the measure
    name : the measure inside a sentence, where its label in lower case does not read well
    """

    caused: str = "was"
    would_cause: str = "would be"
    seen: str = "were"
    would_be: str = "would be"
    rest: str = ""
    order: str = ""
    up: str = "higher"
    down: str = "lower"
    mark_up: str = ""
    mark_down: str = ""
    name: str = ""


def _had(rest: str, mark_up: str, mark_down: str) -> Phrase:
    """A share or amount that plots have more or less of, whatever the reason."""
    return Phrase(
        caused="had",
        would_cause="would have",
        seen="had",
        would_be="would have",
        rest=rest,
        up="more",
        down="less",
        mark_up=mark_up,
        mark_down=mark_down,
    )


def _took(what: str, order: str) -> Phrase:
    """What machines used up."""
    return _simple("took", "take", name=what, rest=what, order=order, down="less")


def _counted(what: str, order: str, name: str) -> Phrase:
    """What plots have more or fewer of."""
    return _simple("had", "have", name=name, rest=what, order=order, down="fewer")


def _simple(past: str, verb: str, *, name: str, rest: str, order: str, down: str) -> Phrase:
    """A measure of which nothing else is said where a lot decided than where a person chose."""
    return Phrase(
        name=name,
        caused=past,
        would_cause=f"would {verb}",
        seen=past,
        would_be=f"would {verb}",
        rest=f" {rest}",
        order=order,
        up="more",
        down=down,
    )


PHRASES = {
    "yield": Phrase(
        caused="gave", would_cause="would give", seen="yielded", would_be="would yield", up="more", down="less"
    ),
    "yield_as_sold": Phrase(
        caused="gave",
        would_cause="would give",
        seen="yielded",
        would_be="would yield",
        rest=" as sold",
        up="more",
        down="less",
    ),
    "green_seed": _had(" green seed", "greener", "less green"),
    "loss": Phrase(
        caused="lost",
        would_cause="would lose",
        seen="lost",
        would_be="would lose",
        rest=" seed",
        up="more",
        down="less",
        mark_up="more lost",
        mark_down="less lost",
    ),
    "dockage": _had(" dockage", "more dockage", "less dockage"),
    "moisture": Phrase(up="wetter", down="drier"),
    "test_weight": Phrase(up="heavier", down="lighter"),
    "thousand_seed": Phrase(up="heavier", down="lighter", rest=" per thousand seeds"),
    "days_to_harvest": Phrase(
        caused="came to harvest",
        would_cause="would come to harvest",
        seen="came to harvest",
        would_be="would come to harvest",
        up="later",
        down="earlier",
        name="time to harvest",
    ),
    "net_return": Phrase(
        caused="left", would_cause="would leave", seen="returned", would_be="would return", up="more", down="less"
    ),
    "combining_pace": Phrase(
        caused="was combined",
        would_cause="would be combined",
        seen="were combined",
        would_be="would be combined",
        order="{number} acres an hour {way}",
        up="faster",
        down="slower",
    ),
    "machine_hours": _took("machine time", "{number} hours {way} machine time per 100 acres"),
    "fuel": _took("fuel", "{number} litres {way} fuel an acre"),
    "volunteers": _counted(
        "volunteers in spring", "{number} {way} volunteers to the square metre in spring", "volunteer canola"
    ),
    "stops": _counted("stops", "{number} {way} stops per 100 acres", "stopping"),
}


@dataclass(frozen=True, slots=True)
class DifferenceWords:
    """What turns the differences of one answer into words."""

    phrase: Phrase
    unit: str
    decimals: int
    measure: str = "what was measured"
    is_cause: bool = False

    def figure(self, value: float, *, with_unit: bool = False) -> str:
        """The size alone, without direction; money keeps its dollar sign."""
        if with_unit:
            return amount(abs(value), self.unit, self.decimals)
        return ("$" if self.unit.startswith("$") else "") + number(abs(value), self.decimals)

    def way(self, value: float) -> str:
        """The measure's own word for the direction: "more", "drier", "later"."""
        return self.phrase.up if value >= 0 else self.phrase.down

    def sized(self, value: float, *, with_unit: bool = False) -> str:
        """Size and way: "1.3 more"; the size alone where it rounds to nothing."""
        size = self.figure(value, with_unit=with_unit)
        return size if round(value, self.decimals) == 0 else f"{size} {self.way(value)}"

    def clause(self, value: float, *, future: bool = False) -> str:
        """What was seen, or what standing did where the lot decided: "standing plots yielded 1.3 bu/ac more"."""
        rounded = round(value, self.decimals)
        if rounded == 0:
            return f"the two ways {'would come' if future else 'came'} out even in {self.measure}"
        if self.is_cause:
            subject, verb = "standing", self.phrase.would_cause if future else self.phrase.caused
        else:
            subject, verb = "standing plots", self.phrase.would_be if future else self.phrase.seen
        if self.phrase.order:
            return f"{subject} {verb} {self.phrase.order.format(number=self.figure(value), way=self.way(rounded))}"
        return f"{subject} {verb} {self.figure(value, with_unit=True)} {self.way(rounded)}{self.phrase.rest}"

    def between(self, low: float, high: float, *, with_unit: bool = False) -> str:
        """A range inside a sentence: "between 1.1 less and 3.6 more", "between 1.4 and 0.5 less"."""
        if self._is_on_one_side(low, high):
            return f"between {self.figure(low)} and {self.figure(high, with_unit=with_unit)} {self.way(high)}"
        return f"between {self._end(low)} and {self._end(high, with_unit=with_unit)}"

    def bracket(self, low: float, high: float) -> str:
        """A range in brackets behind its estimate: "0.4 to 2.2", "1.4 to 0.5 less", "1.1 less to 3.6 more"."""
        if self._is_on_one_side(low, high):
            behind = "" if low > 0 else f" {self.way(high)}"
            return f"{self.figure(low)} to {self.figure(high)}{behind}"
        return f"{self._end(low)} to {self._end(high)}"

    def _is_on_one_side(self, low: float, high: float) -> bool:
        """Whether both ends, as they are shown, lie on one side of 0."""
        first, second = round(low, self.decimals), round(high, self.decimals)
        return first * second > 0

    def _end(self, value: float, *, with_unit: bool = False) -> str:
        """An end of a range with its way; one that rounds to 0 keeps its side in words."""
        if round(value, self.decimals) != 0:
            return self.sized(value, with_unit=with_unit)
        return "0" if value == 0 else "just over 0" if value > 0 else "just under 0"


def measure_words(comparison: Comparison) -> str:
    """The measure in lower case, as it stands inside a sentence: "green seed"; a measure of one's own as given."""
    name, known = comparison.measure, MEASURES.get(comparison.measure)
    if name in PHRASES and PHRASES[name].name:
        return PHRASES[name].name
    if known is not None:
        return known.label[0].lower() + known.label[1:]
    return name.replace("_", " ").strip() or "the measure"


def words_for(comparison: Comparison, answer: Answer) -> DifferenceWords:
    """The words and decimals for one answer; a measure that has no phrase of its own is "higher" or "lower"."""
    phrase = PHRASES.get(comparison.measure, Phrase(rest=f" in {measure_words(comparison)}"))
    if phrase.order and comparison.unit != MEASURES[comparison.measure].unit:
        phrase = replace(phrase, order="")
    is_cause = bool(comparison.firm.drawn_by_lot) and answer.basis == comparison.these_fields.basis
    return DifferenceWords(
        phrase, comparison.unit, decimals_for(comparison, answer), measure_words(comparison), is_cause
    )


def base_decimals(comparison: Comparison) -> int:
    """Decimals for this measure and unit; by the size of the numbers where neither is known."""
    if comparison.unit in YIELD_DECIMALS:
        return YIELD_DECIMALS[comparison.unit]
    known, largest = MEASURES.get(comparison.measure), _largest(comparison)
    if comparison.unit.startswith("$"):
        return 0 if largest >= 10 else 2
    if known is not None and known.unit == comparison.unit:
        return known.decimals
    return 1 if largest == 0 else min(max(2 - math.floor(math.log10(largest)), 0), 12)  # three figures


def _largest(comparison: Comparison) -> float:
    these, future = comparison.these_fields, comparison.years_to_come
    ends = (these.estimate, these.low, these.high, future.estimate)
    return max((abs(end) for end in ends if end is not None), default=comparison.margin or 0.0)


def decimals_for(comparison: Comparison, answer: Answer) -> int:
    """As few decimals as do not blur the finding, and at most one more than usual: false precision helps nobody.

    A difference that chance does not explain must not touch 0, one inside the margin not the margin; the two ends of a
    range must not look the same.
    """
    base = base_decimals(comparison)
    ends = [end for end in (answer.estimate, answer.low, answer.high) if end is not None]
    clear = answer.finding in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER)
    inside = answer.small or answer.finding == Finding.NO_DIFFERENCE_THAT_MATTERS
    margin = comparison.margin if inside else None

    def is_clear(decimals: int) -> bool:
        touches_zero = clear and any(round(end, decimals) == 0 for end in ends)
        touches_margin = margin is not None and any(
            abs(end) < margin and round(abs(end), decimals) >= round(margin, decimals) for end in ends
        )
        return not touches_zero and not touches_margin

    def is_range(decimals: int) -> bool:
        return len(ends) < ESTIMATE_AND_ENDS or len({round(end, decimals) for end in ends}) > 1

    allowed = [decimals for decimals in (base, base + 1) if is_clear(decimals)] or [base]
    return next((decimals for decimals in allowed if is_range(decimals)), allowed[0])


def margin_words(comparison: Comparison) -> str:
    """The difference that matters with its unit, with the decimals that show it within 2 %."""
    margin, base = comparison.margin, base_decimals(comparison)
    if margin is None:
        return UNKNOWN
    shown = (decimals for decimals in range(base, base + 4) if abs(round(margin, decimals) - margin) <= 0.02 * margin)
    return amount(margin, comparison.unit, next(shown, base))

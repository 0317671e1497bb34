"""How one difference is said in its unit: "1.3 bu/ac more", "between 1.1 less and 3.6 more", and with which decimals.

Adding a measure: give it a row in PHRASES, or it reads "standing was 1.3 higher in ...".
"""

import math
from dataclasses import dataclass

from analytics.statistics.results import Answer, Comparison, Finding
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import UNKNOWN, amount, number
from analytics.trade.units import YIELD_DECIMALS


@dataclass(frozen=True, slots=True)
class Phrase:
    """How a difference in one measure is said: "standing {did} 1.3 bu/ac {up}{rest}"."""

    did: str = "was"
    would: str = "would be"
    rest: str = ""
    up: str = "higher"
    down: str = "lower"
    name: str = ""  # the measure inside a sentence, where its label in lower case does not read well


PHRASES = {
    "yield": Phrase("gave", "would give", "", "more", "less"),
    "yield_as_sold": Phrase("gave", "would give", " as sold", "more", "less"),
    "green_seed": Phrase("had", "would have", " green seed", "more", "less"),
    "loss": Phrase("lost", "would lose", "", "more", "less"),
    "dockage": Phrase("had", "would have", " dockage", "more", "less"),
    "moisture": Phrase("was", "would be", "", "wetter", "drier"),
    "days_to_harvest": Phrase("came to harvest", "would come to harvest", "", "later", "earlier", "time to harvest"),
    "net_return": Phrase("left", "would leave", "", "more", "less"),
}


@dataclass(frozen=True, slots=True)
class DifferenceWords:
    """What turns the differences of one answer into words."""

    phrase: Phrase
    unit: str
    decimals: int

    def figure(self, value: float, *, with_unit: bool = False) -> str:
        """The size alone, without direction; money keeps its dollar sign."""
        if with_unit:
            return amount(abs(value), self.unit, self.decimals)
        return ("$" if self.unit.startswith("$") else "") + number(abs(value), self.decimals)

    def clause(self, value: float, *, future: bool = False) -> str:
        """What standing did, or would do: "standing gave 1.3 bu/ac more"."""
        rounded = round(value, self.decimals)
        if rounded == 0:
            return "the two ways would come out level" if future else "the two ways came out level"
        verb = self.phrase.would if future else self.phrase.did
        way = self.phrase.up if rounded > 0 else self.phrase.down
        return f"standing {verb} {self.figure(value, with_unit=True)} {way}{self.phrase.rest}"

    def between(self, low: float, high: float, *, with_unit: bool = False) -> str:
        """A range inside a sentence: "between 1.1 less and 3.6 more", "between 1.4 and 0.5 less"."""
        first, second = self.figure(low), self.figure(high, with_unit=with_unit)
        way, other_way = self._ways(low, high)
        return f"between {first}{other_way} and {second} {way}"

    def bracket(self, low: float, high: float) -> str:
        """A range in brackets behind its estimate: "0.4 to 2.2", "1.4 to 0.5 less", "1.1 less to 3.6 more"."""
        way, other_way = self._ways(low, high)
        behind = "" if way == self.phrase.up and not other_way else f" {way}"
        return f"{self.figure(low)}{other_way} to {self.figure(high)}{behind}"

    def _ways(self, low: float, high: float) -> tuple[str, str]:
        """The word behind the upper end, and the one behind the lower end where the range goes over 0."""
        if round(low, self.decimals) >= 0:
            return self.phrase.up, ""
        if round(high, self.decimals) <= 0:
            return self.phrase.down, ""
        return self.phrase.up, f" {self.phrase.down}"


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
    return DifferenceWords(phrase, comparison.unit, decimals_for(comparison, answer))


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
    """As few decimals as do not blur the finding: a real difference must not touch 0, a small one not the margin."""
    base = base_decimals(comparison)
    ends = [end for end in (answer.estimate, answer.low, answer.high) if end is not None]
    real = answer.finding in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER)
    inside = answer.small or answer.finding == Finding.NO_DIFFERENCE_THAT_MATTERS
    margin = comparison.margin if inside else None

    def is_clear(decimals: int) -> bool:
        touches_zero = real and any(round(end, decimals) == 0 for end in ends)
        touches_margin = margin is not None and any(
            abs(end) < margin and round(abs(end), decimals) >= round(margin, decimals) for end in ends
        )
        return not touches_zero and not touches_margin

    return next((decimals for decimals in range(base, base + 7) if is_clear(decimals)), base)


def margin_words(comparison: Comparison) -> str:
    """The difference that matters with its unit, with the decimals that show it within 2 %."""
    margin, base = comparison.margin, base_decimals(comparison)
    if margin is None:
        return UNKNOWN
    shown = (decimals for decimals in range(base, base + 4) if abs(round(margin, decimals) - margin) <= 0.02 * margin)
    return amount(margin, comparison.unit, next(shown, base))

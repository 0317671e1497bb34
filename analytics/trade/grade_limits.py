"""Grades and their limits: what the counts of a sample allow, beside the grade on its ticket, which always wins.

The program never says what grade a sample is. It says within which limits the counts lie, once rounded as the law
rounds (to the decimals in which the limit is written; exact halves go up in Canada Grain Regulations, Schedule 3,
section 1, and to the even digit in 7 CFR 810.104, the latter from memory) and once read strictly.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

from analytics.trade.numbers_as_text import THIN_SPACE

GRADES = ("1", "2", "3", "Sample")


RECOUNT_SEEDS = 500  # a crush count is at least 500 seeds: Canadian Canola Growers Association, Know your grade


# Which figure of a sample each factor of the law is held against, and what the factor is called in a sentence.
# The United States count ergot, sclerotinia and stones as conspicuous admixture too; a sample here holds seeds only.
COUNTED_AS = {
    "distinctly_green": "green_pct",
    "heated": "heated_pct",
    "heat_damaged": "heated_pct",
    "total_damage": "total_damage_pct",
    "conspicuous_inseparable_other_seeds": "admixture_pct",
    "total_conspicuous_admixture": "admixture_pct",
}


FACTOR_WORDS = {
    "green_pct": "green seed",
    "heated_pct": "heated seed",
    "total_damage_pct": "total damage",
    "admixture_pct": "other seeds",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The most that No. 1, 2 and 3 allow of one factor, percent, and the decimals in which the law writes it."""

    factor: str
    maxima: tuple[Decimal, Decimal, Decimal]
    decimals: int
    source: str
    halves: str = "up"  # or "to even"
    caveat: str = ""

    @property
    def counted_as(self) -> str:
        """The figure of a sample that this limit is held against."""
        return COUNTED_AS[self.factor]


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorReading:
    """One factor of one sample: percent as counted, and the highest grade whose limit it keeps, read both ways."""

    limit: Limit
    percent: Decimal
    rounded: Decimal
    grade: str
    strict_grade: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One sample held against all limits: its factors, and the figures that were not counted."""

    factors: tuple[FactorReading, ...]
    not_counted: tuple[str, ...]

    @property
    def grade(self) -> str | None:
        """The lowest grade among the factors, rounded as the law rounds; None when nothing was counted."""
        return max((factor.grade for factor in self.factors), key=GRADES.index, default=None)

    @property
    def strict_grade(self) -> str | None:
        """The same, read strictly."""
        return max((factor.strict_grade for factor in self.factors), key=GRADES.index, default=None)

    @property
    def limiting(self) -> tuple[FactorReading, ...]:
        """The factors that keep the counts out of a higher grade as rounded; none within the limits for No. 1."""
        return tuple(factor for factor in self.factors if factor.grade == self.grade != GRADES[0])

    @property
    def strictly_limiting(self) -> tuple[FactorReading, ...]:
        """The same, read strictly."""
        return tuple(factor for factor in self.factors if factor.strict_grade == self.strict_grade != GRADES[0])


def round_as_written(percent: Decimal, decimals: int, *, halves: str = "up") -> Decimal:
    """The percent rounded to so many decimals, exact halves up (Canada Grain Regulations, Schedule 3, section 1) or to
    the even digit (7 CFR 810.104, from memory). KeyError for another way.

    >>> round_as_written(Decimal("2.5"), 0), round_as_written(Decimal("0.14"), 1)
    (Decimal('3'), Decimal('0.1'))
    >>> round_as_written(Decimal("2.05"), 1, halves="to even")
    Decimal('2.0')
    """
    way = {"up": ROUND_HALF_UP, "to even": ROUND_HALF_EVEN}[halves]
    return percent.quantize(Decimal(1).scaleb(-decimals), rounding=way)


def edition_words(limits: Sequence[Limit]) -> str:
    """Where the limits come from and how old they are, as a sentence for wherever they are used."""
    first = limits[0]
    return f"Limits: {first.source}.{f' {first.caveat}.' if first.caveat else ''}"


def percent_of(count: int, total: int) -> Decimal:
    """A count as percent of a total, exact enough that a half stays a half. ValueError for a count outside it."""
    if not 0 <= count <= total or total == 0:
        raise ValueError(f"{count} of {total} counted; the count must be from 0 to the total, and the total above 0")
    return Decimal(count) * 100 / Decimal(total)


def sample_percents(sample: Mapping[str, object]) -> dict[str, Decimal]:
    """The figures of a row of samples that a limit can be held against, percent; what is blank is left out."""
    found = {
        name: Decimal(str(sample[name])) for name in FACTOR_WORDS if name != "green_pct" and sample[name] is not None
    }
    green, crushed = sample["green_seeds"], sample["seeds_crushed"]
    if isinstance(green, int) and isinstance(crushed, int):
        found["green_pct"] = percent_of(green, crushed)
    elif sample.get("green_pct") is not None:  # of a slip without a count
        found["green_pct"] = Decimal(str(sample["green_pct"]))
    return found


def read_against(percents: Mapping[str, Decimal], limits: Sequence[Limit]) -> Reading:
    """Hold a sample's percents (keys as in FACTOR_WORDS) against the limits.

    >>> green = Limit(factor="distinctly_green", maxima=(Decimal(2), Decimal(6), Decimal(20)), decimals=0,
    ...               source="Canada Grain Regulations, Schedule 3, Table 19")
    >>> reading = read_against({"green_pct": percent_of(12, 500)}, [green])
    >>> reading.grade, reading.strict_grade
    ('1', '2')
    """
    factors = []
    for limit in limits:
        if limit.counted_as in percents:
            percent = percents[limit.counted_as]
            rounded = round_as_written(percent, limit.decimals, halves=limit.halves)
            factors.append(
                FactorReading(
                    limit=limit,
                    percent=percent,
                    rounded=rounded,
                    grade=_highest_grade(rounded, limit),
                    strict_grade=_highest_grade(percent, limit),
                )
            )
    not_counted = tuple(limit.counted_as for limit in limits if limit.counted_as not in percents)
    return Reading(factors=tuple(factors), not_counted=not_counted)


def _highest_grade(percent: Decimal, limit: Limit) -> str:
    for grade, most in zip(GRADES, limit.maxima, strict=False):
        if percent <= most:
            return grade
    return GRADES[-1]


def most_green_allowed(limit: Limit, *, strictly: bool, seeds: int = RECOUNT_SEEDS) -> int:
    """The most green seeds among `seeds` crushed that keep the limit for No. 1.

    >>> green = Limit(factor="distinctly_green", maxima=(Decimal(2), Decimal(6), Decimal(20)), decimals=0,
    ...               source="Canada Grain Regulations, Schedule 3, Table 19")
    >>> most_green_allowed(green, strictly=False), most_green_allowed(green, strictly=True)
    (12, 10)
    """
    if strictly:
        return int((limit.maxima[0] * seeds / 100).to_integral_value(ROUND_FLOOR))
    half = Decimal(5).scaleb(-limit.decimals - 1)
    most = int(((limit.maxima[0] + half) * seeds / 100).to_integral_value(ROUND_FLOOR))
    rounded = round_as_written(percent_of(most, seeds), limit.decimals, halves=limit.halves)
    return most if rounded <= limit.maxima[0] else most - 1


def grade_name(grade: str) -> str:
    """A grade as it is said: "No. 1", "Sample"."""
    return grade if grade == GRADES[-1] else f"No. {grade}"


def within_words(grade: str) -> str:
    """Within which limits the counts lie; never what the grade is."""
    if grade == GRADES[-1]:
        return "beyond the limits for No. 3 as counted"
    return f"within the limits for No. {grade} as counted"


def reading_words(reading: Reading) -> str:
    """A reading as one sentence: limits by the regulation's rounding, read strictly, and what kept it from No. 1."""
    grade, strict = reading.grade, reading.strict_grade
    if grade is None or strict is None:
        return "Nothing was counted that a limit could be held against."
    text = within_words(grade)
    if reading.limiting:
        text += f" ({_limiting_words(reading.limiting, rounded=True)})"
    if strict == grade:
        text += ", rounded as the law rounds and read strictly"
    else:
        text += f", rounded as the law rounds; read strictly {within_words(strict).removesuffix(' as counted')}"
        text += f" ({_limiting_words(reading.strictly_limiting, rounded=False)})"
    if reading.not_counted:
        text += f". Not counted: {', '.join(FACTOR_WORDS[name] for name in reading.not_counted)}"
    return text[0].upper() + text[1:] + "."


def _limiting_words(factors: Sequence[FactorReading], *, rounded: bool) -> str:
    return ", ".join(
        f"{FACTOR_WORDS[factor.limit.counted_as]} {_plain(factor.percent)}{THIN_SPACE}%, "
        f"{_limit_passed(factor, rounded=rounded)}"
        for factor in factors
    )


def _limit_passed(factor: FactorReading, *, rounded: bool) -> str:
    """The limit of the next higher grade, which was not kept."""
    passed = GRADES.index(factor.grade if rounded else factor.strict_grade) - 1
    most = factor.limit.maxima[passed]
    return f"No. {GRADES[passed]} allows {most:.{factor.limit.decimals}f}{THIN_SPACE}%"


def _plain(percent: Decimal) -> str:
    """At most two decimals, no trailing zeros beyond one."""
    return f"{percent:.2f}".removesuffix("0")


def ticket_disagreement(ticket_grade: str | None, reading: Reading) -> str | None:
    """A sentence when ticket and counts point to different grades in both ways of reading; None otherwise."""
    grade = reading.grade
    if ticket_grade is None or grade is None or ticket_grade in (grade, reading.strict_grade):
        return None
    if GRADES.index(ticket_grade) > GRADES.index(grade):
        ask = "Ask what lowered it"
        if reading.not_counted:
            ask += f"; not counted here: {', '.join(FACTOR_WORDS[name] for name in reading.not_counted)}"
        return f"The ticket says {grade_name(ticket_grade)}, the counts are {within_words(grade)}. {ask}."
    limiting = _limiting_words(reading.limiting, rounded=True)
    counts = f"the counts are {within_words(grade)} ({limiting})"
    return f"The ticket says {grade_name(ticket_grade)}, {counts}. The ticket holds."

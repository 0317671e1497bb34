"""Beside the published trials: what others found in the farm's unit, whether this farm is unlike them, and a start.

Nothing here is a finding, and nothing changes one. What is published is not averaged: papers give ranges of chosen
sites, directions, and surveys of unlike growers.
"""

from dataclasses import asdict, dataclass, replace
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from analytics.answer.difference_words import PHRASES, DifferenceWords
from analytics.statistics.quadrature import Companion, Companions, companions
from analytics.trade.measures import find_measure
from analytics.trade.numbers_as_text import NUMBER_WORDS, UNKNOWN, amount, number
from analytics.trade.published_trials import PublishedFinding, findings_about
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac

USUAL_CROP = "spring canola"
TOPICS = {"yield": ("yield", "early_cutting"), "loss": ("loss",), "green_seed": ("green_seed",)}


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRow:
    """One published finding as a line of the picture and of its table.

    low, high : in `unit`; None where only words were published, or the share of a yield is not known here
    is_difference : standing less windrowed, so that it may stand on one scale with the farm's own answers
    is_survey : shown apart, never as an effect
    told_of : as in PublishedFinding; trial : place and years, short; in_words : what was found, without its figure
    found : the finding in words; where : place, years and crop; design : how; cannot_tell : a whole sentence
    """

    about: str
    low: float | None
    high: float | None
    unit: str
    is_difference: bool
    is_survey: bool
    told_of: str
    trial: str
    in_words: str
    found: str
    where: str
    design: str
    cannot_tell: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Where the companion starts, in bu/ac: mean ~ normal(0, mean_sd), spread between years ~ half-normal(year_sd).

    because : how it follows from the published table, in words
    """

    mean_sd: float
    year_sd: float
    because: str


# Our choice of how to read the table, no source; the figures in `because` are the table's own.
PRIORS = {
    "yield": Prior(
        mean_sd=4.0,
        year_sd=2.0,
        because="half of eight published site-years differed, from 7.4 bu/ac less to 6.6 more standing, and their mean "
        "was zero; other trials found none, or more one way or the other",
    ),
    "loss": Prior(
        mean_sd=2.0,
        year_sd=1.0,
        because="published losses lie between 2 and 25 % of the yield for either method; fields cut standing lost from "
        "0.5 to 6.4 bu/ac where windrowed ones lost 3.9, and trials disagree about which method loses more",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StartedFromPublished:
    """The companion for years to come in the farm's unit, with the words for it.

    sentence : how far the farm's years move the likely range; chances : of more, of more than the margin, and so on
    new_field : where a field not tried yet could lie; because : what the prior rests on, why : the same as a sentence
    """

    unit: str
    years: int
    priors: Companions
    sentence: str
    chances: str
    new_field: str
    because: str

    @property
    def why(self) -> str:
        """What it starts from, as a sentence."""
        return f"It starts so wide because {self.because}. That is our reading of them, no trial's result."


def what_others_found(measure: str, *, unit: str, yield_bu_ac: float | None = None) -> tuple[PublishedRow, ...]:
    """The rows for one measure, differences first, surveys last; empty where nothing is published.

    unit : the farm's yield unit for yield and loss, else the measure's own; yield_bu_ac : the farm's mean yield, by
    which published shares of a yield become bushels
    """
    rows = [
        _row(finding, topic, unit, yield_bu_ac)
        for topic in TOPICS.get(measure, ())
        for finding in findings_about(topic)
    ]
    return tuple(sorted(rows, key=lambda row: (row.is_survey, not row.is_difference, row.low is None)))


def _row(finding: PublishedFinding, topic: str, unit: str, yield_bu_ac: float | None) -> PublishedRow:
    ends = finding.in_bu_ac(yield_bu_ac=yield_bu_ac) if unit in YIELD_DECIMALS else None
    low, high = (None, None) if ends is None else (end * per_bu_ac(unit) for end in ends)
    is_difference = finding.told_of == "difference" and not finding.is_survey
    return PublishedRow(
        about=topic,
        low=low,
        high=high,
        unit=unit,
        is_difference=is_difference,
        is_survey=finding.is_survey,
        told_of=finding.told_of,
        trial=_trial(finding),
        in_words=finding.in_words,
        found=_found(finding),
        where=", ".join(part for part in (finding.region, finding.years, finding.crop) if part),
        design=f"survey of growers: {finding.sites}" if finding.is_survey else f"{finding.kind}: {finding.sites}",
        cannot_tell=f"It cannot tell {finding.cannot_tell}.",
        source=finding.source if finding.read else f"{finding.source} (from memory)",
    )


def _trial(finding: PublishedFinding) -> str:
    """Place, years, and the crop where it is another: "England, winter rape"."""
    place = " ".join(part for part in (finding.region, finding.years) if part)
    return place if finding.crop == USUAL_CROP else f"{place}, {finding.crop}"


def _found(finding: PublishedFinding) -> str:
    """The figure as published with its words: "loss, standing: 1.7 to 4.9 % of yield"."""
    figure = ""
    if finding.low is not None and finding.high is not None and finding.high > finding.low:
        figure = f"{_exact(finding.low)} to {_exact(finding.high)} {finding.unit}"
    elif finding.low:
        figure = f"{_exact(finding.low)} {finding.unit}"
    whose = "" if finding.told_of in ("difference", "context") else finding.told_of
    told = f"{whose}: {figure}" if whose and figure else whose or figure
    return "; ".join(part for part in (told, finding.in_words) if part)


def _exact(value: float) -> str:
    return number(value, 0 if float(value).is_integer() else 1)


def unlike_others(measure: str, *, prediction_low: float | None, prediction_high: float | None, unit: str) -> str:
    """One sentence: the published site-years' range against where a new field of this farm could lie; "" without both.

    prediction_low, prediction_high : a single new field in a new year, standing less windrowed, in `unit`
    """
    ends = [row for row in what_others_found(measure, unit=unit) if row.is_difference and row.low is not None]
    if prediction_low is None or prediction_high is None or not ends:
        return ""
    low = min(row.low for row in ends if row.low is not None)
    high = max(row.high for row in ends if row.high is not None)
    words = _words(measure, unit)
    theirs, own = words.between(low, high, with_unit=True), words.between(prediction_low, prediction_high)
    if prediction_low > high or prediction_high < low:
        judged = "this farm is unlike them"
    elif prediction_low >= low and prediction_high <= high:
        judged = "this farm lies among them"
    elif prediction_low <= low and prediction_high >= high:
        judged = "this farm's records leave room for all that they found, and more"
    else:
        judged = "this farm overlaps with them"
    return f"In the published site-years standing lay {theirs}, a new field here {own}: {judged}."


def starting_from_published(
    measure: str,
    differences: ArrayLike,
    year: ArrayLike,
    *,
    unit: str,
    margin: float | None,
    level: float = 0.95,
    where: str = "",
) -> StartedFromPublished | None:
    """Years to come, starting from the published trials, from two years on; None where nothing published supports it.

    differences, year : the field-years that years to come rests on, in `unit`, shape (N,)
    where : which pairs these are, as wording.on_which_pairs says it
    None also for fewer than two years, and where nothing tells a spread.
    """
    prior = PRIORS.get(measure)
    if prior is None or np.unique(np.asarray(year)).size < 2:
        return None
    times = per_bu_ac(unit)
    try:
        found = companions(
            differences,
            year,
            mean_sd=prior.mean_sd * times,
            year_sd=prior.year_sd * times,
            margin=margin,
            level=level,
        )
    except ValueError:  # no spread
        return None
    years = int(np.unique(np.asarray(year)).size)
    reach = NormalDist().inv_cdf((1 + level) / 2) * prior.mean_sd * times
    return StartedFromPublished(
        unit=unit,
        years=years,
        priors=found,
        sentence=_moved(_words(measure, unit), years, (-reach, reach), (found.stated.low, found.stated.high), where),
        chances=_chances(_words(measure, unit), found.stated, margin),
        new_field=_new_field(_words(measure, unit), found.stated),
        because=prior.because,
    )


def chance_above(needed: float, differences: ArrayLike, year: ArrayLike) -> float | None:
    """The chance that standing's mean yield gap in years to come is above `needed`, from the published start.

    needed, differences : bu/ac; None where starting_from_published is
    """
    started = starting_from_published("yield", differences, year, unit="bu/ac", margin=abs(needed) or None)
    if started is None:
        return None
    stated = started.priors.stated
    if stated.above_margin is None or stated.below_margin is None:
        return stated.above_zero
    return stated.above_margin if needed > 0 else 1 - stated.below_margin


def marks(started: StartedFromPublished) -> tuple[tuple[str, Companion], ...]:
    """The three marks of the picture: how much of the answer is the farm's own voice."""
    priors = started.priors
    return (
        ("as published", priors.stated),
        ("if published gaps were half as wide", priors.doubtful),
        ("if nearly nothing was published", priors.loose),
    )


def published_object(started: StartedFromPublished | None) -> dict[str, Any] | None:
    """What `from_published` holds in JSON; None where there is no companion."""
    if started is None:
        return None
    priors = started.priors
    return {
        "unit": started.unit,
        "years": started.years,
        "stated": asdict(priors.stated),
        "doubtful": asdict(priors.doubtful),
        "loose": asdict(priors.loose),
        "sentence": started.sentence,
        "chances": started.chances,
        "new_field": started.new_field,
        "because": started.because,
    }


def _words(measure: str, unit: str) -> DifferenceWords:
    decimals = YIELD_DECIMALS[unit] if unit in YIELD_DECIMALS else find_measure(measure).decimals
    return DifferenceWords(PHRASES[measure], unit, decimals)


def _moved(
    words: DifferenceWords, years: int, before: tuple[float, float], now: tuple[float, float], where: str
) -> str:
    counted = NUMBER_WORDS[years] if years < len(NUMBER_WORDS) else number(years, 0)
    fewest = max(words.decimals - 1, 0)
    ends = (*before, *now)
    clear = (places for places in range(fewest, fewest + 4) if all(round(end, places) != 0 for end in ends))
    rounded = replace(words, decimals=next(clear, words.decimals))
    return (
        f"From the published trials alone the likely range is {span(rounded, *before, with_unit=True)}; with {counted} "
        f"years of yours{f', {where},' if where else ''} it is {span(rounded, *now)}."
    )


def span(words: DifferenceWords, low: float, high: float, *, with_unit: bool = False) -> str:
    """As in "3 less to 5 more", "1 to 4 more", "4 to 1 less"."""
    up, down = words.phrase.up, words.phrase.down
    first = words.figure(low, with_unit=with_unit)
    if low < 0 < high:
        return f"{first} {down} to {words.figure(high)} {up}"
    return f"{first} to {words.figure(high)} {up if low >= 0 else down}"


def _chances(words: DifferenceWords, found: Companion, margin: float | None) -> str:
    up, down, verb, rest = words.phrase.up, words.phrase.down, words.phrase.would_be, words.phrase.rest
    first = f"By this start there are {in_100(found.above_zero)} chances in 100 that standing plots {verb} {up}{rest} "
    if margin is None or found.above_margin is None:
        return f"{first}on average."
    places = (places for places in range(words.decimals + 4) if abs(round(margin, places) - margin) <= margin / 50)
    size = amount(margin, words.unit, next(places, words.decimals))
    return (
        f"{first}on average; {in_100(found.above_margin)} that they {verb} over {size} {up}{rest}, "
        f"{in_100(found.below_margin)} over {size} {down}, and {in_100(found.within_margin)} that the two lie within "
        f"{size}."
    )


def _new_field(words: DifferenceWords, found: Companion) -> str:
    """One decimal coarser than the average: it is that wide."""
    coarser = replace(words, decimals=max(words.decimals - 1, 0))
    between = coarser.between(found.new_low, found.new_high, with_unit=True)
    return f"A field not tried yet could by this start lie {between}."


def in_100(chance: float | None) -> str:
    """A chance as whole chances in 100, never 0 or 100, which no chance here is."""
    if chance is None:
        return UNKNOWN
    return "less than 1" if chance < 0.01 else "more than 99" if chance > 0.99 else number(100 * chance, 0)

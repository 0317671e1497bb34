"""Fields that were not tried yet, and what each year and place looks like once chance is taken off it.

Where places come back in other years, years and places are crossed and told apart (crossed); where none does, what
holds for years to come holds for new fields too, as every field-year was then a new field.
"""

from dataclasses import replace

import numpy as np
import scipy

from analytics.statistics.answers import FEWEST_REPLICATES, NO_SPREAD, Ground, Terms, prediction_reach
from analytics.statistics.crossed import CrossedMean, Shrunken, crossed_mean
from analytics.statistics.given_pairs import KINDS, Kind, Pairs
from analytics.statistics.places import FieldYears, place_names
from analytics.statistics.results import MOST_LISTED, Answer, FieldsNotTried, Finding, ShrunkenMeans

ONLY = {False: ("one field was", "two fields were"), True: ("one group of fields was", "two groups of fields were")}
SEVERAL_FIELDS = tuple(KINDS.index(kind) for kind in (Kind.TWO_FIELDS, Kind.MATCHED, Kind.MIXED))


def crossed_of(on: Ground, terms: Terms) -> CrossedMean | None:
    """Years crossed with places; None where no place comes back, or there are too few of either, or no spread."""
    found = on.found
    if not found.do_places_come_back or min(found.years, found.places) < FEWEST_REPLICATES:
        return None
    if float(np.ptp(found.difference)) <= terms.rounding:
        return None
    return crossed_mean(found.difference, found.year, found.place)


def fields_not_tried(on: Ground, answer: Answer, crossed: CrossedMean | None, terms: Terms) -> FieldsNotTried:
    """What to expect of fields not tried yet; on, answer : of years to come."""
    if crossed is not None:
        return _from_crossed(crossed, terms)
    found = on.found
    if found.do_places_come_back:
        return _too_few(_reason(found))
    if answer.finding is Finding.TOO_FEW or answer.estimate is None:
        return _too_few(answer.reason)
    reach = prediction_reach(on, answer, terms)
    rest = answer.field_sd
    if found.count == found.years:
        rest = float(found.difference.std(ddof=1))
    return FieldsNotTried(
        method=f"{answer.method}; no place comes back",
        estimate=answer.estimate,
        std_error=answer.std_error,
        df=answer.df,
        low=answer.low,
        high=answer.high,
        prediction_low=answer.estimate - reach,
        prediction_high=answer.estimate + reach,
        year_sd=answer.year_sd,
        rest_sd=rest,
    )


def shrunken_means(pairs: Pairs, on: Ground, answer: Answer, crossed: CrossedMean | None) -> ShrunkenMeans:
    """Years, and where they come back places, drawn towards the average; on, answer : of years to come.

    Places are passed over beyond MOST_LISTED field-years.
    """
    found, sums = on.found, on.sums
    if sums is None:
        return ShrunkenMeans()
    years = [str(year) for year in found.crop_years]
    if crossed is not None:
        own_years = _named(crossed.shrunken_years, years)
        if found.count > MOST_LISTED or not crossed.shrunken_places:
            return ShrunkenMeans(years=own_years)
        names = place_names(pairs, found)
        first = np.unique(found.place, return_index=True)[1].tolist()
        return ShrunkenMeans(years=own_years, places=_named(crossed.shrunken_places, [names[row] for row in first]))
    if answer.finding is Finding.TOO_FEW or answer.year_sd is None or answer.estimate is None:
        return ShrunkenMeans()
    errors = sums.within_variance / sums.counts
    total = answer.year_sd**2 + errors
    share = np.divide(answer.year_sd**2, total, out=np.ones_like(total), where=total > 0)
    drawn = answer.estimate + share * (sums.means - answer.estimate)
    rows = zip(years, sums.counts.tolist(), sums.means.tolist(), drawn.tolist(), strict=True)
    return ShrunkenMeans(
        years=tuple(
            Shrunken(name=name, field_years=int(count), raw=raw, shrunken=value) for name, count, raw, value in rows
        )
    )


def _named(values: tuple[Shrunken, ...], names: list[str]) -> tuple[Shrunken, ...]:
    """With the names that the whole numbers stand for."""
    return tuple(replace(value, name=names[int(value.name)]) for value in values)


def _from_crossed(crossed: CrossedMean, terms: Terms) -> FieldsNotTried:
    critical = float(scipy.special.stdtrit(crossed.df, (1 + terms.level) / 2))
    return FieldsNotTried(
        method=f"years crossed with places (REML, {crossed.method})",
        estimate=crossed.estimate,
        std_error=crossed.std_error,
        df=crossed.df,
        low=crossed.estimate - critical * crossed.std_error,
        high=crossed.estimate + critical * crossed.std_error,
        prediction_low=crossed.estimate - critical * crossed.prediction_sd,
        prediction_high=crossed.estimate + critical * crossed.prediction_sd,
        year_sd=crossed.year_sd,
        place_sd=crossed.place_sd,
        rest_sd=crossed.rest_sd,
    )


def _too_few(reason: str | None) -> FieldsNotTried:
    return FieldsNotTried(finding=Finding.TOO_FEW, reason=reason, method="none")


def _reason(found: FieldYears) -> str:
    if found.places < FEWEST_REPLICATES:
        only = ONLY[bool(np.isin(found.kind, SEVERAL_FIELDS).any())][found.places - 1]
        return f"Only {only} tried; at least {FEWEST_REPLICATES} are needed to speak of others."
    if found.years < FEWEST_REPLICATES:
        return f"There are {found.years} years; at least {FEWEST_REPLICATES} are needed."
    return NO_SPREAD

"""Fields not tried yet, where places come back: the mean over places and years, each of which counts as one draw."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.levels import levels
from analytics.statistics.reml import Fit, of_fixed_effects, reml
from analytics.statistics.variance_components import Codes, Floats, sums_of_field_years

MOST_PLACES = 10_000  # told one by one; nobody reads so many


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrunken:
    """One year, place or farm: its own mean, and that mean drawn towards all others as far as its records are few."""

    name: str | int
    field_years: int
    raw: float
    shrunken: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedMean:
    """Mean of d = mean + year + place + rest, in the unit of d.

    year_sd : None where every field-year has a year of its own; what years differ by is then in rest_sd
    prediction_sd : of one field-year on a place and in a year not seen yet, about the estimate
    method : "Kenward-Roger", or "Satterthwaite" above 3,000 field-years; std_error and df are those
    shrunken_years, shrunken_places : sorted by name; no years where year_sd is None, no places beyond MOST_PLACES
    """

    estimate: float
    std_error: float
    df: float
    year_sd: float | None
    place_sd: float
    rest_sd: float
    prediction_sd: float
    method: str
    shrunken_years: tuple[Shrunken, ...]
    shrunken_places: tuple[Shrunken, ...]


def crossed_mean(differences: ArrayLike, year: ArrayLike, place: ArrayLike) -> CrossedMean:
    """The mean over places and years still to come, d ~ 1 + (1|year) + (1|place) by REML.

    differences, year, place : shape (N,), standing minus windrowed, one for each place of a year
    Places and years are both drawn from many. A variance estimated as zero stays in the model and in the degrees of
    freedom. Raises ValueError unless there are two places or more and at least one of them comes back, and unless the
    differences are numbers that differ.
    Source: M. G. Kenward and J. H. Roger (1997) Biometrics 53:983-997, as R's lme4 and pbkrtest compute it.
    """
    values = np.asarray(differences, dtype=np.float64)
    years, year_code = levels(year)
    places, place_code = levels(place)
    if places.size < 2 or places.size == values.size:
        raise ValueError(f"{values.size} field-years on {places.size} places: it takes 2 places, one of them twice")
    apart = years.size < values.size
    effects = ("rest", "place", "year") if apart else ("rest", "place")
    shared = year_code if apart else np.zeros_like(year_code)
    fit = reml(sums_of_field_years(values, effects=effects, year=shared, place=place_code))
    mean = of_fixed_effects(fit, [1.0])
    sds = fit.sds()
    year_effect, place_effect = _effects(fit, values, shared, place_code)
    return CrossedMean(
        estimate=mean.estimate,
        std_error=mean.std_error,
        df=mean.df,
        year_sd=sds.get("year"),
        place_sd=sds["place"],
        rest_sd=sds["rest"],
        prediction_sd=float(np.sqrt(mean.std_error**2 + sum(sd**2 for sd in sds.values()))),
        method=mean.method,
        shrunken_years=shrunken(years, year_code, values, mean.estimate + year_effect) if apart else (),
        shrunken_places=shrunken(places, place_code, values, mean.estimate + place_effect)
        if places.size <= MOST_PLACES
        else (),
    )


def shrunken(names: np.ndarray, code: Codes, values: Floats, drawn: Floats) -> tuple[Shrunken, ...]:
    """Each level's count and raw mean beside its shrunken value, `drawn`, shape (levels,)."""
    counts = np.bincount(code)
    raw = np.bincount(code, weights=values) / counts
    rows = zip(names.tolist(), counts.tolist(), raw.tolist(), drawn.tolist(), strict=True)
    return tuple(Shrunken(name=name, field_years=count, raw=own, shrunken=value) for name, count, own, value in rows)


def _effects(fit: Fit, values: Floats, year: Codes, place: Codes) -> tuple[Floats, Floats]:
    """Best linear unbiased predictions of years and places: years first, places from what the years leave."""
    by_year = fit.year_effects()
    left = values - fit.rows.centre - fit.rows.unit * float(fit.beta[0]) - by_year[year]
    variance = dict(zip(fit.rows.effects, fit.variances.tolist(), strict=True))
    counts = np.bincount(place)
    weight = variance["place"] / (variance["rest"] + counts * variance["place"])
    return by_year, weight * np.bincount(place, weights=left)

"""Farms crossed with years: what a growers' group can say of its own farms in years to come, and of another farm.

Farms of one region share the weather of a year, so a year counts once however many farms it had, and so does a farm
however many years.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.crossed import Shrunken, shrunken
from analytics.statistics.levels import levels
from analytics.statistics.reml import Fit, of_fixed_effects, reml
from analytics.statistics.variance_components import Codes, Floats, sums_of_field_years

# Where farms or years come out alike, nothing judges how far they may differ: the approximation falls below one degree
# of freedom, and ranges are a hundred times the data. Two is as wide as a range of three values, the fewest farms and
# years that a group takes; our choice, no source. tests/calibration/pool.md was made with it.
LEAST_DF = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledMean:
    """The mean over farms and years, d ~ 1 + (1|farm) + (1|year) + (1|farm:year) + (1|farm:place), in the unit of d.

    std_error, df : of the mean over all farms and years of the kind; method: "Kenward-Roger" or "Satterthwaite"
    these_farms_std_error, these_farms_df : of the mean over the farms on record, in years to come; same estimate
    farm_sd ... rest_sd : None where the records cannot tell the effect from another, which then holds it
    another_farm_sd, another_farm_df : of another farm's own mean over years, about the estimate
    prediction_sd : of one field-year on another farm in another year, about the estimate; its range is with df
    farms : sorted by name, each with its raw and its shrunken mean
    """

    estimate: float
    std_error: float
    df: float
    method: str
    these_farms_std_error: float
    these_farms_df: float
    farm_sd: float | None
    year_sd: float | None
    farm_year_sd: float | None
    place_sd: float | None
    rest_sd: float
    another_farm_sd: float
    another_farm_df: float
    prediction_sd: float
    farms: tuple[Shrunken, ...]


def pooled_mean(
    differences: ArrayLike,
    farm: ArrayLike,
    year: ArrayLike,
    place: ArrayLike | None = None,
    *,
    names: Sequence[str] | None = None,
) -> PooledMean:
    """What the field-years of several farms say together, by REML.

    differences, farm, year, place : shape (N,), one for each place of a farm and year; places are named within a farm
    names : of the farms, where `farm` are numbers pointing into them
    Cost grows with the field-years for the sums, then with farms x years^3. Raises ValueError unless there are two
    farms and two years or more, and unless the differences are numbers that differ.
    Source: M. G. Kenward and J. H. Roger (1997) Biometrics 53:983-997, as R's lme4, pbkrtest and lmerTest compute it.
    """
    values = np.asarray(differences, dtype=np.float64)
    farms, farm_code = levels(farm)
    years, year_code = levels(year)
    if farms.size < 2 or years.size < 2:
        raise ValueError(f"{farms.size} farms and {years.size} years: it takes 2 of each")
    place_code = None if place is None else _within(farm_code, levels(place)[1])
    effects = _effects(farm_code, year_code, place_code)
    fit = reml(sums_of_field_years(values, effects=effects, year=year_code, farm=farm_code, place=place_code))
    own = np.array([1 / farms.size if effect == "farm" else 0.0 for effect in effects])
    everywhere, here = of_fixed_effects(fit, [1.0]), of_fixed_effects(fit, [1.0], known=own)
    another = of_fixed_effects(fit, [1.0], known=-farms.size * own)
    sds = fit.sds()
    return PooledMean(
        estimate=everywhere.estimate,
        std_error=everywhere.std_error,
        df=everywhere.df,
        method=everywhere.method,
        these_farms_std_error=here.std_error,
        these_farms_df=max(here.df, LEAST_DF),
        farm_sd=sds.get("farm"),
        year_sd=sds.get("year"),
        farm_year_sd=sds.get("farm_year"),
        place_sd=sds.get("place"),
        rest_sd=sds["rest"],
        another_farm_sd=another.std_error,
        another_farm_df=max(another.df, LEAST_DF),
        prediction_sd=float(np.sqrt(everywhere.std_error**2 + sum(sd**2 for sd in sds.values()))),
        farms=shrunken(
            farms if names is None else np.array(names)[farms],
            farm_code,
            values,
            everywhere.estimate + _farm_effects(fit),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledContrast:
    """Mean d of field-years without something, with it, and with less without, in the unit of d."""

    without: float
    with_: float
    difference: float
    std_error: float
    df: float


def pooled_contrast(differences: ArrayLike, farm: ArrayLike, year: ArrayLike, x: ArrayLike) -> PooledContrast:
    """Whether d differs with x, d ~ x + (1|farm) + (1|year) + (1|farm:year): farms and years as in pooled_mean.

    differences, farm, year, x : shape (N,), x true or false and not the same in all
    Raises ValueError as pooled_mean does.
    """
    values, group = np.asarray(differences, dtype=np.float64), np.asarray(x, dtype=np.float64)
    farm_code, year_code = levels(farm)[1], levels(year)[1]
    effects = _effects(farm_code, year_code, None)
    fit = reml(sums_of_field_years(values, effects=effects, year=year_code, farm=farm_code, covariates=group[:, None]))
    without, slope = of_fixed_effects(fit, [1.0, 0.0]), of_fixed_effects(fit, [0.0, 1.0])
    return PooledContrast(
        without=without.estimate,
        with_=without.estimate + slope.estimate,
        difference=slope.estimate,
        std_error=slope.std_error,
        df=slope.df,
    )


def _within(farm: Codes, place: Codes) -> Codes:
    """Places of their own for each farm: equal names on two farms are two places."""
    return levels(farm * (int(place.max()) + 1) + place)[1]


def _effects(farm: Codes, year: Codes, place: Codes | None) -> tuple[str, ...]:
    """The effects that the records can tell apart; the rest always, the others where something comes back."""
    rows, farms, years = farm.size, int(farm.max()) + 1, int(year.max()) + 1
    cells = levels(farm * years + year)[0].size
    told = {
        "rest": True,
        "place": place is not None and farms < int(place.max()) + 1 < rows,
        "farm_year": farms < cells < rows,
        "farm": farms < rows,
        "year": True,
    }
    return tuple(effect for effect, apart in told.items() if apart)


def _farm_effects(fit: Fit) -> Floats:
    """Best linear unbiased predictions of the farms, in the unit of the differences: what years leave to each."""
    rows, value = fit.rows, dict(zip(fit.rows.effects, fit.variances.tolist(), strict=True))
    left = rows.columns() @ np.append(-fit.beta, 1.0) - fit.in_years()
    told = np.concatenate([rows.of_farms(farms, value).inverse @ left for farms in rows.farms_at_once()])
    effects: Floats = value.get("farm", 0.0) * told[:, : rows.years].sum(1) * rows.unit
    return effects

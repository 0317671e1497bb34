"""Farms whose truth is known: how often each range holds it, and how often a finding is false.

Everything is in units of the spread between field-years of one year (standard deviation 1). The difference of a
field-year is truth + year + place + rest; its strips and loads are in the rest. The formulas are those of
analytics.statistics, which work on ten thousand farms at once; test_calibration.py holds that they are those of
compare, farm by farm.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import special

from analytics.statistics.estimates import Estimated, YearSums, ranges, these_fields, years_are_blocks, years_to_come
from analytics.statistics.random_effects import RandomEffects, is_even

Floats = NDArray[np.float64]

MARGIN = 1.0  # the difference that matters: as large as the spread between fields
ROUNDING = 1e-12
WIND_SHARE, WIND_YEAR, OTHER_YEAR = 1 / 8, -8.0, 1.5  # one bad wind year in eight; the mean over years is 0.3125


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One kind of farm.

    field_years : field-years in each year
    year_sd : spread between years; years : "normal", "skewed" (exponential) or "wind" (one bad year in eight)
    rest : "normal", "t3", "skewed" (exponential), or "alike" (neighbouring fields of a year correlated `alike`)
    spread : standard deviation of field-years in each year, in turn
    rounding : step to which differences are rounded; 0 for none
    places : "new" every year, the "same" every year, or in "rotation" every third year; place_sd : spread between them
    bias : what is added to every difference and is no part of the truth
    """

    field_years: tuple[int, ...]
    year_sd: float = 0.0
    years: str = "normal"
    rest: str = "normal"
    alike: float = 0.0
    spread: tuple[float, ...] = (1.0,)
    rounding: float = 0.0
    places: str = "new"
    place_sd: float = 0.0
    bias: float = 0.0

    @property
    def year_of(self) -> NDArray[np.int64]:
        """The year of each field-year, shape (field_years,)."""
        return np.repeat(np.arange(len(self.field_years)), self.field_years)

    @property
    def place_of(self) -> NDArray[np.int64]:
        """The place of each field-year: new, the same in every year, or back in every third year."""
        within = np.concatenate([np.arange(count) for count in self.field_years])
        if self.places == "same":
            return within
        if self.places == "rotation":
            return (self.year_of % 3) * max(self.field_years) + within
        return np.arange(within.size)


@dataclass(frozen=True, kw_only=True)
class Farms:
    """All farms of a cell, the truth over years and places still to come at 0; each estimate is worked out once.

    differences : shape (farms, field_years)
    years, places : their effects, shape (farms, years) and (farms, places)
    """

    cell: Cell
    differences: Floats
    years: Floats
    places: Floats = field(repr=False)

    @cached_property
    def sums(self) -> YearSums:
        """Field-years by year, as the statistics take them."""
        counts = np.array(self.cell.field_years, dtype=np.float64)
        starts = np.concatenate(([0], np.cumsum(self.cell.field_years)[:-1]))
        means = np.add.reduceat(self.differences, starts, axis=1) / counts
        apart = self.differences - np.repeat(means, self.cell.field_years, axis=1)
        return YearSums(counts=np.broadcast_to(counts, means.shape), means=means, squares=np.square(apart).sum(1))

    @cached_property
    def narrow(self) -> Estimated:
        """For these fields."""
        return these_fields(self.sums, blocks=bool(years_are_blocks(self.sums)[0]))

    @cached_property
    def broad(self) -> RandomEffects:
        """For years to come."""
        return years_to_come(self.sums, weighted=is_even(self.sums.counts[0]))

    @property
    def truth_here(self) -> Floats:
        """The mean of these fields in the years on record, shape (farms,), weighted as the estimate is."""
        cell = self.cell
        return (self.years[:, cell.year_of] + self.places[:, cell.place_of]).mean(1)

    @property
    def truth_ahead(self) -> Floats:
        """The mean of these same fields over years to come, shape (farms,); 0 where no field comes back."""
        if self.cell.places == "new":
            return np.zeros(self.years.shape[0])
        return self.places[:, self.cell.place_of].mean(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What is said of each farm: the range at a level, and whether equivalence and a difference would be said."""

    low: Floats
    high: Floats
    equivalence_p: Floats

    def covers(self, truth: Floats | float) -> float:
        """Per cent of farms whose range holds the truth; farms without a range are passed over."""
        known = ~np.isnan(self.low)
        return 100 * float(np.mean(((self.low <= truth) & (truth <= self.high))[known]))

    def above(self, truth: Floats | float) -> float:
        """Per cent of farms whose range lies wholly above the truth."""
        return 100 * float(np.mean(self.low > truth))


def simulate(cell: Cell, farms: int, random: np.random.Generator) -> Farms:
    """Farms of one kind."""
    years = _years(cell, farms, random)
    places = random.normal(0.0, 1.0, (farms, int(cell.place_of.max()) + 1)) * cell.place_sd
    spread = np.array([cell.spread[year % len(cell.spread)] for year in cell.year_of])
    rest = _rest(cell, farms, random) * spread
    differences = years[:, cell.year_of] + places[:, cell.place_of] + rest + cell.bias
    if cell.rounding:
        differences = np.round(differences / cell.rounding) * cell.rounding
    return Farms(cell=cell, differences=differences, years=years, places=places)


def _years(cell: Cell, farms: int, random: np.random.Generator) -> Floats:
    shape = (farms, len(cell.field_years))
    if cell.years == "wind":
        bad = random.random(shape) < WIND_SHARE
        mean = WIND_SHARE * WIND_YEAR + (1 - WIND_SHARE) * OTHER_YEAR
        return np.where(bad, WIND_YEAR, OTHER_YEAR) - mean + random.normal(0.0, 1.0, shape) * cell.year_sd
    if cell.years == "skewed":
        return (random.exponential(1.0, shape) - 1) * cell.year_sd
    return random.normal(0.0, 1.0, shape) * cell.year_sd


def _rest(cell: Cell, farms: int, random: np.random.Generator) -> Floats:
    shape = (farms, sum(cell.field_years))
    if cell.rest == "t3":
        return random.standard_t(3, shape) / np.sqrt(3)
    if cell.rest == "skewed":
        return random.exponential(1.0, shape) - 1
    rest = random.normal(0.0, 1.0, shape)
    if cell.rest == "alike":  # each field like the one before it, within a year
        for place in range(1, shape[1]):
            if cell.year_of[place] == cell.year_of[place - 1]:
                rest[:, place] = cell.alike * rest[:, place - 1] + np.sqrt(1 - cell.alike**2) * rest[:, place]
    return rest


def answered_here(farms: Farms, *, level: float = 0.95, shift: float = 0.0) -> Answered | None:
    """These fields; None with fewer than three field-years. shift moves every truth."""
    if farms.differences.shape[1] < 3:
        return None
    return _answered(farms.narrow.estimate + shift, farms.narrow, level=level)


def answered_ahead(farms: Farms, *, level: float = 0.95, shift: float = 0.0, held: bool = True) -> Answered:
    """Years to come; held: never narrower than for these fields, as compare does."""
    spreads = (farms.broad, farms.narrow) if held else (farms.broad,)
    return _answered(farms.broad.estimate + shift, *spreads, level=level)


def plain_over_all(farms: Farms, *, level: float = 0.95) -> Answered:
    """A paired t over all field-years as if they were independent."""
    values = farms.differences
    error = values.std(1, ddof=1) / np.sqrt(values.shape[1])
    reach = special.stdtrit(values.shape[1] - 1, (1 + level) / 2) * error
    return Answered(low=values.mean(1) - reach, high=values.mean(1) + reach, equivalence_p=np.ones(values.shape[0]))


def _answered(estimate: Floats, *spreads: Estimated | RandomEffects, level: float) -> Answered:
    found = ranges(estimate, *spreads, level=level, margin=MARGIN, rounding=ROUNDING)
    return Answered(low=found.low, high=found.high, equivalence_p=found.equivalence_p)

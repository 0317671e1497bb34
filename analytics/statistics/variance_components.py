"""The likelihood of random intercepts: places within farms, farms crossed with years.

The difference of a field-year is  mean + covariates + year + farm + farm:year + place + rest,  all after the covariates
drawn from normal distributions of their own. Its covariance matrix V has a row for every field-year and is never made:
rows enter through sums per farm, so a million field-years cost what their farms and years cost. V begins with rest and
place, whose inverse is known, and the other effects are added to it by the Woodbury identity, farm by farm, then the
years. Along the way everything is kept that restricted maximum likelihood, Kenward and Roger, and Satterthwaite ask of
V. Source of what they ask: M. G. Kenward and J. H. Roger (1997) Biometrics 53:983-997.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Codes = NDArray[np.intp]

WITHIN_FARMS = ("rest", "place")
OF_A_FARM = ("farm_year", "farm")
EFFECTS = (*WITHIN_FARMS, *OF_A_FARM, "year")  # the order of every result
LEAST_SPREAD = 1e-3  # variance of some farms' field-years beside that of all, below which they tell nothing
AT_ONCE = 200_000  # numbers in one stack of matrices: many farms with many years stay small in memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """What is asked of V = sum of variance x G over m effects; Z are w columns, G belongs to an effect.

    inverse : Z' V^-1 Z, shape (farms, w, w), one farm where all are summed
    once : Z' V^-1 G V^-1 Z, shape (m, farms, w, w)
    twice : Z' V^-1 G V^-1 G V^-1 Z for each two effects, shape (m, m, farms, w, w)
    traces, squares : traces of V^-1 G, shape (m,), and of V^-1 G V^-1 G, shape (m, m), over all farms
    log_det : of V
    """

    inverse: Floats
    once: Floats
    twice: Floats
    traces: Floats
    squares: Floats
    log_det: float

    def with_effects(self, shared: Floats, variances: Floats) -> "Sums":
        """The same once effects are added that rows share by year: G = Z shared Z', shape (effects, w, w)."""
        weight = np.einsum("e,eij->ij", variances, shared)
        factor = np.eye(weight.shape[0]) + self.inverse @ weight
        left = np.linalg.inv(factor)
        inverse = left @ self.inverse
        inverse = (inverse + inverse.swapaxes(-1, -2)) / 2
        log_det = self.log_det + float(np.linalg.slogdet(factor)[1].sum())
        if not self.once.size:
            return replace(self, inverse=inverse, log_det=log_det)
        right, taken, shared = left.swapaxes(-1, -2), weight @ left, shared[:, None]
        before = taken @ self.once
        old = left @ self.once @ right
        old_twice = left @ (self.twice - self.once[:, None] @ before[None]) @ right
        old_squares = self.squares - 2 * _traces(taken, self.twice) + _traces(before[:, None], before[None])
        halfway = inverse @ shared
        new = halfway @ inverse
        mixed = halfway[:, None] @ old[None]
        mixed_squares = _traces(shared[:, None], old[None])
        return Sums(
            inverse=inverse,
            once=np.concatenate([old, new]),
            twice=np.concatenate(
                [
                    np.concatenate([old_twice, mixed.swapaxes(0, 1).swapaxes(-1, -2)], axis=1),
                    np.concatenate([mixed, halfway[:, None] @ new[None]], axis=1),
                ]
            ),
            traces=np.concatenate([self.traces - _traces(taken, self.once), _traces(shared, inverse)]),
            squares=np.block(
                [[old_squares, mixed_squares.T], [mixed_squares, _traces(halfway[:, None], halfway[None])]]
            ),
            log_det=log_det,
        )


def _traces(left: Floats, right: Floats) -> Floats:
    """Of the product of the last two axes, summed over the farms."""
    return np.asarray(np.einsum("...ij,...ji->...", left, right).sum(-1))


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldYearSums:
    """The sums of a comparison's field-years; `field_years` makes them of the rows.

    effects : those in the model, some of EFFECTS in its order
    rows, years, covariates : how many
    centre, unit : the differences stand in the sums as (difference - centre) / unit, so that no size or offset matters
    products : Z'Z of each farm, shape (farms, w, w); columns Z: one for each year, the covariates, the differences
    sizes, places : how many field-years a place can have, shape (sizes,), and how many places have as many, shape
        (sizes, farms)
    repeats : the sum of z z' over the places of a size and farm, z the sum of a place's rows, (sizes, farms, w, w)
    """

    effects: tuple[str, ...]
    rows: int
    years: int
    covariates: int
    centre: float
    unit: float
    products: Floats
    sizes: Floats
    places: Floats
    repeats: Floats

    def columns(self) -> Floats:
        """The mean, the covariates and the differences as sums of the columns Z, shape (w, covariates + 2)."""
        result = np.zeros((self.products.shape[-1], self.covariates + 2))
        result[: self.years, 0] = 1.0
        result[self.years :, 1:] = np.eye(self.covariates + 1)
        return result

    def rest_df(self) -> int:
        """Field-years more than places, years and farm:years could fit exactly: what the rest is judged from alone."""
        apart = self.products - np.tensordot(1 / self.sizes, self.repeats, 1)
        ranks = np.linalg.matrix_rank(apart[:, : self.years, : self.years], tol=1e-9, hermitian=True)
        return self.rows - int(self.places.sum()) - int(ranks.sum())

    def few_farms(self, most: int) -> "FieldYearSums":
        """Up to about so many farms, taken evenly; all of them where they are few, or where those taken are alike."""
        chosen = slice(None, None, max(self.products.shape[0] // most, 1))
        products = self.products[chosen]
        total = products.sum(0)
        rows = float(np.trace(total[: self.years, : self.years]))
        spread = total[-1, -1] - np.square(total[: self.years, -1].sum()) / rows
        if not spread > LEAST_SPREAD * rows:
            return self
        return replace(
            self, rows=round(rows), products=products, places=self.places[:, chosen], repeats=self.repeats[:, chosen]
        )

    def sums(self, variances: Floats, *, derive: bool = True) -> Sums:
        """All sums at these variances, shape (effects,), rest above 0; without `derive` only inverse and log_det."""
        value = dict(zip(self.effects, variances.tolist(), strict=True))
        within = [name for name in WITHIN_FARMS if name in value] if derive else []
        apart = self.rows - self.places.sum()
        total = None
        for farms in self.farms_at_once():
            sums = self.of_farms(farms, value, derive=derive)
            parts = {name: getattr(sums, name).sum(-3, keepdims=True) for name in ("inverse", "once", "twice")}
            if total is None:
                total = replace(sums, **parts)
                continue
            parts = {name: part + getattr(total, name) for name, part in parts.items()}
            total = Sums(
                **parts,
                traces=total.traces + sums.traces,
                squares=total.squares + sums.squares,
                log_det=total.log_det + sums.log_det,
            )
        assert total is not None
        off, on = self._powers(value, 1, ())
        traces, squares = total.traces.copy(), total.squares.copy()
        for row, one in enumerate(within):
            traces[row] += self._trace(value, (one,))
            for column, other in enumerate(within):
                squares[row, column] += self._trace(value, (one, other))
        log_det = total.log_det - float(apart * np.log(off) + self.places.sum(1) @ np.log(on))
        total = replace(total, traces=traces, squares=squares, log_det=log_det)
        if "year" in value:
            total = total.with_effects(self._shared("year")[None], np.array([value["year"]]))
        return total

    def farms_at_once(self) -> Iterator[slice]:
        """Farms in stacks that fit in memory."""
        chunk = max(AT_ONCE // self.products[0].size, 1)
        for start in range(0, self.products.shape[0], chunk):
            yield slice(start, start + chunk)

    def of_farms(self, farms: slice, value: dict[str, float], *, derive: bool = False) -> Sums:
        """Each farm by itself, before the years' effects; traces and log_det without the part of rest and place."""
        within = [name for name in WITHIN_FARMS if name in value] if derive else []
        count = len(within)
        between = [(), *((one,) for one in within), *((one, other) for one in within for other in within)]
        found = self._matrices(farms, value, between)
        sums = Sums(
            inverse=found[0],
            once=found[1 : 1 + count],
            twice=found[1 + count :].reshape(count, count, *found[0].shape),
            traces=np.zeros(count),
            squares=np.zeros((count, count)),
            log_det=0.0,
        )
        added = [name for name in OF_A_FARM if name in value]
        if not added:
            return sums
        return sums.with_effects(
            np.array([self._shared(name) for name in added]), np.array([value[name] for name in added])
        )

    def _shared(self, effect: str) -> Floats:
        """Which years share the effect, shape (w, w): all of a farm, or each year its own."""
        result = np.zeros(self.products.shape[1:])
        result[: self.years, : self.years] = 1.0 if effect == "farm" else np.eye(self.years)
        return result

    def _powers(self, value: dict[str, float], power: int, effects: tuple[str, ...]) -> tuple[float, Floats]:
        """Eigenvalues of V^-power G ..., V of rest and place alone: off the places' means, and on them, by size."""
        off = value["rest"] ** -power
        on = (value["rest"] + self.sizes * value.get("place", 0.0)) ** -power
        for effect in effects:
            off, on = (off, on) if effect == "rest" else (0.0, on * self.sizes)
        return off, on

    def _matrices(self, farms: slice, value: dict[str, float], between: list[tuple[str, ...]]) -> Floats:
        """Z' V^-1 G V^-1 ... Z, V of rest and place alone, for the G of each, shape (each, farms, w, w)."""
        powers = [self._powers(value, len(effects) + 1, effects) for effects in between]
        off, on = np.array([one for one, _ in powers]), np.array([one for _, one in powers])
        extra = np.tensordot((on - off[:, None]) / self.sizes, self.repeats[:, farms], 1)
        return np.asarray(off[:, None, None, None] * self.products[farms] + extra)

    def _trace(self, value: dict[str, float], effects: tuple[str, ...]) -> float:
        off, on = self._powers(value, len(effects), effects)
        return float((self.rows - self.places.sum()) * off + self.places.sum(1) @ on)


def sums_of_field_years(
    differences: Floats,
    *,
    effects: tuple[str, ...],
    year: Codes,
    farm: Codes | None = None,
    place: Codes | None = None,
    covariates: Floats | None = None,
) -> FieldYearSums:
    """The sums of N field-years.

    differences, year, farm, place : shape (N,); codes 0, 1, 2, ... each used; all of one farm if None
    effects : of EFFECTS, in its order, rest always; place needs `place`
    covariates : shape (N, covariates), none of them constant
    Raises ValueError when all differences are the same: there is no spread to share out.
    """
    rows, years = differences.size, int(year.max()) + 1
    centre = float(differences.mean())
    unit = float(differences.std())
    if not unit > 1e-12 * abs(centre):  # false for nan as well
        raise ValueError(f"{rows} differences with standard deviation {unit}: they must be numbers that differ")
    scaled = (differences - centre) / unit
    extra = np.column_stack([scaled] if covariates is None else [covariates, scaled])
    owner = np.zeros(rows, dtype=np.intp) if farm is None else farm
    farms, width = int(owner.max()) + 1, years + extra.shape[1]
    products = np.zeros((farms, width, width))
    everywhere = np.arange(years)
    products[:, everywhere, everywhere] = _totals(owner * years + year, None, farms * years).reshape(farms, years)
    for one in range(years, width):
        by_year = _totals(owner * years + year, extra[:, one - years], farms * years).reshape(farms, years)
        products[:, :years, one] = products[:, one, :years] = by_year
        for other in range(years, width):
            products[:, one, other] = _totals(owner, extra[:, one - years] * extra[:, other - years], farms)
    sizes, places, repeats = np.zeros(0), np.zeros((0, farms)), np.zeros((0, farms, width, width))
    if "place" in effects and place is not None:
        sizes, places, repeats = _repeats(extra, year=year, farm=owner, place=place, width=width)
    return FieldYearSums(
        effects=effects,
        rows=rows,
        years=years,
        covariates=extra.shape[1] - 1,
        centre=centre,
        unit=unit,
        products=products,
        sizes=sizes,
        places=places,
        repeats=repeats,
    )


def _repeats(extra: Floats, *, year: Codes, farm: Codes, place: Codes, width: int) -> tuple[Floats, Floats, Floats]:
    count, farms, years = int(place.max()) + 1, int(farm.max()) + 1, width - extra.shape[1]
    total = np.zeros((count, width))
    np.add.at(total, (place, year), 1.0)
    for column, values in enumerate(extra.T):
        total[:, years + column] = _totals(place, values, count)
    owner = np.zeros(count, dtype=np.intp)
    owner[place] = farm
    sizes, kind = np.unique(total[:, :years].sum(1), return_inverse=True)
    repeats = np.zeros((sizes.size, farms, width, width))
    for one in range(width):
        for other in range(one, width):
            added = _totals(kind * farms + owner, total[:, one] * total[:, other], sizes.size * farms)
            repeats[:, :, one, other] = repeats[:, :, other, one] = added.reshape(sizes.size, farms)
    return sizes, _totals(kind * farms + owner, None, sizes.size * farms).reshape(sizes.size, farms), repeats


def _totals(group: Codes, values: Floats | None, groups: int) -> Floats:
    return np.bincount(group, weights=values, minlength=groups).astype(np.float64)

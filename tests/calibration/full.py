"""The full run: python -m tests.calibration.full [-o FILE.md] [--farms 10000] [--seed 20261127]

Ten thousand farms of every kind, one process, in some minutes; writes the tables in Markdown (README.md holds one such
run). A normal cell outside the target is run again with twenty times as many farms, and both figures are shown.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
from rich.console import Console
from rich.progress import track
from scipy import special

from analytics.statistics.crossed import crossed_mean
from tests.calibration.by_hand import run_by_hand
from tests.calibration.simulated import (
    MARGIN,
    Answered,
    Cell,
    Farms,
    answered_ahead,
    answered_here,
    plain_over_all,
    simulate,
)
from tests.calibration.tables import (
    AGAIN,
    looks_lines,
    mixed_table,
    normal_table,
    other_table,
    outside_target,
    returning_table,
)

YEARS = (2, 3, 4, 6, 8)
YEAR_SDS = (0.0, 0.5, 1.0, 2.0)
SHAPES = {
    **{f"{count} a year": (count,) for count in range(1, 7)},
    "1, 2, 3 in turn": (1, 2, 3),
    "2, 6 in turn": (2, 6),
    "1, 6 in turn": (1, 6),
    "1 to 6 in turn": (1, 2, 3, 4, 5, 6),
}
DESIGNS = ((3,) * 3, (2,) * 4, (2,) * 6, (3,) * 6, (1, 2, 3, 1, 2, 3), (2,) * 10)


def shaped(pattern: tuple[int, ...], years: int) -> tuple[int, ...]:
    return tuple(pattern[year % len(pattern)] for year in range(years))


def normal_cells() -> list[tuple[str, Cell]]:
    """Normal farms: every shape over every number of years, with four spreads between years."""
    shapes = [(name, shaped(pattern, years)) for years in YEARS for name, pattern in SHAPES.items()]
    shapes += [("6, then 1 a year", (6,) + (1,) * (years - 1)) for years in YEARS]
    return [(name, Cell(field_years=counts, year_sd=year_sd)) for (name, counts), year_sd in product(shapes, YEAR_SDS)]


def other_cells() -> list[tuple[str, tuple[Cell, ...]]]:
    """Farms that are not normal, or not independent, each kind over several designs."""
    plain = [Cell(field_years=counts, year_sd=year_sd) for counts, year_sd in product(DESIGNS, (0.0, 0.5, 2.0))]

    def with_all(**other: object) -> tuple[Cell, ...]:
        return tuple(replace(cell, **other) for cell in plain)

    def with_years(**other: object) -> tuple[Cell, ...]:
        return tuple(replace(cell, **other) for cell in plain if cell.year_sd)

    return [
        ("heavy tails (t with 3 df)", with_all(rest="t3")),
        ("skewed fields (exponential)", with_all(rest="skewed")),
        ("skewed years (exponential)", with_years(years="skewed")),
        ("one bad wind year in eight", with_years(years="wind", year_sd=0.5)),
        ("spread 1, 2, 3 by year", with_all(spread=(1.0, 2.0, 3.0))),
        ("fullest year quietest, a third", tuple(
            replace(Cell(field_years=(6, 2, 2, 2), year_sd=year_sd), spread=(1 / 3, 1.0, 1.0, 1.0))
            for year_sd in YEAR_SDS
        )),
        ("rounded to 0.4 of the field spread", with_all(rounding=0.4)),
        ("rounded to the field spread", with_all(rounding=1.0)),
        ("neighbours alike, 0.3", with_all(rest="alike", alike=0.3)),
        ("neighbours alike, 0.6", with_all(rest="alike", alike=0.6)),
        ("neighbours alike, 0.9", with_all(rest="alike", alike=0.9)),
    ]  # fmt: skip


def returning_cells() -> list[tuple[str, Cell]]:
    """Fields that come back; spread between fields 1, between years 0.5, the rest 0.7 or 1."""
    common = {"year_sd": 0.5, "place_sd": 1.0}
    return [
        ("the same 3 fields, 6 years", Cell(field_years=(3,) * 6, places="same", **common)),
        ("the same 4 fields, 6 years", Cell(field_years=(4,) * 6, places="same", **common)),
        ("rotation, 2 a year, 6 years", Cell(field_years=(2,) * 6, places="rotation", spread=(0.7,), **common)),
        ("rotation, 2 a year, 8 years", Cell(field_years=(2,) * 8, places="rotation", spread=(0.7,), **common)),
        ("rotation, 2 a year, 12 years", Cell(field_years=(2,) * 12, places="rotation", spread=(0.7,), **common)),
        ("rotation, no field effect, 6 years", Cell(
            field_years=(2,) * 6, places="rotation", year_sd=0.5, place_sd=0.0
        )),
    ]  # fmt: skip


# --- one cell


def normal_rates(cell: Cell, farms: int, random: np.random.Generator) -> dict[str, float | None]:
    """Rates of one normal cell, in per cent; None where the question has no answer there."""
    sample = simulate(cell, farms, random)
    found: dict[str, float | None] = {}
    for level in (0.95, 0.90):
        narrow, broad = answered_here(sample, level=level), answered_ahead(sample, level=level)
        name = f"{100 * level:.0f}"
        found[f"here_{name}"] = None if narrow is None else narrow.covers(sample.truth_here)
        found[f"ahead_{name}"] = broad.covers(0.0)
        found[f"alone_{name}"] = answered_ahead(sample, level=level, held=False).covers(0.0)
        found[f"plain_{name}"] = plain_over_all(sample, level=level).covers(0.0)
    found["ahead_same"] = _called_the_same(answered_ahead(sample, shift=MARGIN))
    found["narrower"] = _narrower(sample)
    return found


def _called_the_same(answered: Answered) -> float:
    """Per cent said to be within the margin when the truth is the margin itself."""
    return 100 * float(np.mean(answered.equivalence_p < 0.05))


def _narrower(sample: Farms) -> float | None:
    """Per cent of farms whose range for years to come is narrower than the one for these fields."""
    narrow, broad = answered_here(sample), answered_ahead(sample)
    if narrow is None:
        return None
    return 100 * float(np.mean((broad.high - broad.low) < (narrow.high - narrow.low) * (1 - 1e-9)))


def returning_rates(cell: Cell, farms: int, random: np.random.Generator) -> dict[str, float]:
    """How often the truth is held where fields come back; `new` is a new field in a new year."""
    sample = simulate(cell, farms, random)
    broad = answered_ahead(sample)
    held = {"crossed": 0, "new": 0}
    year_of, place_of = cell.year_of, cell.place_of
    new = random.normal(0.0, np.sqrt(cell.year_sd**2 + cell.place_sd**2 + cell.spread[0] ** 2), farms)
    for farm in range(farms):
        mean = crossed_mean(sample.differences[farm], year_of, place_of)
        reach = special.stdtrit(mean.df, 0.975)
        held["crossed"] += abs(mean.estimate) <= reach * mean.std_error
        held["new"] += abs(new[farm] - mean.estimate) <= reach * mean.prediction_sd
    return {
        "here": answered_here(sample).covers(sample.truth_here),
        "ahead_same_fields": broad.covers(sample.truth_ahead),
        "ahead_of_the_kind": broad.covers(0.0),
        **{name: 100 * count / farms for name, count in held.items()},
    }


def mixed_rates(farms: int, random: np.random.Generator) -> Iterator[tuple[str, float, float, float, float]]:
    """Fields cut both ways, and pairs of two fields that are off by `bias` and spread 2.4 times as much."""
    for years, bias in product((3, 6), (0.0, 1.0, 2.0, 5.0)):
        one = simulate(Cell(field_years=(2,) * years, year_sd=0.5), farms, random)
        two = Cell(field_years=(2,) * years, spread=(2.4,), bias=bias)
        other = simulate(two, farms, random)
        years_of_both = np.repeat(one.years, 2, axis=1)
        both = np.concatenate((one.differences, other.differences + years_of_both), axis=1)
        order = np.argsort(np.concatenate((one.cell.year_of, two.year_of)), kind="stable")
        everything = Farms(
            cell=Cell(field_years=(4,) * years, year_sd=0.5), differences=both[:, order], years=one.years,
            places=np.zeros((farms, 4 * years)),
        )  # fmt: skip
        answers = answered_here(one), answered_here(everything)
        yield (
            f"{years} years, bias {bias:g}",
            answers[0].covers(one.truth_here),
            answers[1].covers(everything.truth_here),
            answered_ahead(one).covers(0.0),
            answered_ahead(everything).covers(0.0),
        )


def looked_every_year(farms: int, random: np.random.Generator) -> dict[str, float]:
    """Per cent of farms without any difference that are told of one for years to come, by the tenth year."""
    cell = Cell(field_years=(2,) * 10, year_sd=0.5)
    sample = simulate(cell, farms, random)
    told = np.zeros(farms, dtype=bool)
    first = None
    for years in range(3, 11):
        part = Farms(
            cell=Cell(field_years=(2,) * years, year_sd=0.5),
            differences=sample.differences[:, : 2 * years],
            years=sample.years[:, :years],
            places=sample.places,
        )
        found = answered_ahead(part)
        told |= (found.low > 0) | (found.high < 0)
        first = told.mean() if first is None else first
    return {"at the first look": 100 * float(first), "at one look of eight": 100 * float(told.mean())}


# --- the tables


def run(farms: int, seed: int) -> str:
    """All cells, and the tables as Markdown."""
    cells = normal_cells()
    rows = []
    for number, (name, cell) in enumerate(_told(cells, "normal farms")):
        rates = normal_rates(cell, farms, np.random.default_rng([seed, number]))
        row: dict[str, object] = {"shape": name, "cell": cell} | rates
        if outside_target(row):
            again = [
                answered_ahead(simulate(cell, farms, np.random.default_rng([seed + more, number]))).covers(0.0)
                for more in range(1, AGAIN + 1)
            ]
            row["again"] = float(np.mean(again))
        rows.append(row)
    others = []
    for number, (name, kinds) in enumerate(_told(other_cells(), "other farms")):
        randoms = [np.random.default_rng([seed, 1, number, place]) for place in range(len(kinds))]
        rates = [_other_rates(cell, farms, random) for cell, random in zip(kinds, randoms, strict=True)]
        others.append((name, rates))
    returning = [
        (name, returning_rates(cell, farms, np.random.default_rng([seed, 2, number])))
        for number, (name, cell) in enumerate(_told(returning_cells(), "fields that come back"))
    ]
    mixed = list(mixed_rates(farms, np.random.default_rng([seed, 3])))
    looks = looked_every_year(farms, np.random.default_rng([seed, 4]))
    return "\n".join([*normal_table(rows, farms, seed), *other_table(others, DESIGNS), *returning_table(returning),
                      *mixed_table(mixed), *looks_lines(looks)]) + "\n"  # fmt: skip


def _told(things: list, what: str) -> Iterator:
    return track(things, description=what, console=Console(stderr=True))


def _other_rates(cell: Cell, farms: int, random: np.random.Generator) -> dict[str, float]:
    sample = simulate(cell, farms, random)
    broad = answered_ahead(sample)
    return {
        "here": answered_here(sample).covers(sample.truth_here),
        "ahead": broad.covers(0.0),
        "above": broad.above(0.0),
    }


if __name__ == "__main__":
    run_by_hand(__doc__, run, of="farms", many=10_000, seed=20_261_127)

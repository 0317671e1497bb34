"""How often a group's ranges hold: python -m tests.calibration.pool [-o FILE.md] [--groups 1000] [--seed 1]

Groups of farms whose truth is known, in units of the spread between field-years of one farm and year.
"""

import os
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from itertools import product

import numpy as np
from scipy import special

from analytics.pool.model import pooled_mean
from tests.calibration.by_hand import run_by_hand

FARM_YEAR_SD = 0.5
SHAPES = ((8, 4), (8, 8), (20, 4))
SPREADS = (0.0, 1.0, 2.5)
KINDS = {
    "two fields a year": (2, False),
    "one field a year": (1, False),
    "uneven": (0, False),
    "one farm with one year": (2, True),
}
QUESTIONS = ("these farms, years to come", "farms of the kind", "another farm", "a field of another farm")


def simulate(*, farms, years, fields, farm_sd, year_sd, random, short=False):
    """Rows of a group, the mean over its farms, another farm's mean, and a field-year there; the true mean is 0.

    fields : of each farm a year; 0: one to four, drawn, and half of the farm-years missing; short: farm 0 has year 0
    """
    farm, year = np.divmod(np.arange(farms * years), years)
    counts = (
        random.integers(1, 5, farm.size) * (random.random(farm.size) < 0.5)
        if fields == 0
        else np.full(farm.size, fields)
    )
    counts[farm == year] = np.maximum(counts[farm == year], 1)
    if short:
        counts[(farm == 0) & (year > 0)] = 0
    of_farm, of_year = farm_sd * random.normal(size=farms), year_sd * random.normal(size=years)
    cell = np.repeat(np.arange(farm.size), counts)
    of_cell = of_farm[farm] + of_year[year] + FARM_YEAR_SD * random.normal(size=farm.size)
    rows = of_cell[cell] + random.normal(size=cell.size), farm[cell], year[cell]
    other = farm_sd * random.normal()
    field = other + np.sqrt(year_sd**2 + FARM_YEAR_SD**2 + 1) * random.normal()
    present = np.unique(rows[1])
    return rows, of_farm[present].mean(), other, field


def covered(rows, these, other, field):
    """Whether the 95 % range of each question holds its truth."""
    got = pooled_mean(*rows)
    wide, near, other_wide = (special.stdtrit(df, 0.975) for df in (got.df, got.these_farms_df, got.another_farm_df))
    return (
        abs(got.estimate - these) <= near * got.these_farms_std_error,
        abs(got.estimate) <= wide * got.std_error,
        abs(got.estimate - other) <= other_wide * got.another_farm_sd,
        abs(got.estimate - field) <= wide * got.prediction_sd,
    )


def measured(job):
    (farms, years), (fields, short), farm_sd, year_sd, groups, seed, number = job
    random = np.random.default_rng([seed, number])
    shape = {"farms": farms, "years": years, "fields": fields, "farm_sd": farm_sd, "year_sd": year_sd, "short": short}
    held = [covered(*simulate(**shape, random=random)) for _ in range(groups)]
    return 100 * np.mean(held, axis=0)


def table(groups, seed):
    cells = list(product(SHAPES, KINDS, SPREADS, SPREADS))
    jobs = [
        (shape, KINDS[kind], *spreads, groups, seed, number) for number, (shape, kind, *spreads) in enumerate(cells)
    ]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        rates = np.array(list(pool.map(measured, jobs)))
    error = 100 * (0.95 * 0.05 / groups) ** 0.5
    lines = [
        "# How often a group's ranges are right",
        "",
        f"Run on {date.today():%Y-%m-%d}, seed {seed}, {groups:,} groups in each of {len(cells)} cells. Coverage of "
        "the 95 % range in per cent: the mean of the cells, and the lowest and highest of them; where it is 95, one "
        f"cell has a standard error of {error:.1f} and a mean of {len(SPREADS) ** 2} cells {error / len(SPREADS):.1f}. "
        "Spread between farms and between years: 0, 1 and 2.5 times that between field-years of one farm and year; "
        f"between a farm's years beyond the shared ones {FARM_YEAR_SD:g}. Uneven: one to four fields, half of the "
        "farm-years missing. The ranges of these farms and of another farm rest on two degrees of freedom at least.",
    ]
    for title, names, chosen in (
        ("farms x years | fields", list(product(SHAPES, KINDS)), slice(0, 2)),
        ("spread between farms | between years", list(product(SPREADS, SPREADS)), slice(2, 4)),
    ):
        lines += ["", f"| {title} | " + " | ".join(QUESTIONS) + " |", "| --- | --- |" + " --- |" * len(QUESTIONS)]
        for name in names:
            group = rates[[cell[chosen] == name for cell in cells]]
            told = [f"{column.mean():.1f} ({column.min():.1f} to {column.max():.1f})" for column in group.T]
            lines.append(f"| {_text(name[0])} | {_text(name[1])} | " + " | ".join(told) + " |")
    return "\n".join(lines) + "\n"


def _text(part):
    return f"{part[0]} x {part[1]}" if isinstance(part, tuple) else str(part)


if __name__ == "__main__":
    run_by_hand(__doc__, table, of="groups", many=1_000, seed=1)

"""How often a group's ranges hold: python -m tests.calibration.pool [-o FILE.md] [--groups 1000] [--seed 1]

Groups of farms whose truth is known, in units of the spread between field-years of one farm and year.
"""

import argparse
import os
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from itertools import product
from pathlib import Path

import numpy as np
from scipy import special

from analytics.pool.model import pooled_mean

FARM_YEAR_SD = 0.5
SHAPES = ((8, 4), (8, 8), (20, 4))
SPREADS = (0.0, 0.5, 1.0, 2.5)
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
    wide, near = (special.stdtrit(df, 0.975) for df in (got.df, got.these_farms_df))
    return (
        abs(got.estimate - these) <= near * got.these_farms_std_error,
        abs(got.estimate) <= wide * got.std_error,
        abs(got.estimate - other) <= wide * got.another_farm_sd,
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
        rates = np.array(list(pool.map(measured, jobs, chunksize=4)))
    lines = [
        "# How often a group's ranges are right",
        "",
        f"Run on {date.today():%Y-%m-%d}, seed {seed}, {groups:,} groups in each of {len(cells)} cells; a rate of 95 "
        f"has a standard error of {100 * (0.95 * 0.05 / groups) ** 0.5:.1f}. Spread between farms and between years: "
        "0, 0.5, 1 and 2.5 times that between field-years of one farm and year; between a farm's years beyond the "
        f"shared ones {FARM_YEAR_SD:g}. Uneven: one to four fields, half of the farm-years missing. Coverage of the "
        "95 % range, lowest / middle / highest over the spreads, in per cent:",
        "",
        "| farms x years | fields | " + " | ".join(QUESTIONS) + " |",
        "| --- | --- |" + " --- |" * len(QUESTIONS),
    ]
    for shape, kind in product(SHAPES, KINDS):
        group = rates[[cell[:2] == (shape, kind) for cell in cells]]
        spread = [
            f"{low:.1f} / {middle:.1f} / {high:.1f}"
            for low, middle, high in np.percentile(group, (0, 50, 100), axis=0).T
        ]
        lines.append(f"| {shape[0]} x {shape[1]} | {kind} | " + " | ".join(spread) + " |")
    lines += ["", "By spread between farms, all shapes:", "", "| farms | years | " + " | ".join(QUESTIONS) + " |"]
    lines.append("| --- | --- |" + " --- |" * len(QUESTIONS))
    for spreads in product(SPREADS, SPREADS):
        group = rates[[tuple(cell[2:]) == spreads for cell in cells]]
        spread = [
            f"{low:.1f} / {middle:.1f} / {high:.1f}"
            for low, middle, high in np.percentile(group, (0, 50, 100), axis=0).T
        ]
        lines.append(f"| {spreads[0]:g} | {spreads[1]:g} | " + " | ".join(spread) + " |")
    return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-o", type=Path, help="file for the table; else it is printed")
    parser.add_argument("--groups", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    text = table(options.groups, options.seed)
    if options.o:
        options.o.write_text(text, encoding="utf-8")
    else:
        print(text)


if __name__ == "__main__":
    main()

"""How often the companion's ranges hold: python -m tests.calibration.companion [-o FILE.md] [--farms 2000] [--seed 1]

Farms whose truth is drawn from the prior itself, where a right computation covers what it says, and farms with a fixed
truth, where it covers what it covers: less the further the truth lies from what was published.
"""

import os
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from itertools import product

import numpy as np

from analytics.statistics.quadrature import companions
from tests.calibration.by_hand import run_by_hand

PRIOR = {"mean_sd": 4.0, "year_sd": 2.0}  # bu/ac
FIELD_SD = 2.0  # of a field-year about its year, bu/ac, where a year has more than one
YEARS = (2, 3, 6)
FIELDS = (1, 3, 12)
TRUTHS = (None, 0.0, 2.0, 6.0)


def simulate(*, years, fields, farms, truth, random):
    """Truths, shape (farms,), and field-year differences, shape (farms, years, fields). One a year: tau holds all."""
    truths = random.normal(0, PRIOR["mean_sd"], farms) if truth is None else np.full(farms, truth)
    tau = np.abs(random.normal(0, PRIOR["year_sd"], farms))
    of_year = truths[:, None] + tau[:, None] * random.normal(size=(farms, years))
    noise = FIELD_SD * random.normal(size=(farms, years, fields)) * (fields > 1)
    return truths, of_year[:, :, None] + noise


def covered(truths, rows, *, years, fields, prior="stated"):
    """Whether each farm's 95 % range holds its truth."""
    year = np.repeat(np.arange(years), fields)
    ranges = [getattr(companions(row.ravel(), year, **PRIOR), prior) for row in rows]
    return [one.low <= truth <= one.high for truth, one in zip(truths, ranges, strict=True)]


def measured(job):
    years, fields, truth, farms, seed, number = job
    random = np.random.default_rng([seed, number])
    truths, rows = simulate(years=years, fields=fields, farms=farms, truth=truth, random=random)
    return 100 * float(np.mean(covered(truths, rows, years=years, fields=fields)))


def table(farms, seed):
    cells = list(product(YEARS, FIELDS, TRUTHS))
    jobs = [(*cell, farms, seed, number) for number, cell in enumerate(cells)]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        rates = dict(zip(cells, pool.map(measured, jobs), strict=True))
    lines = [
        "# How often the range that starts from published trials is right",
        "",
        f"Run on {date.today():%Y-%m-%d}, seed {seed}, {farms:,} farms in each cell; a rate of 95 has a standard error "
        f"of {100 * (0.95 * 0.05 / farms) ** 0.5:.1f}. Prior: mean ~ normal(0, 4 bu/ac), spread between years ~ "
        f"half-normal(2 bu/ac). Field-years lie about their year with sd {FIELD_SD:g}, which the method does not know; "
        "with one a year all spread is the years'. Coverage of the 95 % range, in per cent:",
        "",
        "| years | field-years a year | truth drawn from the prior | truth 0 | truth 2 | truth 6 bu/ac |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for years, fields in product(YEARS, FIELDS):
        cells_here = " | ".join(f"{rates[years, fields, truth]:.1f}" for truth in TRUTHS)
        lines.append(f"| {years} | {fields} | {cells_here} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    run_by_hand(__doc__, table, of="farms", many=2_000, seed=1)

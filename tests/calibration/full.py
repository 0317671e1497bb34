"""The full run: python -m tests.calibration.full [-o FILE.md] [--farms 10000] [--seed 20250101]

Ten thousand farms of every kind, on all processors, in a few minutes; writes the tables in Markdown (DEVELOPERS.md
holds one such run). A cell outside the target is run again with twenty times as many farms, and both figures are shown.
"""

import argparse
import os
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from itertools import product
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.progress import track

from tests.calibration.simulated import (
    Cell,
    narrow_truth,
    plain_over_loads,
    plain_over_pairs,
    plain_over_strips,
    simulate,
    these_fields,
    weighted_throughout,
    years_to_come,
)

YEARS = (2, 3, 4, 6, 8)
STRIPS = (1, 2, 3, 4, 5, 0)
YEAR_SDS = (0.0, 0.5, 1.0, 2.0)
SHAPES = {
    **{f"{count} a year": (count,) for count in range(1, 7)},
    "1, 2, 3 in turn": (1, 2, 3),
    "2, 6 in turn": (2, 6),
    "1, 6 in turn": (1, 6),
    "1 to 6 in turn": (1, 2, 3, 4, 5, 6),
}
TARGET = (93.5, 97.5)  # of the 95 % interval for years to come, three years or more; so false "real" at most 6.5

AGAIN = 20

PLAIN = {"pairs": plain_over_pairs, "strips": plain_over_strips, "loads": plain_over_loads}
METHODS = {
    "broad": "years to come, as above",
    "weighted": "Hartung-Knapp throughout",
    **{label: f"plain t over all {label}" for label in PLAIN},
}


def cells() -> list[tuple[str, Cell]]:
    """Every kind of farm, with the name of its shape."""
    shapes = [
        (name, tuple(pattern[year % len(pattern)] for year in range(years)))
        for years in YEARS
        for name, pattern in SHAPES.items()
    ]
    shapes += [("6, then 1 a year", (6,) + (1,) * (years - 1)) for years in YEARS]
    return [
        (name, Cell(field_years=counts, strips=strips, year_sd=year_sd))
        for (name, counts), strips, year_sd in product(shapes, STRIPS, YEAR_SDS)
    ]


def measured(job: tuple[str, Cell, int, int, int]) -> dict[str, object]:
    """Rates of one cell, in per cent; None where the question has no answer there."""
    name, cell, farms, seed, number = job
    sample = simulate(cell, farms, np.random.default_rng([seed, number]))
    narrow, broad, truth = these_fields(cell, sample), years_to_come(cell, sample), narrow_truth(cell, sample)
    found: dict[str, object] = {"shape": name, "cell": cell}
    found |= {
        "narrow_95": None if narrow is None else 100 * narrow.covers(truth, 0.95),
        "narrow_90": None if narrow is None else 100 * narrow.covers(truth, 0.90),
        "narrow_equivalent": None if narrow is None else 100 * narrow.called_equivalent(truth),
        "broad_95": 100 * broad.covers(0.0, 0.95),
        "broad_90": 100 * broad.covers(0.0, 0.90),
        "broad_equivalent": 100 * broad.called_equivalent(0.0),
    }
    others = {label: plain(sample) for label, plain in PLAIN.items()} | {"weighted": weighted_throughout(cell, sample)}
    for label, interval in others.items():
        found[f"{label}_95"] = 100 * interval.covers(0.0, 0.95)
        found[f"{label}_90"] = 100 * interval.covers(0.0, 0.90)
        found[f"{label}_equivalent"] = 100 * interval.called_equivalent(0.0)
    return found


def run(farms: int, seed: int) -> list[dict[str, object]]:
    jobs = [(name, cell, farms, seed, number) for number, (name, cell) in enumerate(cells())]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        done = pool.map(measured, jobs, chunksize=4)
        rows = list(track(done, total=len(jobs), description="simulated farms", console=Console(stderr=True)))
        for job, row in zip(jobs, rows, strict=True):
            if outside_target(row):
                fresh = pool.map(measured, [(*job[:3], seed + more, job[4]) for more in range(1, AGAIN + 1)])
                row["again"] = np.mean([other["broad_95"] for other in fresh])
    return rows


def outside_target(row: dict[str, object]) -> bool:
    return len(row["cell"].field_years) >= 3 and not TARGET[0] <= row["broad_95"] <= TARGET[1]


def table(rows: list[dict[str, object]], farms: int, seed: int) -> str:
    """Worst and middle of each group, then every cell that missed the target."""
    lines = [
        "# How often the intervals are right",
        "",
        f"Run on {date.today():%Y-%m-%d}, seed {seed}, {farms:,} farms in each of {len(rows):,} cells: {_list(YEARS)} "
        f"years, fields a year as named, 1 to 5 strips or mixed, spread between years {_list(YEAR_SDS)} times the "
        f"spread between fields. A rate of 95 % has a standard error of {100 * (0.95 * 0.05 / farms) ** 0.5:.2f}.",
        "",
        '**Years to come**: lowest / middle / highest coverage; a false "real" at truth 0 is 100 less the coverage; '
        '"within": highest rate of a false "no difference that matters", the truth at the margin (5 allowed).',
        "",
        "| years | fields a year | 95 % interval | 90 % interval | within |",
        "| --- | --- | --- | --- | --- |",
    ]
    broad = [row for row in rows if len(row["cell"].field_years) >= 3]
    for years, shape in product(YEARS[1:], dict.fromkeys(row["shape"] for row in rows)):
        group = [row for row in broad if row["shape"] == shape and len(row["cell"].field_years) == years]
        lines.append(f"| {years} | {shape} | {_spread(group, 'broad')} |")
    lines += [
        "",
        "**The same question by other methods**, 3 years or more: Hartung-Knapp's weights however uneven the years; a "
        "plain paired t that takes everything as independent.",
        "",
        "| spread between years | method | 95 % interval | 90 % interval | within |",
        "| --- | --- | --- | --- | --- |",
    ]
    for year_sd, (label, title) in product(YEAR_SDS, METHODS.items()):
        group = [row for row in broad if row["cell"].year_sd == year_sd]
        lines.append(f"| {year_sd:g} | {title} | {_spread(group, label)} |")
    lines += [
        "",
        "**These fields** (truth: their mean in the years on record), all years; fewer than two a year is a paired t, "
        "which takes the years' own spread for error and is too careful when years differ.",
        "",
        "| field-years a year | spread between years | 95 % interval | 90 % interval | within |",
        "| --- | --- | --- | --- | --- |",
    ]
    for blocks, year_sd in product((True, False), YEAR_SDS):
        group = [
            row
            for row in rows
            if row["narrow_95"] is not None
            and row["cell"].year_sd == year_sd
            and (sum(row["cell"].field_years) >= 2 * len(row["cell"].field_years)) == blocks
        ]
        title = "2 or more on average" if blocks else "fewer than 2"
        lines.append(f"| {title} | {year_sd:g} | {_spread(group, 'narrow')} |")
    missed = [row for row in rows if outside_target(row)]
    lines += [
        "",
        f"Cells outside {TARGET[0]} to {TARGET[1]} % for years to come, 3 years or more: {len(missed) or 'none'}.",
    ]
    lines += [
        f"- {row['cell'].field_years}, strips {row['cell'].strips or 'mixed'}, spread {row['cell'].year_sd:g}: "
        f"{row['broad_95']:.2f} %; with {AGAIN * farms:,} farms more {row['again']:.2f} %"
        for row in missed
    ]
    return "\n".join(lines) + "\n"


def _list(numbers: tuple[float, ...]) -> str:
    return ", ".join(f"{number:g}" for number in numbers[:-1]) + f" and {numbers[-1]:g}"


def _spread(group: list[dict[str, object]], label: str) -> str:
    both = []
    for level in ("95", "90"):
        rates = [row[f"{label}_{level}"] for row in group]
        both.append(f"{min(rates):.1f} / {np.median(rates):.1f} / {max(rates):.1f}")
    return " | ".join([*both, f"{max(row[f'{label}_equivalent'] for row in group):.1f}"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-o", type=Path, help="file for the table; else it is printed")
    parser.add_argument("--farms", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=20_250_101)
    options = parser.parse_args()
    text = table(run(options.farms, options.seed), options.farms, options.seed)
    if options.o:
        options.o.write_text(text, encoding="utf-8")
    else:
        print(text)


if __name__ == "__main__":
    main()

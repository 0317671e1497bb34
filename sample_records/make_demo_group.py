"""Writes the share files of an invented growers' group of 12 farms whose truth is known; one seed, the same bytes.

    python -m sample_records.make_demo_group FOLDER [--farms 12] [--years 6] [--fields 3] [--seed 1926]

What was chosen and what was drawn is in GROUP.md beside this file.
"""

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from analytics.pool.share_form import CODE_LETTERS, COLUMNS, PROGRAM, VERSION

SEED, FARMS, YEARS, FIELDS, FIRST_YEAR = 1926, 12, 6, 3, 2020
SHARED_AT = "2025-12-01T12:00:00Z"


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What is true of a measure, in its unit: the mean of all farms of the kind, and standard deviations about it.

    level, level_sd : of the windrowed side; decimals : of a value in the file
    """

    mean: float
    farm_sd: float
    year_sd: float
    farm_year_sd: float
    place_sd: float
    one_field_sd: float
    two_fields_sd: float
    level: float
    level_sd: float
    decimals: int


TRUTHS = {
    "yield": Truth(
        mean=1.2, farm_sd=1.5, year_sd=1.2, farm_year_sd=0.7, place_sd=0.5, one_field_sd=2.5, two_fields_sd=5.5,
        level=42.0, level_sd=6.0, decimals=2,
    ),
    "green_seed": Truth(
        mean=-0.4, farm_sd=0.2, year_sd=0.4, farm_year_sd=0.1, place_sd=0.0, one_field_sd=0.5, two_fields_sd=0.8,
        level=1.6, level_sd=0.3, decimals=3,
    ),
    "days_to_harvest": Truth(
        mean=7.0, farm_sd=1.0, year_sd=1.5, farm_year_sd=1.0, place_sd=0.0, one_field_sd=1.5, two_fields_sd=2.5,
        level=112.0, level_sd=5.0, decimals=0,
    ),
}  # fmt: skip


def shares(
    *, farms: int = FARMS, years: int = YEARS, fields: int = FIELDS, seed: int = SEED
) -> dict[str, pl.DataFrame]:
    """The rows of each farm's share file, by its code."""
    random = np.random.default_rng(seed)
    of_year = {name: random.normal(0, truth.year_sd, years) for name, truth in TRUTHS.items()}
    return {code: _farm(code, place, random, of_year, farms, years, fields) for place, code in _codes(random, farms)}


def _codes(random: np.random.Generator, farms: int) -> list[tuple[int, str]]:
    codes: dict[str, int] = {}
    while len(codes) < farms:
        codes.setdefault(f"{_lot(random)}-{_lot(random)}", len(codes))
    return [(place, code) for code, place in codes.items()]


def _lot(random: np.random.Generator) -> str:
    return "".join(CODE_LETTERS[number] for number in random.integers(0, len(CODE_LETTERS), 4))


def _farm(
    code: str,
    number: int,
    random: np.random.Generator,
    of_year: dict[str, np.ndarray],
    farms: int,
    years: int,
    fields: int,
) -> pl.DataFrame:
    """One farm. The last has one year, every third joined after two years, every fourth never draws lots."""
    first = years - 1 if number == farms - 1 else min(2, years - 1) if number % 3 == 2 else 0
    places = [_lot(random) for _ in range(fields + 1)]
    of_farm = {name: random.normal(0, truth.farm_sd) for name, truth in TRUTHS.items()}
    of_place = {name: random.normal(0, truth.place_sd, fields + 1) for name, truth in TRUTHS.items()}
    rows = []
    for year in range(first, years):
        of_both = {name: random.normal(0, truth.farm_year_sd) for name, truth in TRUTHS.items()}
        for pair, place in enumerate(places, 1):
            is_two = pair == fields + 1  # the last place is a pair of two fields, and not cut every year
            if random.random() < (0.5 if is_two else 0.2):
                continue
            early = random.random() < 0.15
            facts = {
                "kind": ("matched" if number % 4 == 1 else "two_fields") if is_two else "one_field",
                "allocation": "chosen" if is_two or number % 4 == 3 else "drawn",
                "early_cut": "yes" if early else "no",
                "shatter_tolerant": "yes" if random.random() < 0.7 else "no",
                "preharvest_product": "yes" if random.random() < 0.4 else "no",
                "same_variety": "no" if is_two and random.random() < 0.4 else "yes",
            }
            for name, truth in TRUTHS.items():
                sd = truth.two_fields_sd if is_two else truth.one_field_sd
                gap = truth.mean + of_year[name][year] + of_farm[name] + of_both[name]
                gap += of_place[name][pair - 1] + random.normal(0, sd)
                level = max(truth.level + random.normal(0, truth.level_sd), abs(gap))
                rows.append(
                    {
                        "crop_year": FIRST_YEAR + year,
                        "place": place,
                        "pair": pair,
                        **facts,
                        "measure": name,
                        "standing": round(level + gap, truth.decimals),
                        "windrowed": round(level, truth.decimals),
                    }
                )
    head = {"share_version": VERSION, "program": PROGRAM, "shared_at": SHARED_AT, "farm": code}
    whole = pl.DataFrame(rows).with_columns(pl.lit(value).alias(name) for name, value in head.items())
    whole = whole.select(pl.col(name).cast(kind) for name, (kind, _) in COLUMNS.items())
    return whole.sort("measure", "crop_year", "place", "pair")


def main() -> None:
    """Write one CSV file a farm."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else "")
    parser.add_argument("folder", type=Path)
    for name, start in (("farms", FARMS), ("years", YEARS), ("fields", FIELDS), ("seed", SEED)):
        parser.add_argument(f"--{name}", type=int, default=start)
    options = vars(parser.parse_args())
    folder = options.pop("folder")
    folder.mkdir(parents=True, exist_ok=True)
    for code, rows in shares(**options).items():
        rows.write_csv(folder / f"{code}.csv")
    print(f"{options['farms']} share files in {folder}")


if __name__ == "__main__":
    main()

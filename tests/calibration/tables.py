"""The tables of a full run, as Markdown."""

from collections.abc import Sequence
from datetime import date
from itertools import product

import numpy as np

TARGET = (93.5, 99.5)  # of the 95 % range for years to come, three years or more, in every normal cell
AGAIN = 20  # times as many farms for a cell outside it


def outside_target(row: dict[str, object]) -> bool:
    return len(row["cell"].field_years) >= 3 and not TARGET[0] <= row["ahead_95"] <= TARGET[1]


def years_of(rows: list[dict[str, object]]) -> list[int]:
    return sorted({len(row["cell"].field_years) for row in rows})


def year_sds_of(rows: list[dict[str, object]]) -> list[float]:
    return sorted({row["cell"].year_sd for row in rows})


def normal_table(rows: list[dict[str, object]], farms: int, seed: int) -> list[str]:
    """Lowest, middle and highest of each group, then every cell that missed the target."""
    broad = [row for row in rows if len(row["cell"].field_years) >= 3]
    lines = [
        f"Run on {date.today():%Y-%m-%d}, seed {seed}, {farms:,} farms in each cell, {len(rows)} of them normal: "
        f"{_list(years_of(rows))} years, fields a year as named, spread between years {_list(year_sds_of(rows))} times "
        f"the spread between fields. A rate of 95 % has a standard error of {100 * (0.95 * 0.05 / farms) ** 0.5:.2f}.",
        "",
        "## Normal farms",
        "",
        '**Years to come**: lowest / middle / highest per cent held; 100 less it is how often "more than chance '
        'explains" is said of no difference. "The same": highest rate of "the same in practice" said of a '
        "difference as large as the margin (5 allowed).",
        "",
        "| years | fields a year | 95 % range | 90 % range | the same |",
        "| --- | --- | --- | --- | --- |",
    ]
    for years, shape in product(years_of(broad), dict.fromkeys(row["shape"] for row in rows)):
        group = [row for row in broad if row["shape"] == shape and len(row["cell"].field_years) == years]
        same = max(row["ahead_same"] for row in group)
        lines.append(
            f"| {years} | {shape} | {_spread(group, 'ahead_95')} | {_spread(group, 'ahead_90')} | {same:.1f} |"
        )
    lines += [
        "",
        "**The same question by other methods**, three years or more: Hartung-Knapp without holding its range to the "
        "one for these fields; a plain paired t over all field-years.",
        "",
        "| spread between years | as above | Hartung-Knapp alone | plain t over field-years |",
        "| --- | --- | --- | --- |",
    ]
    for year_sd in year_sds_of(rows):
        group = [row for row in broad if row["cell"].year_sd == year_sd]
        cells = " | ".join(_spread(group, f"{name}_95") for name in ("ahead", "alone", "plain"))
        lines.append(f"| {year_sd:g} | {cells} |")
    lines += [
        "",
        "**These fields** (truth: their mean in the years on record). Fewer than two a year is a paired t, which takes "
        "the years' own spread for error and is too careful when years differ.",
        "",
        "| field-years a year | spread between years | 95 % range | 90 % range |",
        "| --- | --- | --- | --- |",
    ]
    for blocks, year_sd in product((True, False), year_sds_of(rows)):
        group = [row for row in rows if row["here_95"] is not None and row["cell"].year_sd == year_sd
                 and (sum(row["cell"].field_years) >= 2 * len(row["cell"].field_years)) == blocks]  # fmt: skip
        title = "2 or more on average" if blocks else "fewer than 2"
        lines.append(f"| {title} | {year_sd:g} | {_spread(group, 'here_95')} | {_spread(group, 'here_90')} |")
    narrower = max(row["narrower"] for row in broad if row["narrower"] is not None)
    missed = [row for row in rows if outside_target(row)]
    return [
        *lines,
        "",
        f"A range for years to come narrower than the one for these fields: in {narrower:g} % of farms at most.",
        "",
        f"Cells outside {TARGET[0]} to {TARGET[1]} % for years to come, three years or more: {len(missed) or 'none'}.",
        *(
            f"- {row['cell'].field_years}, spread {row['cell'].year_sd:g}: {row['ahead_95']:.2f} %; with "
            f"{AGAIN * farms:,} farms more {row['again']:.2f} %"
            for row in missed
        ),
    ]


def other_table(found: list[tuple[str, list[dict[str, float]]]], designs: Sequence[tuple[int, ...]]) -> list[str]:
    lines = [
        "",
        "## Farms that are not normal, or not independent",
        "",
        f"Designs: {', '.join(str(design) for design in designs)} field-years by year; lowest / middle / highest per "
        "cent held by the 95 % range. The last column is the highest rate of a range wholly above the truth (2.5 in "
        "normal farms).",
        "",
        "| farms | these fields | years to come | too high |",
        "| --- | --- | --- | --- |",
    ]
    for name, group in found:
        above = max(row["above"] for row in group)
        lines.append(f"| {name} | {_spread(group, 'here')} | {_spread(group, 'ahead')} | {above:.1f} |")
    return lines


def returning_table(found: list[tuple[str, dict[str, float]]]) -> list[str]:
    lines = [
        "",
        "## Fields that come back",
        "",
        "Spread between fields 1, between years 0.5, the rest 1 (rotation: 0.7). Per cent held by the 95 % range. "
        "These same fields over years to come is what years to come answers; fields of the kind and a single new field "
        "are what fields not tried yet (years crossed with places, Kenward-Roger) answers.",
        "",
        "| farms | these fields | same fields, years to come | fields of the kind, by years to come "
        "| fields of the kind, crossed | a new field in a new year |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    names = ("here", "ahead_same_fields", "ahead_of_the_kind", "crossed", "new")
    for name, rates in found:
        lines.append(f"| {name} | {' | '.join(f'{rates[column]:.1f}' for column in names)} |")
    return lines


def mixed_table(found: list[tuple[str, float, float, float, float]]) -> list[str]:
    return [
        "",
        "## Kinds of pairs mixed",
        "",
        "Two field-years a year of one field cut both ways and two of separate fields, which are off by a bias and "
        "spread 2.4 times as much. The headline rests on the first; pooling both is what it was before.",
        "",
        "| farms | these fields | pooled | years to come | pooled |",
        "| --- | --- | --- | --- | --- |",
        *(f"| {name} | {' | '.join(f'{rate:.1f}' for rate in rates)} |" for name, *rates in found),
    ]


def looks_lines(found: dict[str, float]) -> list[str]:
    told = "; ".join(f"{name} {rate:.1f} %" for name, rate in found.items())
    return [
        "",
        "## Looking every winter",
        "",
        f"No difference, two fields a year, a look after every year from the third to the tenth; told of one {told}.",
    ]


def _list(numbers: tuple[float, ...]) -> str:
    return ", ".join(f"{number:g}" for number in numbers[:-1]) + f" and {numbers[-1]:g}"


def _spread(group: list[dict[str, object]], name: str) -> str:
    rates = [row[name] for row in group]
    return f"{min(rates):.1f} / {np.median(rates):.1f} / {max(rates):.1f}"

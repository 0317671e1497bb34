"""The tables printed on the sheet, as text: numbers with the same decimals in a column, units in the head."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from analytics.answer import marks, statistics_rows, wording
from analytics.answer.money_wording import line_words
from analytics.bins.watched_bins import WatchedBin
from analytics.pairs.compared_pairs import DAYS_BETWEEN_SEEDINGS, EARLY_COLOUR_CHANGE_PCT
from analytics.pairs.grading import green_count
from analytics.statistics.results import Comparison, Question
from analytics.trade.budget import Change
from analytics.trade.numbers_as_text import THIN_SPACE, capital, count, number

MOST_PAIRS = 30  # on the sheet; the workbook holds them all
LAYOUT_WORDS = {"neighbouring fields": "neighbours", "matched after harvest": "matched after"}
FLAGS = {
    "e": f"windrowed before {EARLY_COLOUR_CHANGE_PCT} % seed colour change",
    "w": "weighed in different ways",
    "v": "different variety",
    "s": f"seeded more than {DAYS_BETWEEN_SEEDINGS} days apart",
    "i": "cut sooner after the pre-harvest product than the label asks, by the days on record",
}
BLANK = "–"
TOLD_ELSEWHERE = ("rests on", "method")  # on the sheet the first table and the sources say so


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTable:
    """Text in rows and columns; the first `text_columns` columns are words, the others figures set to the right.

    has_total : the last row sums up the others
    is_even : the columns of figures are equally wide
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    text_columns: int = 1
    has_total: bool = False
    is_even: bool = False


def bins(watched: Sequence[WatchedBin]) -> PrintedTable:
    """What each bin holds and what its last check found."""
    rows = tuple(
        (
            one.name,
            one.holds or BLANK,
            str(one.filled_on or BLANK),
            str(one.emptied_on or one.checked_on or BLANK),
            number(one.warmest_c, 1) if one.warmest_c is not None else BLANK,
            number(one.wettest_pct, 1) if one.wettest_pct is not None else BLANK,
        )
        for one in watched
    )
    return PrintedTable(
        columns=("bin", "holds", "filled", "emptied, or last check", "warmest, C", "wettest, %"),
        rows=rows,
        text_columns=4,
    )


def measures(known: Mapping[str, Comparison]) -> PrintedTable:
    """Both answers for every measure that has a pair."""
    rows = [
        (
            f"{marks.measure_label(comparison)}, {comparison.unit}",
            _finding(comparison, Question.THESE_FIELDS),
            _finding(comparison, Question.YEARS_TO_COME),
            wording.estimate_with_range(comparison, comparison.these_fields),
            wording.estimate_with_range(comparison, comparison.years_to_come),
            number(comparison.field_years, 0),
            number(comparison.years, 0),
        )
        for comparison in known.values()
    ]
    columns = (
        "",
        "finding, these fields",
        "finding, years to come",
        "these fields",
        "years to come",
        "field-years",
        "years",
    )
    return PrintedTable(columns=columns, rows=tuple(rows), text_columns=3)


def _finding(comparison: Comparison, question: Question) -> str:
    """The finding in the measure's own words, and whether it holds only for this measure by itself."""
    answer = comparison.these_fields if question is Question.THESE_FIELDS else comparison.years_to_come
    words = marks.finding_words(comparison, answer)
    return f"{words}, {statistics_rows.ALONE}" if statistics_rows.is_alone_only(comparison, question) else words


def printed_carried(comparison: Comparison) -> PrintedTable:
    """What carries the answer: each kind of pair alone; the starred rows are those that it rests on."""
    rows = tuple(
        (row.name, row.field_years, row.these_fields, row.years_to_come)
        for row in statistics_rows.carried_rows(comparison)
    )
    stars = "* the answer rests on these"
    if any(row.name.endswith("**") for row in statistics_rows.carried_rows(comparison)):
        stars = f"{stars}; ** for years to come"
    columns = (stars, "field-years", "these fields", "years to come")
    return PrintedTable(columns=columns, rows=rows)


def budget(lines: Sequence[Change]) -> PrintedTable:
    """What each line adds to the net return of standing; a cost that rises counts against it."""
    gains = [(line, line.dollars_ac if line.kind == "revenue" else -line.dollars_ac) for line in lines]
    rows = [(line_words(line), number(gain, 2, sign=True)) for line, gain in gains if round(gain, 2)]
    rows.append(("net return, standing less windrowed", number(sum(gain for _, gain in gains), 2, sign=True)))
    return PrintedTable(columns=("what standing gained (+) or lost (−)", "$/ac"), rows=tuple(rows), has_total=True)


def pair_table(rows: pl.DataFrame, decimals: int) -> PrintedTable:
    """The pairs, newest year first, at most MOST_PAIRS. rows : as from sheet_numbers.pairs."""
    columns = (
        "year",
        "pair",
        "field",
        "layout",
        "methods",
        "note",
        "yield standing",
        "windrowed",
        "difference",
        "green standing",
        "windrowed",
        "loss standing",
        "windrowed",
    )
    cells = []
    for row in rows.head(MOST_PAIRS).iter_rows(named=True):
        standing, windrowed = row["yield_standing"], row["yield_windrowed"]
        known = standing is not None and windrowed is not None
        cells.append(
            (
                str(row["crop_year"]),
                row["pair"],
                row["field"] or "",
                LAYOUT_WORDS.get(row["layout"], row["layout"] or ""),
                row["allocation"] or "not known",
                " ".join(_flags(row)),
                _cell(standing, decimals),
                _cell(windrowed, decimals),
                number(standing - windrowed, decimals, sign=True) if known else BLANK,
                _of(row["green_standing"], row["crushed_standing"]),
                _of(row["green_windrowed"], row["crushed_windrowed"]),
                _cell(row["loss_standing"], decimals),
                _cell(row["loss_windrowed"], decimals),
            )
        )
    return PrintedTable(columns=columns, rows=tuple(cells), text_columns=6)


def pair_notes(rows: pl.DataFrame, one_moisture_pct: float) -> tuple[str, ...]:
    """What the letters and the blanks of the pair table mean, and what it leaves out."""
    shown = {flag for row in rows.head(MOST_PAIRS).iter_rows(named=True) for flag in _flags(row)}
    letters = "; ".join(f"{flag}: {words}" for flag, words in FLAGS.items() if flag in shown)
    notes = [
        f"Yield at {number(one_moisture_pct, 1)}{THIN_SPACE}% moisture; green seeds of seeds crushed. "
        f"{BLANK}: unknown, a paper is missing; never "
        f"zero.{f' {letters}.' if letters else ''}"
    ]
    if rows.height > MOST_PAIRS:
        notes.append(f"The newest {MOST_PAIRS} of {count(rows.height, 'pair')}; the workbook holds them all.")
    return tuple(notes)


def _flags(row: Mapping[str, object]) -> list[str]:
    colour, days = row["windrow_colour_change_pct"], row["days_between_seedings"]
    raised = {
        "e": isinstance(colour, int | float) and colour < EARLY_COLOUR_CHANGE_PCT,
        "w": row["is_weighing_different"],
        "v": row["is_variety_different"],
        "s": isinstance(days, int) and days > DAYS_BETWEEN_SEEDINGS,
        "i": row["is_interval_short"],
    }
    return [flag for flag, is_raised in raised.items() if is_raised]


def green_lines(counts: pl.DataFrame, level: float) -> tuple[str, ...]:
    """Green seeds of all paired plots by method, with the exact interval. counts : as from green_counts."""
    lines = []
    complete = counts.drop_nulls()
    for side in ("standing", "windrowed"):
        green, crushed = int(complete[f"green_{side}"].sum()), int(complete[f"crushed_{side}"].sum())
        if crushed:
            share = green_count(green, crushed, level=level)
            span = f"{number(share.low, 2)} to {number(share.high, 2)}"
            lines.append(
                f"{capital(side)}: {number(green, 0)} green of {number(crushed, 0)} crushed, "
                f"{number(share.percent, 2)}{THIN_SPACE}% ({span})."
            )
    if lines:
        lines.append(
            f"{count(complete.height, 'pair')} with counts on both sides. These ranges are of counting alone and so "
            "too narrow; the difference above is judged over field-years."
        )
    return tuple(lines)


def loss_table(means: pl.DataFrame, unit: str, decimals: int) -> PrintedTable:
    """Mean of each part over the field-years that have it. means : as from numbers.losses."""
    rows = [
        (
            part,
            number(pairs, 0),
            _cell(standing, decimals),
            _cell(windrowed, decimals),
            number(difference, decimals, sign=True),
        )
        for part, pairs, standing, windrowed, difference in means.iter_rows()
    ]
    return PrintedTable(
        columns=(f"mean of field-years, {unit}", "field-years", "standing", "windrowed", "difference"), rows=tuple(rows)
    )


def statistics(comparisons: Sequence[Comparison]) -> PrintedTable:
    """The statistician's rows of several measures side by side, without the units, which stand in the head."""
    found = [
        [row for row in statistics_rows.statistics_rows(comparison) if row.name not in TOLD_ELSEWHERE]
        for comparison in comparisons
    ]
    names = [row.name.removesuffix(f", {comparisons[0].unit}") for row in found[0]]
    columns = [""]
    for comparison in comparisons:
        label = f"{marks.measure_label(comparison)}, {comparison.unit}"
        columns += [f"{label}: these fields", "years to come"]
    rows = [
        (name, *(text for rows in found for text in (rows[place].these_fields, rows[place].years_to_come)))
        for place, name in enumerate(names)
    ]
    return PrintedTable(columns=tuple(columns), rows=tuple(rows), is_even=True)


def _cell(value: float | None, decimals: int) -> str:
    return BLANK if value is None else number(value, decimals)


def _of(green: int | None, crushed: int | None) -> str:
    return BLANK if green is None or crushed is None else f"{green} of {number(crushed, 0)}"

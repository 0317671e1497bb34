"""Faults that no table shows by itself: names of rows that are not there, plots in two pairs, distances said twice."""

from collections.abc import Collection, Mapping
from difflib import get_close_matches

import polars as pl

from analytics.files.checking import PLACE, CheckedTable
from analytics.records.cell_text import as_text, key_text
from analytics.records.columns import PLOT_KEY
from analytics.records.faults import Fault, Faults
from analytics.records.form import Reference
from analytics.records.grown_tables import FIELD_DISTANCES, PAIRS
from analytics.records.setting_values import STARTED_WITH, is_fixed_before_looking
from analytics.trade.units import CROP

MOST_CANDIDATES = 3000  # names searched for one that is near a misspelt one


def name_all(
    checked: Mapping[str, CheckedTable],
    before: Mapping[str, pl.DataFrame],
    faults: Faults,
    *,
    unreadable: Collection[str] = (),
) -> None:
    """Every fault that the tables show only beside each other and beside the records.

    before : the tables on record; only those are asked for that one of `checked` refers to
    unreadable : tables that come as well, but could not be taken apart, so that nothing is known to be absent from them
    """

    def after(name: str) -> pl.DataFrame:
        return _after(checked.get(name), before[name])

    for one in checked.values():
        for reference in one.table.references:
            target = checked.get(reference.table)
            if target.is_whole if target else reference.table not in unreadable:
                name_missing_targets(one, reference, after(reference.table), faults)
        if one.in_bushels:
            name_bushels_of_other_crops(one, after("plantings"), faults)
    if "pairs" in checked or "plots" in checked:
        name_wrong_methods(checked, after("pairs"), after("plots"), faults)
    if "pairs" in checked:
        name_plots_in_two_pairs(checked["pairs"], after("pairs"), faults)
    if "field_distances" in checked:
        name_distances_twice(checked["field_distances"], after("field_distances"), faults)


def _after(one: CheckedTable | None, before: pl.DataFrame) -> pl.DataFrame:
    """The table as it will be."""
    if one is None:
        return before
    return pl.concat([before.join(one.frame, on=one.table.key, how="anti", nulls_equal=True), one.frame])


def name_missing_targets(one: CheckedTable, reference: Reference, target: pl.DataFrame, faults: Faults) -> None:
    """Names that no row of the other table has; target : that table as it will be."""
    columns = list(reference.columns)
    targets = target.select(pl.col(there).alias(here) for here, there in zip(columns, reference.target, strict=True))
    wanted = one.frame.select(columns).unique().drop_nulls()
    missing = wanted.join(targets, on=columns, how="anti")
    if missing.is_empty():
        return
    near = _Nearest(targets)
    places = one.frame.select(columns).with_row_index(PLACE).join(missing, on=columns, how="semi")[PLACE].sort()

    def word(place: int) -> Fault:
        key = one.frame.select(columns).row(place)
        return one.fault(
            place,
            " / ".join(columns),
            given=key_text(key),
            allowed=f"a row of {reference.table}",
            remedy=near.remedy(key) or f"Add it to {reference.table}, or correct the name.",
        )

    faults.add_rows(places, word)


class _Nearest:
    """Finds a key that is spelt nearly like a wrong one, in the same crop year where the key has one."""

    def __init__(self, targets: pl.DataFrame) -> None:
        self._targets = targets.drop_nulls().unique(maintain_order=True)
        self._remedies: dict[tuple[object, ...], str] = {}

    def remedy(self, key: tuple[object, ...]) -> str:
        """A question that names it, or nothing."""
        if key not in self._remedies:
            candidates, named = self._targets, slice(None)
            if "crop_year" in candidates.columns:
                candidates, named = candidates.filter(pl.col("crop_year") == key[0]), slice(1, None)
            names = {key_text(row[named]).lower(): row for row in candidates.head(MOST_CANDIDATES).iter_rows()}
            near = get_close_matches(key_text(key[named]).lower(), names, n=1, cutoff=0.7)
            self._remedies[key] = f"Is {key_text(names[near[0]])} meant?" if near else ""
        return self._remedies[key]


def name_wrong_methods(
    checked: Mapping[str, CheckedTable], pairs: pl.DataFrame, plots: pl.DataFrame, faults: Faults
) -> None:
    """A side of a pair that was harvested the other way, whether the pair or the plot comes with this import.

    pairs, plots : the tables as they will be
    """
    for reference in PAIRS.references:
        sides = _sides(pairs, reference).join(plots.select(*PLOT_KEY, "method"), on=PLOT_KEY, how="inner")
        wrong = sides.filter(pl.col("method") != reference.method)
        for name, key in (("pairs", PAIRS.key), ("plots", PLOT_KEY)):
            if name not in checked or wrong.is_empty():
                continue
            here = checked[name].frame.select(key).with_row_index(PLACE)
            found = wrong.join(here, on=key, how="inner").sort(PLACE)
            wrong = wrong.join(here, on=key, how="anti")  # a wrong pair is named once, at its own row where it has one
            _name_wrong_sides(checked[name], reference, found, faults)


def _name_wrong_sides(one: CheckedTable, reference: Reference, found: pl.DataFrame, faults: Faults) -> None:
    rows = found.to_dicts()

    def word(at: int) -> Fault:
        row = rows[at]
        return one.fault(
            row[PLACE],
            reference.columns[-1] if one.table is PAIRS else "method",
            given=f"{key_text([row[name] for name in PLOT_KEY])}, {row['method']},",
            allowed=f"a {reference.method} plot as the {reference.method} side of pair {row['pair']}",
            remedy="Were the two sides exchanged, or is the method of the plot wrong?",
        )

    faults.add_rows(range(len(rows)), word)


def _sides(pairs: pl.DataFrame, reference: Reference) -> pl.DataFrame:
    """One row per pair that names this side: crop_year, pair, field, plot."""
    _, field, plot = reference.columns
    return pairs.select("crop_year", "pair", pl.col(field).alias("field"), pl.col(plot).alias("plot")).drop_nulls()


def name_plots_in_two_pairs(one: CheckedTable, pairs: pl.DataFrame, faults: Faults) -> None:
    """A plot belongs to at most one pair; pairs : the table as it will be."""
    key = list(PAIRS.key)
    here = one.frame.select(key).with_row_index(PLACE)
    sides = pl.concat([_sides(pairs, reference) for reference in PAIRS.references])
    sides = sides.join(here, on=key, how="left").sort(PLACE, nulls_last=False, maintain_order=True)
    again = sides.with_columns(pl.col("pair").first().over(PLOT_KEY).alias("first_pair")).filter(
        ~pl.struct(PLOT_KEY).is_first_distinct(), pl.col(PLACE).is_not_null()
    )
    rows = again.to_dicts()

    def word(at: int) -> Fault:
        row = rows[at]
        return one.fault(
            row[PLACE],
            "pair",
            given=f"{key_text([row[name] for name in PLOT_KEY])} in pair {row['pair']}",
            allowed="each plot in one pair",
            remedy=f"It is in pair {row['first_pair']} already.",
        )

    faults.add_rows(range(len(rows)), word)


def name_distances_twice(one: CheckedTable, distances: pl.DataFrame, faults: Faults) -> None:
    """From one field to another and back again: one row says both."""
    key = list(FIELD_DISTANCES.key)
    rows = distances.join(one.frame.select(key).with_row_index(PLACE), on=key, how="left")
    ends = pl.struct(pl.min_horizontal(key), pl.max_horizontal(pl.col(key)).alias("last"))
    again = rows.sort(PLACE, nulls_last=False, maintain_order=True).filter(
        ~ends.is_first_distinct(), pl.col(PLACE).is_not_null()
    )

    def word(at: int) -> Fault:
        field, other = again.select(key).row(at)
        return one.fault(
            again[PLACE][at],
            " / ".join(key),
            given=key_text((field, other)),
            allowed="one row for each two fields",
            remedy=f"Their distance is on record as {key_text((other, field))} already; correct that one.",
        )

    faults.add_rows(range(again.height), word)


def name_bushels_of_other_crops(one: CheckedTable, plantings: pl.DataFrame, faults: Faults) -> None:
    """A bushel is 50 lb of canola; of another crop it is another weight. plantings : the table as it will be."""
    is_price = "crop" in one.frame.columns
    grown = (
        one.frame["crop"]
        if is_price
        else one.frame.select("crop_year", "field").join(
            plantings.select("crop_year", "field", "crop"), on=["crop_year", "field"], how="left", maintain_order="left"
        )["crop"]
    )
    is_other = (grown.str.to_lowercase() != CROP).fill_null(False)
    for column, is_bushel in one.in_bushels.items():
        places = (is_bushel & is_other & one.frame[column].is_not_null()).arg_true()

        def word(place: int, column: str = column) -> Fault:
            return one.fault(
                place,
                column,
                given=as_text(one.frame[column][place]),
                allowed="a price in" if is_price else "pounds, tonnes or",  # and the unit of the record after it
                remedy=f"A bushel of {grown[place]} does not weigh the 50 lb of one of canola: give the "
                f"{'price of a tonne' if is_price else 'weight'}.",
            )

        faults.add_rows(places, word)


def name_settings_without_reason(settings: CheckedTable, before: pl.DataFrame, faults: Faults) -> None:
    """A setting that is fixed before looking changes only with a reason, which a file of settings does not hold."""
    in_force = STARTED_WITH | dict(before.select("name", "value").iter_rows())
    for place, (name, value) in enumerate(settings.frame.select("name", "value").iter_rows()):
        if name is None or value is None or not is_fixed_before_looking(name) or in_force.get(name) == value:
            continue
        faults.add(
            settings.fault(
                place,
                "value",
                given=f"{name} {value}, with no reason",
                allowed=f"{name} {in_force.get(name, 'as it started')} as it is in force, or a change with a reason",
                remedy="It is fixed before looking. Say why it changes: on the screen, or with --reason.",
            )
        )

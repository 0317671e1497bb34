"""Rows as a person types them from paper: what each holds in the unit of the record, what is refused, what is unlikely.

Nothing is written here. A row is refused when it cannot be so; it is unlikely when it can be, but asks for a look, and
is then kept with a word why.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from math import isclose

import polars as pl

from analytics.errors import BadInput
from analytics.files import import_plan
from analytics.files.checking import CheckedTable, check_table
from analytics.files.text_tables import TextTable
from analytics.files.typed_columns import has_decimal_commas, read_column
from analytics.records.cell_text import as_text, key_text
from analytics.records.faults import LISTED, Fault, Faults
from analytics.records.form import Column, Records, Table, Typed
from analytics.records.tables import LOADS, LOSS_CHECKS, PLOT_KEY, PLOTS, SAMPLES
from analytics.trade.days import interval_doubt
from analytics.trade.units import KG_PER_BUSHEL, TYPED_UNITS

MOST_ROWS = LISTED  # typed at a time; a longer list is a file
NEIGHBOUR_TIMES = 3  # a yield so many times the neighbour's asks for a look; common practice, no source
FARM_VALUES = 20  # so many of the farm's own values before they say what is likely here
FARM_SPREADS = 3  # interquartile ranges beyond the quartiles (Tukey 1977, "far out"; value from memory)

WHY = "why"  # the typed column that holds the word with which an unlikely row is kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One typed row as understood.

    number : place among the typed rows, from 1
    values : by column in the unit of the record; None where blank or not readable
    before : the row of the records with the same key, None when there is none
    """

    number: int
    name: str
    values: dict[str, object]
    before: dict[str, object] | None
    refused: tuple[str, ...] = ()
    unlikely: tuple[str, ...] = ()
    why: str = ""

    @property
    def is_kept(self) -> bool:
        """Whether the row may be saved: nothing refused, and a word why where something is unlikely."""
        return not self.refused and (not self.unlikely or bool(self.why) or self.is_as_before)

    @property
    def is_as_before(self) -> bool:
        """Whether the records hold just this already."""
        return self.before is not None and same_values(self.values, self.before)


def same_values(one: Mapping[str, object], other: Mapping[str, object]) -> bool:
    """Whether two rows hold the same; a number may have gone through a unit and back."""
    return all(_same(value, other[name]) for name, value in one.items())


def _same(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=1e-9)
    return one == other


def unit_choices(column: str) -> tuple[str, ...]:
    """Units in which a column may be typed, the record's own first; empty where there is no choice."""
    return tuple(unit.name for unit in TYPED_UNITS.get(column, ()))


def label(column: Column, unit: str = "") -> str:
    """The name of a column for people, its unit behind a comma: "weight, kg", "moisture, %".

    >>> label(LOADS.column("weight_kg"), "lb"), label(LOADS.column("moisture_pct")), label(SAMPLES.column("grade"))
    ('weight, lb', 'moisture, %', 'grade')
    """
    endings = {"_pct": "%", "_kg_hl": "kg/hL", "_kg": "kg", "_km": "km", "_m2": "m2", "_m": "m", "thousand_seed_g": "g"}
    name = column.name
    for ending, own in endings.items():
        if name.endswith(ending):
            name = name.removesuffix("_g") if ending == "thousand_seed_g" else name.removesuffix(ending)
            return f"{name.replace('_', ' ')}, {unit or own}"
    if column.name == "grams":
        return f"seed, {unit or 'g'}"
    return name.replace("_", " ")


def typed_columns(table: Table, fixed: Mapping[str, object]) -> list[Column]:
    """The columns that are typed where `fixed` is given already."""
    return [column for column in table.columns if column.name not in fixed]


def as_typed(row: Mapping[str, object], table: Table, fixed: Mapping[str, object]) -> Typed:
    """A row of the records as it would be typed; its unit stands in the cell, whatever unit is chosen for the rest."""
    texts = {}
    for column in typed_columns(table, fixed):
        value = row[column.name]
        unit = f" {unit_choices(column.name)[0]}" if column.name in TYPED_UNITS else ""
        texts[column.name] = "" if value is None else f"{as_text(value)}{unit}"
    return texts


def read_rows(
    table: Table,
    typed: Sequence[Typed],
    *,
    fixed: Mapping[str, object],
    units: Mapping[str, str],
    records: Records,
) -> tuple[Row, ...]:
    """The typed rows as understood; a row without any text is passed over.

    typed : text by column name of the record, and under "why" the word with which an unlikely row is kept
    fixed : values of columns that are not typed, the crop year or plot that was chosen
    units : unit by column name, where it is not the record's own; a unit typed in the cell counts before it
    records : all tables as they are now
    Raises BadInput for more than 200 rows.
    """
    shown = typed_columns(table, fixed)
    numbers = [number for number, row in enumerate(typed) if any(row.get(column.name, "").strip() for column in shown)]
    if len(numbers) > MOST_ROWS:
        raise BadInput(f"{len(numbers)} rows given; allowed {MOST_ROWS} at a time. Bring a longer list in as a file.")
    if not numbers:
        return ()
    cells = {
        column.name: [typed[number].get(column.name, "").strip() or None for number in numbers] for column in shown
    }
    cells |= {name: [as_text(value)] * len(numbers) for name, value in fixed.items()}
    given = pl.DataFrame(cells, schema=dict.fromkeys(table.column_names, pl.String))
    refused: dict[tuple[int, str], str] = {}
    texts = _in_record_units(table, given, units, refused)
    text = TextTable(
        name=table.name, label="", cells=texts, rows=pl.Series([number + 1 for number in numbers]), is_whole=True
    )
    faults, doubts = Faults(), Faults()
    checked = check_table(table, text, faults, doubts, [])
    rows = [
        Row(
            number=number + 1,
            name="",
            values=values,
            before=None,
            why=typed[number].get(WHY, "").strip(),
        )
        for number, values in zip(numbers, checked.frame.iter_rows(named=True), strict=True)
    ]
    places = {row.number: place for place, row in enumerate(rows)}
    no: list[list[str]] = [[] for _ in rows]
    odd: list[list[str]] = [[] for _ in rows]
    for (place, name), words in refused.items():
        no[place].append(f"{label(table.column(name), units.get(name, ''))}: {words}")
    for fault in faults.worded:
        place = places[fault.row or 0]
        if (place, fault.column or "") not in refused:
            no[place].append(_fault_words(fault, table, given, place, units))
    for doubt in doubts.worded:
        odd[places[doubt.row or 0]].append(_fault_words(doubt, table, given, places[doubt.row or 0], units))
    _name_faults_against_records(table, checked, records, places, no, given, units)
    known = _by_key(records[table.name].join(checked.frame, on=table.key, how="semi"), table)
    for place, row in enumerate(rows):
        key = tuple(row.values[name] for name in table.key)
        odd[place] = [*_cut_too_soon(table, row), *odd[place], *_far_from_the_farm(table, row, records, units)]
        rows[place] = replace(row, name=_name(table, row, fixed), before=known.get(key), refused=tuple(no[place]))
    for place, words in _compared_with_others(table, rows, records):
        odd[place].append(words)
    return tuple(replace(row, unlikely=tuple(odd[place])) for place, row in enumerate(rows))


def _in_record_units(
    table: Table, given: pl.DataFrame, units: Mapping[str, str], refused: dict[tuple[int, str], str]
) -> pl.DataFrame:
    """The cells with every quantity in the unit of the record; what cannot be read is blanked and named in refused."""
    bare, factors = {}, {}
    for name in TYPED_UNITS:
        if name in given.columns:
            split = [_without_unit(name, text, units.get(name, "")) for text in given[name]]
            bare[name] = pl.Series([text for text, _ in split], dtype=pl.String)
            factors[name] = [factor for _, factor in split]
    numbers = [bare.get(column.name, given[column.name]) for column in table.columns if column.kind == "number"]
    commas_are_decimal = any(has_decimal_commas(texts) for texts in numbers)
    converted = []
    for name, texts in bare.items():
        typed = read_column(table.column(name), texts, commas_are_decimal=commas_are_decimal)
        values = [
            None if value is None else as_text(float(value) * factor)
            for value, factor in zip(typed.values, factors[name], strict=True)
        ]
        for place, reason in enumerate(typed.reasons):
            if reason is not None:
                refused[place, name] = f"{given[name][place]} given; {reason}. Allowed {table.column(name).allowed}."
        converted.append(pl.Series(name, values, dtype=pl.String))
    return given.with_columns(converted)


def _without_unit(column: str, text: str | None, chosen: str) -> tuple[str | None, float]:
    """A cell without the unit typed behind the number, and the factor of that unit or the chosen one."""
    if text is not None:
        for unit in TYPED_UNITS[column]:
            match = re.fullmatch(rf"(.*\d[.,]?)\s*{re.escape(unit.name)}", text, flags=re.IGNORECASE)
            if match:
                return match.group(1), unit.factor
    return text, _factor(column, chosen)


def _factor(column: str, unit: str) -> float:
    """Raises BadInput for a unit that the column is not typed in."""
    if not unit:
        return 1.0
    for choice in TYPED_UNITS.get(column, ()):
        if choice.name == unit:
            return choice.factor
    raise BadInput(f"{column}: unit {unit!r} given; allowed {', '.join(unit_choices(column)) or 'none'}.")


def _fault_words(fault: Fault, table: Table, given: pl.DataFrame, place: int, units: Mapping[str, str]) -> str:
    names = (fault.column or "").split(" and ")
    what = " and ".join(
        label(table.column(name), units.get(name, "")) if name in table.column_names else name for name in names
    )
    shown = fault.given
    if len(names) == 1 and names[0] in TYPED_UNITS and given[names[0]][place] not in (None, fault.given):
        own = unit_choices(names[0])[0]
        shown = f"{given[names[0]][place]} ({fault.given} {own})"
    word = "usual is" if fault.is_doubt else "allowed"
    unit = f" {unit_choices(names[0])[0]}" if len(names) == 1 and names[0] in TYPED_UNITS else ""
    return f"{what}: {shown} given; {word} {fault.allowed}{unit}. {fault.remedy}".rstrip()


def _name_faults_against_records(
    table: Table,
    checked: CheckedTable,
    records: Records,
    places: Mapping[int, int],
    no: list[list[str]],
    given: pl.DataFrame,
    units: Mapping[str, str],
) -> None:
    """Names that the records do not hold, wrong methods, a plot in two pairs; for rows that are sound by themselves."""
    incoming = import_plan.Incoming(
        checked={table.name: checked},
        unreadable=frozenset(),
        faults=(),
        fault_count=0,
        questions=(),
        question_count=0,
        remarks=(),
    )
    plan = import_plan.plan(incoming, records)
    for fault in plan.faults:
        if fault.row is not None:  # a fault without a row asks for files, and none are brought here
            no[places[fault.row]].append(_fault_words(fault, table, given, places[fault.row], units))
    if plan.fault_count > len(plan.faults):
        for words in no:
            words.append("There are too many faults to name them all. Correct some of the rows first.")


def _by_key(frame: pl.DataFrame, table: Table) -> dict[tuple[object, ...], dict[str, object]]:
    rows = frame.select(table.column_names).iter_rows(named=True)
    return {tuple(row[name] for name in table.key): row for row in rows}


def _name(table: Table, row: Row, fixed: Mapping[str, object]) -> str:
    parts = [row.values[name] for name in table.key if name not in fixed]
    return key_text([part for part in parts if part is not None]) or f"row {row.number}"


def _cut_too_soon(table: Table, row: Row) -> list[str]:
    """A plot cut sooner after a product than the label asks; of all doubts the first to be told."""
    doubt = interval_doubt(row.values) if table is PLOTS else None
    return [] if doubt is None else [f"{doubt.words} Ask the buyer before delivering."]


def _far_from_the_farm(table: Table, row: Row, records: Records, units: Mapping[str, str]) -> list[str]:
    """Values far outside what this farm has on record, once it has enough to say."""
    if table not in (LOADS, SAMPLES, LOSS_CHECKS):
        return []
    found = []
    others = records[table.name].filter(
        ~pl.all_horizontal(pl.col(name).eq_missing(pl.lit(row.values[name])) for name in table.key)
    )
    for column in table.columns:
        value = row.values[column.name]
        if column.kind != "number" or not isinstance(value, float):
            continue
        known = others[column.name].drop_nulls()
        if len(known) < FARM_VALUES:
            continue
        low, high = (float(known.quantile(part, "linear") or 0) for part in (0.25, 0.75))
        spread = FARM_SPREADS * (high - low)
        if spread > 0 and not low - spread <= value <= high + spread:
            lowest, highest = as_text(known.min()), as_text(known.max())
            found.append(
                f"{label(column)}: {as_text(value)} given; on this farm so far it was {lowest} to {highest}."
                f" {column.remedy}".rstrip()
            )
    return found


def _compared_with_others(table: Table, rows: Sequence[Row], records: Records) -> list[tuple[int, str]]:
    """For loads: the same ticket on another plot, and a yield many times that of the rest of the field or pair."""
    if table is not LOADS:
        return []
    found = []
    stored = records["loads"]
    for place, row in enumerate(rows):
        same = stored.filter(
            pl.col("ticket").eq_missing(pl.lit(row.values["ticket"])),
            pl.col("crop_year").eq_missing(pl.lit(row.values["crop_year"])),
            (pl.col("field") != pl.lit(row.values["field"])) | (pl.col("plot") != pl.lit(row.values["plot"])),
        )
        for field, plot in same.select("field", "plot").iter_rows():
            found.append((place, f"ticket: {row.name} is on record for {field}, {plot} as well. Was it split?"))
    last = {tuple(row.values[name] for name in PLOT_KEY): place for place, row in enumerate(rows)}
    neighbours = {plot_key: _neighbours(plot_key, records) for plot_key in last}
    yields = plot_yields(records, rows, plots={*last, *chain.from_iterable(neighbours.values())})
    for plot_key, place in last.items():
        here = yields.get(plot_key)
        for neighbour in neighbours[plot_key]:
            there = yields.get(neighbour)
            if here and there and here > NEIGHBOUR_TIMES * there:
                words = f"{here:.1f} bu/ac, more than {NEIGHBOUR_TIMES} times the {there:.1f} of"
                found.append((place, f"yield so far: {words} {neighbour[1]}, {neighbour[2]}. Is the unit right?"))
    return found


def plot_yields(
    records: Records, rows: Sequence[Row], *, plots: Collection[tuple[object, ...]]
) -> dict[tuple[object, ...], float]:
    """bu/ac as sold by (crop_year, field, plot), of those plots that have acres: loads on record, or as typed."""
    wanted = pl.DataFrame(list(plots), schema={name: LOADS.polars_schema()[name] for name in PLOT_KEY}, orient="row")
    loads = _by_key(records["loads"].join(wanted, on=PLOT_KEY, how="semi"), LOADS) | {
        tuple(row.values[name] for name in LOADS.key): row.values for row in rows if not row.refused
    }
    kilograms: dict[tuple[object, ...], float] = {}
    for load in loads.values():
        weight, dockage = load["weight_kg"], load["dockage_pct"]
        if isinstance(weight, float):
            clean = weight * (100 - (dockage if isinstance(dockage, float) else 0)) / 100
            key = tuple(load[name] for name in PLOT_KEY)
            kilograms[key] = kilograms.get(key, 0.0) + clean
    acres = {row[:3]: row[3] for row in records["plots"].select(*PLOT_KEY, "acres").iter_rows()}
    return {key: mass / KG_PER_BUSHEL / acres[key] for key, mass in kilograms.items() if acres.get(key)}


def _neighbours(plot_key: tuple[object, ...], records: Records) -> list[tuple[object, ...]]:
    """The other plots of the field in that crop year, and the other side of its pair."""
    year, field, plot = plot_key
    others = [
        row for row in records["plots"].select(PLOT_KEY).iter_rows() if row[:2] == (year, field) and row[2] != plot
    ]
    for pair in records["pairs"].iter_rows(named=True):
        sides = [(pair["crop_year"], pair[f"{side}_field"], pair[f"{side}_plot"]) for side in ("standing", "windrowed")]
        if plot_key in sides:
            others += [side for side in sides if side != plot_key and side[2] is not None]
    return list(dict.fromkeys(others))

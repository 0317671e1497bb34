"""Strips into the records: a plot and a load each, the pairs, what is left of the points; one act, undone as one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.errors import BadInput, Refused
from analytics.files.checking import CheckedTable, name_broken_rules
from analytics.points.neighbours import STRIPS_SIDE_BY_SIDE, ProposedPair
from analytics.points.strip_yields import FieldYields, StripYield
from analytics.points.thinned import cells_of
from analytics.records.columns import ALLOCATIONS
from analytics.records.faults import Faults, fault_lines
from analytics.records.form import Table
from analytics.records.grown_tables import FIELDS, OPERATIONS, PAIRS, PLOTS
from analytics.records.harvest_tables import FIELD_TOTALS, LOADS
from analytics.records.own_tables import MONITOR_CELLS, MONITOR_REMOVALS, MONITOR_STRIPS
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, save
from analytics.trade.numbers_as_text import count, exact
from analytics.trade.units import M2_PER_ACRE

TICKET, MONITOR = "monitor", "yield monitor"

Row = dict[str, object]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripsToKeep:
    """What keeping strips would write, and a word on each thing that the grower may not expect.

    pairs : those that are written; strips that are in a pair already keep theirs
    remarks : sentences
    """

    saves: tuple[TableSave, ...]
    pairs: tuple[ProposedPair, ...]
    remarks: tuple[str, ...]
    why: str


def certified_total(connection: duckdb.DuckDBPyConnection, *, crop_year: int, field: str) -> float | None:
    """What the records hold of a field over a certified scale, kg; null where nothing."""
    rows = read_table(connection, "field_totals").filter(pl.col("crop_year") == crop_year, pl.col("field") == field)
    return float(rows["certified_kg"][0]) if rows.height else None


def plan_keeping(
    connection: duckdb.DuckDBPyConnection,
    found: FieldYields,
    pairs: Sequence[ProposedPair],
    *,
    allocation: str | None = None,
    with_hours: bool = False,
) -> StripsToKeep:
    """What keeping would write. A plot on record keeps what it has; only blanks are filled in, and its acres count.

    allocation : how the methods were given, one of ALLOCATIONS; null where it is not known
    with_hours : also the combine's hours, as field work, where none is on record for a strip
    Raises Refused for a plot that was cut the other way or has tickets already, and for what breaks a rule of the
    records, as a day of harvest in another year; BadInput for another word.
    """
    first = found.strips[0].strip
    of_year = {
        name: read_table(connection, name).filter(pl.col("crop_year") == first.crop_year)
        for name in ("plots", "loads", "pairs")
    }
    on_record = {
        row["plot"]: row for row in of_year["plots"].filter(pl.col("field") == first.field).iter_rows(named=True)
    }
    _refuse_what_is_there(found.strips, on_record, of_year["loads"])
    plots = [_plot(one, on_record.get(one.strip.plot)) for one in found.strips]
    loads = [_load(one, plot) for one, plot in zip(found.strips, plots, strict=True)]
    new, remarks = _new_pairs(pairs, of_year["pairs"])
    remarks += [
        f"{row['plot']}: its {exact(float(str(row['acres'])))} acres on record count; the outline has {acres:.2f}."
        for row, one in zip(plots, found.strips, strict=True)
        if abs(float(str(row["acres"])) - (acres := one.area_m2 / M2_PER_ACRE)) > 0.02 * acres
    ]
    place: Row = {"crop_year": first.crop_year, "field": first.field}
    tables: dict[Table, list[Row]] = {
        PLOTS: plots,
        LOADS: loads,
        PAIRS: [_pair(name, pair, allocation) for name, pair in new],
        MONITOR_STRIPS: [_summary(one, found) for one in found.strips],
        MONITOR_REMOVALS: [
            place | {"plot": one.strip.plot, "step": step, "points": points}
            for one in found.strips
            for step, points in one.removed.items()
        ],
        MONITOR_CELLS: [place | row for row in cells_of(found).iter_rows(named=True)],
    }
    if with_hours:
        tables[OPERATIONS] = _combining(connection, found)
    if first.field not in set(read_table(connection, "fields")["field"]):
        tables = {FIELDS: [{"field": first.field}], **tables}
    if found.certified_kg is not None:
        tables[FIELD_TOTALS] = [place | {"certified_kg": found.certified_kg, "notes": _notes(connection, place)}]
    _refuse_what_breaks_a_rule(tables, found.file.name)
    return StripsToKeep(
        saves=tuple(_save(connection, table, rows, place) for table, rows in tables.items() if rows),
        pairs=tuple(pair for _, pair in new),
        remarks=tuple(remarks),
        why=f"{count(len(found.strips), 'strip')} out of {found.file.name}",
    )


def keep_strips(connection: duckdb.DuckDBPyConnection, planned: StripsToKeep, *, done_by: str, source: str) -> int:
    """Write what was planned as one act; its number.

    source : as in history.save
    """
    return save(connection, list(planned.saves), done_by=done_by, source=source, why=planned.why)


def _refuse_what_is_there(
    strips: Sequence[StripYield], on_record: Mapping[str, Mapping[str, object]], loads: pl.DataFrame
) -> None:
    for one in strips:
        strip = one.strip
        row = on_record.get(strip.plot)
        if row is not None and row["method"] != strip.method:
            raise Refused(
                f"{strip.field} {strip.plot}, {strip.crop_year}: {strip.method} given; on record it is "
                f"{row['method']}. Correct one of the two; nothing was written."
            )
        others = loads.filter(pl.col("field") == strip.field, pl.col("plot") == strip.plot, pl.col("ticket") != TICKET)
        if others.height:
            raise Refused(
                f"{strip.field} {strip.plot}, {strip.crop_year}: {count(others.height, 'ticket')} on record already. "
                "The points would count its grain twice; where a strip has a ticket of its own, give it as "
                "certified_kg of the strip instead and take the ticket out. Nothing was written."
            )


def _refuse_what_breaks_a_rule(tables: Mapping[Table, list[Row]], label: str) -> None:
    """The rules of the records hold for what comes out of points too."""
    faults = Faults()
    for table in (PLOTS, LOADS, PAIRS):
        frame = pl.DataFrame(tables[table], schema=table.polars_schema())
        rows = pl.int_range(1, frame.height + 1, eager=True)
        name_broken_rules(
            CheckedTable(table=table, label=f"{label}, {table.name}", frame=frame, rows=rows, absent=(), is_whole=True),
            faults,
        )
    if faults.total:
        raise Refused("\n".join(["Nothing was written.", fault_lines(faults.listed(), faults.total)]))


def _plot(one: StripYield, on_record: Mapping[str, object] | None) -> Row:
    """The plot's row: as on record, with acres and day of harvest where they were blank."""
    strip = one.strip
    row = dict(on_record) if on_record is not None else dict.fromkeys(PLOTS.column_names)
    row |= {"crop_year": strip.crop_year, "field": strip.field, "plot": strip.plot, "method": strip.method}
    if row["acres"] is None:
        row["acres"] = round(one.area_m2 / M2_PER_ACRE, 4)
    if row["harvested_on"] is None:
        row["harvested_on"] = one.day
    return row


def _load(one: StripYield, plot: Row) -> Row:
    """One load a strip, as the monitor weighs: what it brings by the cleaned yield on the acres of the plot."""
    strip = one.strip
    acres = float(str(plot["acres"]))
    return {
        "crop_year": strip.crop_year,
        "field": strip.field,
        "plot": strip.plot,
        "ticket": TICKET,
        "delivered_on": one.day,
        "weight_kg": round(one.weight_kg * acres / (one.area_m2 / M2_PER_ACRE), 1),
        "moisture_pct": None if one.moisture_pct is None else round(one.moisture_pct, 2),
        "dockage_pct": strip.dockage_pct,
        "weighed_by": MONITOR,
    }


def _new_pairs(
    pairs: Sequence[ProposedPair], on_record: pl.DataFrame
) -> tuple[list[tuple[str, ProposedPair]], list[str]]:
    """Pairs whose strips are in none yet, under names that are free in their crop year; and a word on the others."""
    taken = {
        (row[f"{side}_field"], row[f"{side}_plot"])
        for side in ("standing", "windrowed")
        for row in on_record.iter_rows(named=True)
    }
    names = set(on_record["pair"])
    new: list[tuple[str, ProposedPair]] = []
    remarks = []
    for pair in pairs:
        sides = {(one.strip.field, one.strip.plot) for one in (pair.standing, pair.windrowed)}
        if sides & taken:
            remarks.append(
                f"{pair.standing.strip.plot} and {pair.windrowed.strip.plot}: one of them is in a pair on record, "
                "which stays as it is."
            )
            continue
        base = name = f"{pair.standing.strip.field} {pair.name}"
        number = 2
        while name in names:
            name, number = f"{base} ({number})", number + 1
        names.add(name)
        new.append((name, pair))
    return new, remarks


def _pair(name: str, pair: ProposedPair, allocation: str | None) -> Row:
    if allocation is not None and allocation not in ALLOCATIONS:
        raise BadInput(f"allocation: {allocation} given; allowed {', '.join(ALLOCATIONS)}.")
    standing, windrowed = pair.standing.strip, pair.windrowed.strip
    return {
        "crop_year": standing.crop_year,
        "pair": name,
        "standing_field": standing.field,
        "standing_plot": standing.plot,
        "windrowed_field": windrowed.field,
        "windrowed_plot": windrowed.plot,
        "layout": STRIPS_SIDE_BY_SIDE,
        "allocation": allocation,
        "notes": "neighbouring strips out of a yield monitor's points",
    }


def _combining(connection: duckdb.DuckDBPyConnection, found: FieldYields) -> list[Row]:
    """A row of field work for each strip that has none for combining on record."""
    named = read_table(connection, "operation_items").filter(pl.col("item") == "combining")["operation"].to_list()
    known = read_table(connection, "operations").filter(pl.col("operation").str.to_lowercase().is_in(named))
    done = set(known.select("crop_year", "field", "plot").iter_rows())
    return [
        {
            "crop_year": one.strip.crop_year,
            "field": one.strip.field,
            "plot": one.strip.plot,
            "done_on": one.day,
            "operation": "combining",
            "hours": round(max(one.hours, 0.01), 2),
            "notes": "out of a yield monitor's points",
        }
        for one in found.strips
        if one.hours is not None and (one.strip.crop_year, one.strip.field, one.strip.plot) not in done
    ]


def _summary(one: StripYield, found: FieldYields) -> Row:
    strip = one.strip
    return {
        "crop_year": strip.crop_year,
        "field": strip.field,
        "plot": strip.plot,
        "file_name": found.file.name,
        "fingerprint": found.file.fingerprint,
        "points": one.points,
        "kept": one.kept,
        "delay_s": found.delay_s,
        "cut_width_m": strip.cut_width_m,
        "covered": round(one.covered, 4),
        "monitor_kg": one.monitor_kg,
        "field_monitor_kg": found.field_monitor_kg,
        "certified_kg": strip.certified_kg,
        "combine_hours": None if one.hours is None else round(one.hours, 3),
        "thresholds": ", ".join(f"{name} {exact(value)}" for name, value in found.thresholds.items()),
        "outline": "; ".join(_place(corner, found) for corner in one.outline.corners),
    }


def _place(corner: tuple[float, float], found: FieldYields) -> str:
    if found.file.origin is None:
        return f"{corner[0]:.2f} {corner[1]:.2f}"
    longitude, latitude = found.file.origin.degrees(*corner)
    return f"{longitude:.7f} {latitude:.7f}"


def _notes(connection: duckdb.DuckDBPyConnection, place: Row) -> str | None:
    rows = read_table(connection, "field_totals").filter(
        pl.col("crop_year") == place["crop_year"], pl.col("field") == place["field"]
    )
    return None if rows.is_empty() else rows["notes"][0]


def _save(connection: duckdb.DuckDBPyConnection, table: Table, rows: list[Row], place: Row) -> TableSave:
    """The rows of a table; of a strip that is brought in again nothing of the first time is left over."""
    frame = pl.DataFrame(rows, schema=table.polars_schema())
    removed = frame.clear()
    if table in (MONITOR_REMOVALS, MONITOR_CELLS):
        before = read_table(connection, table.name).filter(
            pl.col("crop_year") == place["crop_year"],
            pl.col("field") == place["field"],
            pl.col("plot").is_in(frame["plot"].unique().to_list()),
        )
        removed = before.join(frame, on=table.key, how="anti")
    return TableSave(table=table, saved=frame, removed=removed)

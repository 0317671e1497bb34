"""How the columns of somebody else's file match ours: guessed by their names, chosen, kept for next year."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.files.text_tables import CellUnits, TextTable
from analytics.files.typed_columns import read_column
from analytics.records.faults import Fault
from analytics.records.form import LONGEST_NAME, Column, Table
from analytics.records.own_tables import COLUMN_MATCHES, SAVED_TABLES
from analytics.records.tables import TABLES
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, save
from analytics.trade.units import (
    BUSHELS_PER_TONNE,
    KG_HA_PER_BU_AC,
    KG_HL_PER_LB_AVERY,
    KG_PER_POUND,
    KG_PER_TONNE,
    KM_PER_MILE,
    KMH_PER_M_S,
    M2_PER_ACRE,
    M2_PER_HECTARE,
    M_PER_FOOT,
    POUNDS_PER_BUSHEL,
    TYPED_UNITS,
    Unit,
    unit_names,
    unit_of,
)

# What a file may hold besides what is typed; the first is the unit of the record. A bushel of canola is 50 lb, one of
# barley 48 (Alberta Agriculture, bushel and tonne converter, reviewed 2002).
FILE_UNITS = TYPED_UNITS | {
    "acres": (Unit("ac", 1.0), Unit("ha", M2_PER_HECTARE / M2_PER_ACRE)),
    "dollars_per_acre": (Unit("per acre", 1.0), Unit("per hectare", M2_PER_ACRE / M2_PER_HECTARE)),
    "dollars_per_tonne": (
        Unit("per tonne", 1.0),
        Unit("per bushel of 50 lb", BUSHELS_PER_TONNE),
        Unit("per bushel of 48 lb", KG_PER_TONNE / (48 * KG_PER_POUND)),
    ),
    "test_weight_kg_hl": (Unit("kg/hL", 1.0), Unit("lb per Avery bushel", KG_HL_PER_LB_AVERY)),
    # Points of a yield monitor; mg/m2, mg/s and ppm are how ISO 11783-11 holds them.
    "flow_kg_s": (
        Unit("kg/s", 1.0),
        Unit("lb/s", KG_PER_POUND),
        Unit("t/h", KG_PER_TONNE / 3600),
        Unit("mg/s", 1e-6),
    ),
    "mass_kg": (Unit("kg", 1.0), Unit("lb", KG_PER_POUND), Unit("g", 1e-3)),
    "wet_kg_ha": (
        Unit("kg/ha", 1.0),
        Unit("t/ha", float(KG_PER_TONNE)),
        Unit("bu/ac", KG_HA_PER_BU_AC),
        Unit("lb/ac", KG_HA_PER_BU_AC / POUNDS_PER_BUSHEL),
        Unit("mg/m2", 0.01),
    ),
    "grain_moisture_pct": (Unit("%", 1.0), Unit("ppm", 1e-4)),
    "distance_m": (Unit("m", 1.0), Unit("ft", M_PER_FOOT), Unit("in", M_PER_FOOT / 12), Unit("mm", 1e-3)),
    "speed_m_s": (Unit("m/s", 1.0), Unit("km/h", 1 / KMH_PER_M_S), Unit("mph", KM_PER_MILE / KMH_PER_M_S)),
    "width_m": (Unit("m", 1.0), Unit("ft", M_PER_FOOT), Unit("in", M_PER_FOOT / 12), Unit("mm", 1e-3)),
}

# What our columns are called on paper and in spreadsheets, beside their own names; common practice, no source.
OTHER_WORDS = {
    "crop_year": "season",
    "field": "land quarter",
    "plot": "strip piece part",
    "acres": "acre area ac ha hectares size",
    "soil": "texture",
    "topography": "slope lie",
    "notes": "note remark remarks comment comments",
    "seeded_on": "date seeding planted",
    "method": "how cut",
    "windrowed_on": "date windrow windrowing",
    "harvested_on": "date harvest combined combining",
    "preharvest_on": "date product",
    "ticket": "receipt slip load",
    "delivered_on": "date day delivery",
    "weight_kg": "net mass",
    "moisture_pct": "water mst",
    "dockage_pct": "dock",
    "weighed_by": "scale weigher",
    "certified_kg": "net weight total mass",
    "taken_on": "date day",
    "graded_by": "grader buyer",
    "seeds_crushed": "crushed counted count",
    "green_seeds": "green",
    "green_pct": "green",
    "loss_pct": "loss lost",
    "heated_pct": "heat",
    "total_damage_pct": "damaged",
    "test_weight_kg_hl": "bushel",
    "thousand_seed_g": "tsw tkw thousand seed weight",
    "checked_on": "date day",
    "place": "where",
    "area_m2": "frame pan",
    "grams": "seed weight mass",
    "cut_width_m": "header",
    "discharge_width_m": "windrow spread",
    "seconds_note": "note notes remark remarks how",
    "done_on": "date day",
    "operation": "work job",
    "dollars_per_acre": "cost price",
    "happened_on": "date day",
    "event": "weather",
    "reading": "value amount",
    "dollars_per_tonne": "price",
    "bin": "tank storage",
    "conditioned_on": "date dried cooled",
    "emptied_on": "date empty",
    "filled_on": "date day filling",
    "temperature_c": "temp degrees",
    "outside_c": "temp temperature air ambient",
    "smell": "odour",
    "action": "done",
    "recorded_at": "date time timestamp utc when",
    "longitude": "lon long lng x",
    "latitude": "lat y",
    "position": "wkt geometry geom point",
    "east_m": "easting x",
    "north_m": "northing y",
    "flow_kg_s": "flow rate",
    "mass_kg": "weight grain",
    "wet_kg_ha": "yield wet",
    "grain_moisture_pct": "water mst",
    "distance_m": "dist travelled driven",
    "speed_m_s": "ground velocity",
    "width_m": "swath cut",
    "header_up": "head raised lifted",
    "pass_name": "pass run line track",
    "machine": "combine",
}
UNIT_WORDS = {
    "t": "t mt tonne tonnes",
    "lb": "lb lbs pound pounds",
    "bu": "bu bushel bushels",
    "ft": "ft feet foot",
    "in": "in inch inches",
    "sq ft": "ft2 sqft",
    "sq in": "in2 sqin",
    "mL": "ml",
    "ha": "ha hectare hectares",
    "lb per Avery bushel": "lb lbs",
    "per hectare": "ha hectare",
    "per bushel of 50 lb": "bu bushel",
    "lb/s": "lb lbs pound pounds",
    "lb/ac": "lb lbs pound pounds",
    "bu/ac": "bu bushel bushels",
    "t/h": "t tonne tonnes h",
    "t/ha": "t tonne tonnes",
    "km/h": "km kmh kph",
    "mph": "mph mi mile miles",
    "ppm": "ppm",
    "mg/m2": "mg",
    "mg/s": "mg",
    "mm": "mm",
}
OWN_UNIT_WORDS = "kg hl pct percent g m m2 ac s number no nr num id dollars per on by"
PASSED_OVER = {*" ".join(UNIT_WORDS.values()).split(), *OWN_UNIT_WORDS.split()}
NEVER_GUESSED = {"gross", "tare", "dry"}  # a scale weight of the record is net, a monitor's yield not dried
ALIKE = 0.8  # of two words, by difflib; below it two short words can look alike by chance
LIKELY = 0.5  # half of a column's words
TABLE_LIKELY = 1.5  # columns' worth of likeness; below it a table is not guessed


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """Where each column of a table of ours comes from in a file.

    columns : the file's column (its plain name) by column of ours
    units : unit of the file's numbers by column of ours, where it is not the record's own
    constants : what stands in every row, as typed, by column of ours that the file does not have
    """

    table: Table
    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)

    @property
    def missing(self) -> list[Column]:
        """Columns that are needed and come from nowhere."""
        return [
            column
            for column in self.table.columns
            if column.required and column.name not in self.columns and not self.constants.get(column.name, "").strip()
        ]

    def not_read(self, headers: Iterable[str]) -> list[str]:
        """Columns of the file that nothing is taken from."""
        return [header for header in headers if header not in self.columns.values()]

    def fits(self, headers: Iterable[str]) -> bool:
        """Whether the file has every column that the match takes."""
        return set(self.columns.values()) <= set(headers)


def unit_choices(column: str) -> tuple[str, ...]:
    """Units in which a file may hold a column, the record's own first; empty where there is no choice."""
    return unit_names(column, FILE_UNITS)


def is_ours(text: TextTable) -> bool:
    """Whether a table of text has the name of one of ours, its needed columns, and none that is not ours."""
    table = SAVED_TABLES.get(text.name)
    if table is None:
        return False
    needed = {column.name for column in table.columns if column.required}
    return needed <= set(text.cells.columns) <= set(table.column_names)


# --- guessing


def guess_table(name: str, headers: Sequence[str]) -> Table | None:
    """The table whose columns the headers are most like; null when they are like none.

    name : the plain name of the file or sheet, which counts as a column
    """
    likeness = {table.name: _table_likeness(table, name, headers) for table in TABLES.values()}
    likeliest = max(likeness, key=lambda table: likeness[table])
    return TABLES[likeliest] if likeness[likeliest] >= TABLE_LIKELY else None


def _table_likeness(table: Table, name: str, headers: Sequence[str]) -> float:
    found = guess_match(table, headers)
    likeness = sum(_likeness(column, header) for column, header in found.columns.items())
    named = any(table.name.rstrip("s").startswith(word.rstrip("s")) for word in _words(name) if len(word) > 3)
    return likeness + named - 0.5 * len(found.missing)


def guess_match(table: Table, headers: Sequence[str]) -> Match:
    """The file's columns whose names are most like ours, each taken once, and the units that their names speak of."""
    candidates = [
        (-likeness, place, column.name, header)
        for place, column in enumerate(table.columns)
        for header in headers
        if (likeness := _likeness(column.name, header)) >= LIKELY
    ]
    columns: dict[str, str] = {}
    for _, _, column, header in sorted(candidates):
        if column not in columns and header not in columns.values():
            columns[column] = header
    units = {column: unit for column, header in columns.items() if (unit := _unit_in(column, header))}
    return Match(table=table, columns=columns, units=units)


def _likeness(column: str, header: str) -> float:
    """2 for the very name, else the share of the header's words that are like one of the column's."""
    if header.replace(" ", "_") == column:
        return 2.0
    words = [word for word in _words(header) if word not in PASSED_OVER]
    if not words or NEVER_GUESSED & set(words):
        return 0.0
    own = {word for word in column.split("_") if word not in PASSED_OVER} | set(OTHER_WORDS.get(column, "").split())
    return sum(max(_word_likeness(word, other) for other in own) for word in words) / len(words)


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z]+2?", text.replace("sq ft", "ft2").replace("sq in", "in2").lower())


def _word_likeness(word: str, other: str) -> float:
    if word == other:
        return 1.0
    ratio = SequenceMatcher(None, word, other).ratio() if min(len(word), len(other)) > 3 else 0.0
    return ratio if ratio >= ALIKE else 0.0


def _unit_in(column: str, header: str) -> str:
    """The unit that a header names, "" where it names none or the record's own."""
    if header.replace(" ", "_") == column:
        return ""
    words = set(_words(header))
    own, *others = unit_choices(column) or ("",)
    return "" if own in words else next((unit for unit in others if words & set(UNIT_WORDS.get(unit, "").split())), "")


# --- reading by a match


def constant_problem(column: Column, text: str) -> str:
    """What is wrong with a value typed for every row; "" when nothing is."""
    reason = read_column(column, pl.Series([text.strip() or None], dtype=pl.String)).reasons[0]
    return (
        ""
        if reason is None
        else f"{column.name}: {text} given; {reason or 'not one of the words'}. Allowed {column.allowed}."
    )


def as_matched(text: TextTable, match: Match) -> TextTable:
    """The table as one of ours, still as text; rows that hold nothing in the matched columns are left out.

    Raises BadInput when the file lacks a column of the match, or for a unit that a column is not held in.
    """
    if not match.fits(text.cells.columns):
        lacking = sorted(set(match.columns.values()) - set(text.cells.columns))
        raise BadInput(f"{text.label}: no column {', '.join(lacking)}; the match takes it. Choose another column.")
    chosen = {
        column: unit_of(column, match.units.get(column, choices[0].name), FILE_UNITS)
        for column, choices in FILE_UNITS.items()
        if column in match.columns
    }
    taken = pl.DataFrame([text.cells[header].alias(column) for column, header in match.columns.items()])
    is_filled = taken.select(pl.any_horizontal(pl.all().is_not_null())).to_series()
    constants = {column: value.strip() or None for column, value in match.constants.items()}
    return TextTable(
        name=match.table.name,
        label=text.label,
        cells=taken.filter(is_filled).with_columns(
            pl.lit(value, dtype=pl.String).alias(column)
            for column, value in constants.items()
            if column not in match.columns
        ),
        rows=text.rows.filter(is_filled),
        is_whole=text.is_whole,
        # The chosen unit may stand behind the number too; any other is left there, and is refused with the number.
        units={column: CellUnits(usual=unit, named=(unit,)) for column, unit in chosen.items()},
    )


def in_words_of_the_file(fault: Fault, match: Match | None) -> Fault:
    """A fault of a matched table with the file's own name of the column, and with both units."""
    column = fault.column or ""
    if match is None or column not in match.columns:
        return fault
    header = match.columns[column]
    named = replace(fault, column=column if header == column else f"{header} ({column})")
    choices = unit_choices(column)
    if not choices or column not in match.units:
        return named
    given = choices[0] if fault.is_doubt else match.units[column]  # a doubt shows the value as it would be kept
    return replace(named, given=f"{fault.given} {given}", allowed=f"{fault.allowed} {choices[0]}")


# --- keeping


def kept_matches(
    connection: duckdb.DuckDBPyConnection, tables: Mapping[str, Table] = TABLES
) -> dict[tuple[str, str], Match]:
    """The matches on record by name and table, in alphabetical order; without constants, which change by the year.

    A column or unit that we do not know (any more) is passed over, and chosen anew.
    tables : those whose matches are wanted, by name
    """
    found: dict[tuple[str, str], Match] = {}
    rows = read_table(connection, COLUMN_MATCHES.name).sort(COLUMN_MATCHES.key)
    for (name, table_name), group in rows.group_by("name", "table_name", maintain_order=True):
        if table := tables.get(str(table_name)):
            known = group.filter(pl.col("column_name").is_in(table.column_names))
            columns = dict(known.select("column_name", "file_column").iter_rows())
            units = {
                column: unit
                for column, unit in known.select("column_name", "unit").iter_rows()
                if unit in unit_choices(column)
            }
            found[str(name), table.name] = Match(table=table, columns=columns, units=units)
    return found


def keep_match(connection: duckdb.DuckDBPyConnection, name: str, match: Match, *, done_by: str) -> int:
    """Keep a match under a name, in the place of one of the same name and table; the number of the act.

    Raises BadInput for a name of no or too many letters, and for a match without a column.
    """
    kept = " ".join(name.split())
    if not 1 <= len(kept) <= LONGEST_NAME:
        raise BadInput(f"name of the match: {kept!r} given; allowed 1 to {LONGEST_NAME} letters.")
    if not match.columns:
        raise BadInput(f"{kept}: no column is matched; allowed a match of one column or more.")
    rows = pl.DataFrame(
        [
            {
                "name": kept,
                "table_name": match.table.name,
                "column_name": column,
                "file_column": header,
                "unit": match.units.get(column),
            }
            for column, header in match.columns.items()
        ],
        schema=COLUMN_MATCHES.polars_schema(),
    )
    before = read_table(connection, COLUMN_MATCHES.name).filter(
        pl.col("name") == kept, pl.col("table_name") == match.table.name
    )
    gone = before.join(rows, on=COLUMN_MATCHES.key, how="anti")
    one = TableSave(table=COLUMN_MATCHES, saved=rows, removed=gone)
    return save(connection, [one], done_by=done_by, source="screen", why=f"columns of {match.table.name} matched")

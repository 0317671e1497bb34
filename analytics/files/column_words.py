"""What columns are called on paper and in spreadsheets, how like one of ours a name is, and the units files hold."""

import re
from difflib import SequenceMatcher
from functools import cache, lru_cache

from analytics.records.tables import TABLES
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
    "crop_year": "season yr",
    "field": "land quarter location farm fld",
    "plot": "strip piece part side half",
    "acres": "acre area ac ha hectares size",
    "soil": "texture",
    "topography": "slope lie",
    "notes": "note remark remarks comment comments",
    "seeded_on": "date seeding planted",
    "method": "how cut harvest type treatment",
    "windrowed_on": "windrow windrowing",
    "harvested_on": "harvest combined combining",
    "preharvest_on": "product",
    "ticket": "receipt slip load tkt",
    "delivered_on": "date day delivery",
    "weight_kg": "net mass wt",
    "moisture_pct": "water mst moist mc",
    "dockage_pct": "dock dkg",
    "weighed_by": "scale weigher",
    "certified_kg": "net weight total mass",
    "sample": "slip ticket tkt receipt load",
    "taken_on": "date day",
    "graded_by": "grader buyer",
    "seeds_crushed": "crushed counted count",
    "green_seeds": "green",
    "green_pct": "green",
    "loss_pct": "loss lost",
    "heated_pct": "heat",
    "total_damage_pct": "damaged",
    "test_weight_kg_hl": "bushel tw wt",
    "thousand_seed_g": "tsw tkw tgw thousand seed kernel weight",
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
NET = "gross less tare"  # a column worked out where a file has both, and no net weight
OF_ANY_DATE = {"date", "day"}  # beside another word they say nothing; alone, nothing of which of a plot's three days
NEVER_GUESSED = {"gross", "tare", "empty", "dry"}  # a scale weight of the record is net, a monitor's yield not dried
ALIKE = 0.8  # of two words, by difflib; up to it two short words can look alike by chance
LONGEST_HEADING = 60  # letters
A_LITTLE = 0.01  # decides between two columns that are alike by their words
LIKELY = 0.5  # half of a column's words


def unit_choices(column: str) -> tuple[str, ...]:
    """Units in which a file may hold a column, the record's own first; empty where there is no choice."""
    return unit_names(column, FILE_UNITS)


def likeness(column: str, header: str) -> float:
    """2 for the very name, else the share of the header's words that are like one of the column's."""
    if header.replace(" ", "_") == column:
        return 2.0
    if header.startswith(NET) and column == "weight_kg":
        return 1.0
    words = [word for word in words_of(header) if word not in PASSED_OVER] or words_of(header)
    words = [word for word in words if word not in OF_ANY_DATE] or words
    if not words or NEVER_GUESSED & set(words):
        return 0.0
    own = {word for word in column.split("_") if word not in PASSED_OVER} | set(OTHER_WORDS.get(column, "").split())
    alike = sum(max(_word_likeness(word, other) for other in own) for word in words) / len(words)
    is_percent = "%" in header or bool({"pct", "percent"} & set(words_of(header)))
    return alike + A_LITTLE * (is_percent and column.endswith("_pct"))


def words_of(text: str) -> list[str]:
    """The words of a heading, in small letters, without numbers."""
    return re.findall(r"[a-z]+2?", text.replace("sq ft", "ft2").replace("sq in", "in2").lower())


@cache
def is_like_a_heading(text: str) -> bool:
    """Whether a cell could be the name of a column of records."""
    words = words_of(text)
    if not words or len(text) > LONGEST_HEADING:
        return False
    told = [word for word in words if word not in PASSED_OVER]
    known = [word for word in told if any(_word_likeness(word, other) for other in _known_words())]
    return bool(told) and len(known) >= LIKELY * len(told)


def is_unit(text: str) -> bool:
    """Whether a cell holds nothing but units and the like, as a second line of column names does: (lb), %, kg/hL."""
    words = words_of(text)
    return not any(letter.isdigit() for letter in text) and all(word in PASSED_OVER for word in words)


@cache
def _known_words() -> frozenset[str]:
    own = (word for table in TABLES.values() for column in table.column_names for word in column.split("_"))
    return frozenset({*own, *" ".join(OTHER_WORDS.values()).split(), *NEVER_GUESSED} - PASSED_OVER)


@lru_cache(maxsize=10_000)  # the same words stand in many columns
def _word_likeness(word: str, other: str) -> float:
    if word == other:
        return 1.0
    likely = ALIKE * (len(word) + len(other)) / 2  # letters that two alike words have in common, at the least
    shorter = min(len(word), len(other))
    if shorter <= 3 or shorter <= likely or sum(letter in other for letter in word) <= likely:
        return 0.0  # as almost all are, told without the comparison, which takes ten times as long
    ratio = SequenceMatcher(None, word, other).ratio()
    return ratio if ratio > ALIKE else 0.0


def unit_in(column: str, header: str) -> str:
    """The unit that a header names, "" where it names none or the record's own."""
    if header.replace(" ", "_") == column:
        return ""
    words = set(words_of(header))
    own, *others = unit_choices(column) or ("",)
    return "" if own in words else next((unit for unit in others if words & set(UNIT_WORDS.get(unit, "").split())), "")

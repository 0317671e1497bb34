"""Units of the trade: each constant with its source, each conversion one multiplication.

Inside the program yields are bu/ac (canola, 50 lb) and masses kg; other units exist only where a number is typed or
shown.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analytics.errors import BadInput

CROP = "canola"  # as it is written in the records, in any case
MAX_DRY_PCT = 10.0  # canola is dry up to here: Off Grades of Grain Order, C.R.C. c. 890, Schedule I, August 2025
KG_PER_POUND = 0.45359237  # exact, international yard and pound agreement of 1959 (value from memory)
M_PER_FOOT = 0.3048  # exact, same agreement (value from memory)
M2_PER_FT2 = M_PER_FOOT**2
L_PER_US_GALLON = 3.785411784  # exact, 231 cubic inches of 2.54 cm (value from memory)
KMH_PER_M_S = 3.6  # 3600 s in an hour, 1000 m in a km
KM_PER_MILE = 5280 * M_PER_FOOT / 1000  # 1760 yards of 3 ft
FT2_PER_ACRE = 43560  # 66 ft x 660 ft; also used on the yield estimate page of Alberta Agriculture
M2_PER_ACRE = FT2_PER_ACRE * M2_PER_FT2
M2_PER_HECTARE = 10_000
KG_PER_TONNE = 1000
POUNDS_PER_BUSHEL = 50  # canola; Canada Grains Council handbook 1999 prints 44.092 bu/t, which is 50 lb
KG_PER_BUSHEL = POUNDS_PER_BUSHEL * KG_PER_POUND
BUSHELS_PER_TONNE = KG_PER_TONNE / KG_PER_BUSHEL
KG_HA_PER_BU_AC = KG_PER_BUSHEL / M2_PER_ACRE * M2_PER_HECTARE
G_M2_PER_BU_AC = KG_HA_PER_BU_AC / 10  # 1 g/m2 is 10 kg/ha
KG_HL_PER_LB_AVERY = 1.247  # Canadian Grain Commission, test weight calculators (ratio rounded there)

# What one bu/ac is in each unit a yield can be shown in.
PER_BU_AC = {
    "bu/ac": 1.0,
    "t/ha": KG_HA_PER_BU_AC / KG_PER_TONNE,
    "kg/ha": KG_HA_PER_BU_AC,
    "lb/ac": float(POUNDS_PER_BUSHEL),
}

# Decimals that keep about a tenth of a bushel per acre visible.
YIELD_DECIMALS = {"bu/ac": 1, "t/ha": 2, "kg/ha": 0, "lb/ac": 0}

# Derived from 325 g in half a litre; that this is a usual test weight of canola is from memory. The Canadian Grain
# Commission measures in g/0.5 L.
BULK_DENSITY_G_ML = 0.65


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit in which a quantity may be typed. `factor` turns it into the unit of the record."""

    name: str
    factor: float


# What a person may type for each recorded quantity; the first is the unit of the record.
TYPED_UNITS = {
    "weight_kg": (
        Unit("kg", 1.0),
        Unit("t", float(KG_PER_TONNE)),
        Unit("lb", KG_PER_POUND),
        Unit("bu", KG_PER_BUSHEL),
    ),
    "certified_kg": (
        Unit("kg", 1.0),
        Unit("t", float(KG_PER_TONNE)),
        Unit("lb", KG_PER_POUND),
        Unit("bu", KG_PER_BUSHEL),
    ),
    "cut_width_m": (Unit("m", 1.0), Unit("ft", M_PER_FOOT), Unit("in", M_PER_FOOT / 12)),
    "discharge_width_m": (Unit("m", 1.0), Unit("ft", M_PER_FOOT), Unit("in", M_PER_FOOT / 12)),
    "distance_km": (Unit("km", 1.0), Unit("mi", KM_PER_MILE)),
    "area_m2": (Unit("m2", 1.0), Unit("sq ft", M2_PER_FT2), Unit("sq in", M2_PER_FT2 / 144)),
    "dollars_per_tonne": (Unit("$/t", 1.0), Unit("$/bu", BUSHELS_PER_TONNE)),  # of canola
    "ground_speed_kmh": (Unit("km/h", 1.0), Unit("mph", KM_PER_MILE)),
    "fuel_l": (Unit("L", 1.0), Unit("US gal", L_PER_US_GALLON)),
    "grams": (Unit("g", 1.0), Unit("mL", BULK_DENSITY_G_ML)),  # seed is weighed, or its volume measured
}


def unit_names(column: str, units: Mapping[str, Sequence[Unit]] = TYPED_UNITS) -> tuple[str, ...]:
    """Units that a column may be given in, the record's own first; empty where there is no choice."""
    return tuple(unit.name for unit in units.get(column, ()))


def unit_of(column: str, name: str, units: Mapping[str, Sequence[Unit]] = TYPED_UNITS) -> Unit:
    """The unit of that name. Raises BadInput for one that the column is not given in."""
    for unit in units.get(column, ()):
        if unit.name == name:
            return unit
    raise BadInput(f"{column}: unit {name!r} given; allowed {', '.join(unit_names(column, units)) or 'none'}.")


def per_bu_ac(unit: str) -> float:
    """How much of `unit` is 1 bu/ac of canola. Raises BadInput for a unit that yields are not shown in."""
    if unit not in PER_BU_AC:
        raise BadInput(f"yield unit: {unit!r} given; allowed {', '.join(PER_BU_AC)}.")
    return PER_BU_AC[unit]


def net_clean(mass: float, *, dockage_pct: float) -> float:
    """Mass left when dockage is out, in the unit of `mass`.

    Source: Canada Grain Regulations, section 1: net weight is gross less the dockage on the ticket.
    Raises ValueError when dockage is not from 0 to 100.
    >>> net_clean(20_000.0, dockage_pct=2.0)
    19600.0
    """
    if not 0 <= dockage_pct <= 100:
        raise ValueError(f"dockage is {dockage_pct} %; it must be 0 to 100")
    return mass * (100 - dockage_pct) / 100


def lb_per_avery_bushel(kg_hl: float) -> float:
    """Test weight in pounds per Avery bushel, the one of Canadian tickets. Source: Canadian Grain Commission."""
    return kg_hl / KG_HL_PER_LB_AVERY

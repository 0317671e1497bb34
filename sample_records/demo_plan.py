"""What is planned of the demo farm, and not drawn: fields, years, pairs, oddities, prices, bins.

Nothing here is a real farm, place, person or product.
"""

from dataclasses import dataclass
from datetime import date

SEED = 1914
FARM_MEAN_BU_AC = 42.0
FIELD_SD, SAME_FIELD_SD, TWO_FIELDS_SD = 5.0, 3.2, 6.5  # bu/ac; the last two are of one difference
EARLY_CUT_LOSS_BU_AC = 4.0
KG_PER_BUSHEL = 22.6796185  # canola, 50 lb
ONE_MOISTURE_PCT = 10.0
GRAMS_M2_PER_BU_AC = 5.60426

COLUMNS = {
    "fields": "field acres soil topography notes",
    "plantings": "crop_year field crop variety shatter_tolerant herbicide_system seeded_on weed_pressure stand notes",
    "plots": "crop_year field plot method acres seed_colour_change_pct windrowed_on preharvest_on preharvest_product "
    "preharvest_interval_days harvested_on waiting_hours notes",
    "pairs": "crop_year pair standing_field standing_plot windrowed_field windrowed_plot layout allocation notes",
    "loads": "crop_year field plot ticket delivered_on weight_kg moisture_pct dockage_pct weighed_by",
    "samples": "crop_year field plot sample taken_on graded_by grade seeds_crushed green_seeds heated_pct "
    "total_damage_pct admixture_pct test_weight_kg_hl thousand_seed_g",
    "loss_checks": "crop_year field plot checked_on place spot seeds grams area_m2 cut_width_m discharge_width_m "
    "seconds_note hour_of_day ground_speed_kmh air_c humidity_pct machine_settings",
    "operations": "crop_year field plot done_on operation dollars_per_acre hours fuel_l stops machine operator job "
    "notes",
    "weather": "happened_on field event reading unit hours_below_zero notes",
    "prices": "crop_year crop grade dollars_per_tonne",
    "field_distances": "field other_field distance_km",
    "plot_totals": "crop_year field plot certified_kg notes",
    "spring_counts": "crop_year field plot counted_on spot plants area_m2",
    "bins": "crop_year bin conditioned_on emptied_on notes",
    "bin_fills": "crop_year bin filled_on field plot weight_kg moisture_pct temperature_c notes",
    "bin_checks": "crop_year bin checked_on place temperature_c moisture_pct outside_c smell action",
}

FIELDS = {  # acres, soil, topography, notes
    "North half": (316, "loam", "level", "Two strips of bush along the north side"),
    "East half": (304, "clay loam", "level", ""),
    "Creek quarter": (152, "clay loam", "gently rolling", "Low ground by the creek ripens late"),
    "Home quarter": (148, "loam", "level", ""),
    "Bluff quarter": (156, "loam", "gently rolling", ""),
    "Willow quarter": (150, "silty clay", "level", "Wet spot in the middle"),
    "Long eighty": (78, "sandy loam", "level", ""),
    "Slough eighty": (74, "clay", "low and wet", "Two sloughs left out of the acres"),
    "Corner eighty": (76, "loam", "rolling", ""),
    "Gate eighty": (82, "loam", "rolling", ""),
    "Ridge sixty": (60, "sandy loam", "rolling", "Knolls ripen first"),
}
MIDDLES = {  # km east and north of the yard; Gate eighty was never measured
    "North half": (0.4, 1.6),
    "East half": (1.9, -0.4),
    "Creek quarter": (-1.2, 2.0),
    "Home quarter": (0.4, -0.4),
    "Bluff quarter": (-0.5, 0.4),
    "Willow quarter": (3.6, 1.2),
    "Long eighty": (-7.2, 5.6),
    "Slough eighty": (2.0, 3.3),
    "Corner eighty": (4.4, -0.8),
    "Ridge sixty": (3.0, 3.5),
}
STRIP_ACRES = {"North half": 14.5, "East half": 14.4, "Creek quarter": 12.1}
SHATTER_TOLERANT = {"Variety A": "no", "Variety B": "yes", "Variety C": "yes", "Variety D": "no", "Variety E": "yes"}
HERBICIDE_SYSTEM = {
    "Variety A": "system 1",
    "Variety B": "system 1",
    "Variety C": "system 2",
    "Variety D": "system 3",
    "Variety E": "system 2",
}
LABEL_INTERVAL_DAYS = {"systemic weed control": 14, "contact desiccant": 9}  # invented, of no real label


@dataclass(frozen=True)
class Year:
    """One season: bu/ac over the farm mean, standing minus windrowed, first dates, and what the harvest was like."""

    level: float
    effect: float
    seeded: date
    windrowed: date
    lying_days: tuple[int, int]
    shatter: tuple[float, float]  # bu/ac on the ground before standing harvest
    green_pct: tuple[float, float]  # standing, windrowed
    moisture_shift: float
    dockage_pct: float
    price: int  # dollars a tonne, No. 1


WIND_YEAR, FROST_YEAR = 2021, 2023
YEARS = {  # chosen, not drawn; mean effect with the wind about +1, spread between years about 3
    2020: Year(3, 1.5, date(2020, 5, 8), date(2020, 8, 20), (8, 13), (0.2, 0.8), (0.5, 0.9), 0.0, 1.6, 560),
    2021: Year(-8, 0.0, date(2021, 5, 1), date(2021, 8, 12), (10, 12), (3.0, 6.0), (0.4, 0.7), -1.2, 1.4, 845),
    2022: Year(6, 2.0, date(2022, 5, 11), date(2022, 8, 21), (8, 14), (0.2, 0.9), (0.6, 1.1), 0.3, 1.7, 815),
    2023: Year(-3, 3.5, date(2023, 5, 6), date(2023, 8, 17), (9, 14), (0.3, 1.0), (3.7, 6.2), 1.5, 2.0, 690),
    2024: Year(-1, 0.5, date(2024, 5, 3), date(2024, 8, 20), (8, 12), (0.2, 0.9), (0.5, 1.0), -0.3, 2.9, 605),
    2025: Year(7, 2.0, date(2025, 4, 29), date(2025, 8, 16), (8, 13), (0.3, 1.0), (0.4, 0.9), 0.0, 1.5, 625),
}


@dataclass(frozen=True)
class Trial:
    """Canola of one season that was compared: its pairs are the strips, halves or fields of one field-year."""

    crop_year: int
    pair: str
    layout: str
    standing: str
    windrowed: str  # empty: a standing field in no pair
    variety: str
    product: str = ""
    pairs: int = 1
    allocation: str = "chosen"
    weighed_by: str = "certified scale"
    notes: str = ""


SYSTEMIC, DESICCANT = LABEL_INTERVAL_DAYS
HALVES, STRIPS, NEIGHBOURS, MATCHED = "split field", "strips", "neighbouring fields", "matched after harvest"
TRIALS = [
    Trial(2020, "H1", HALVES, "Home quarter", "Home quarter", "Variety A", SYSTEMIC),
    Trial(
        2020,
        "N1",
        NEIGHBOURS,
        "Creek quarter",
        "Bluff quarter",
        "Variety B",
        notes="The cleaner field was left standing",
    ),
    Trial(2021, "S", STRIPS, "North half", "North half", "Variety C", pairs=4, weighed_by="grain cart"),
    Trial(
        2021,
        "H1",
        HALVES,
        "Willow quarter",
        "Willow quarter",
        "Variety A",
        DESICCANT,
        notes="Wind of 27 August hit the standing half",
    ),
    Trial(
        2022,
        "S",
        STRIPS,
        "East half",
        "East half",
        "Variety B",
        pairs=3,
        allocation="drawn by lot",
        weighed_by="grain cart",
    ),
    Trial(
        2022,
        "H1",
        HALVES,
        "Home quarter",
        "Home quarter",
        "Variety C",
        SYSTEMIC,
        notes="One ticket of the west half shows no moisture",
    ),
    Trial(
        2022,
        "N1",
        NEIGHBOURS,
        "Bluff quarter",
        "Creek quarter",
        "Variety C",
        notes="Windrowed side was cut early to get the windrower to the oats",
    ),
    Trial(2022, "", "", "Long eighty", "", "Variety E"),
    Trial(2023, "H1", HALVES, "Willow quarter", "Willow quarter", "Variety B", SYSTEMIC, allocation="drawn by lot"),
    Trial(2023, "N1", NEIGHBOURS, "Slough eighty", "Ridge sixty", "Variety E"),
    Trial(
        2023,
        "M1",
        MATCHED,
        "Gate eighty",
        "Corner eighty",
        "Variety C",
        DESICCANT,
        weighed_by="bin measure",
        notes="Same seed lot and much the same ground; paired in winter",
    ),
    Trial(
        2024,
        "S",
        STRIPS,
        "Creek quarter",
        "Creek quarter",
        "Variety E",
        SYSTEMIC,
        pairs=5,
        allocation="drawn by lot",
        weighed_by="grain cart",
    ),
    Trial(
        2024,
        "N1",
        NEIGHBOURS,
        "Home quarter",
        "Bluff quarter",
        "Variety B",
        notes="Ran short of seed: the windrowed field is another variety",
    ),
    Trial(
        2024,
        "M1",
        MATCHED,
        "Long eighty",
        "East half",
        "Variety C",
        notes="Rain held up seeding of the windrowed field",
    ),
    Trial(2025, "H1", HALVES, "North half", "North half", "Variety E", DESICCANT, allocation="drawn by lot"),
    Trial(
        2025,
        "H2",
        HALVES,
        "Willow quarter",
        "Willow quarter",
        "Variety C",
        SYSTEMIC,
        notes="Windrowed half was not weighed; its figures are the yield monitor's",
    ),
    Trial(
        2025,
        "N1",
        NEIGHBOURS,
        "Ridge sixty",
        "Slough eighty",
        "Variety B",
        notes="Without partner: no tickets of the windrowed side are on record",
    ),
    Trial(2025, "M1", MATCHED, "Gate eighty", "Corner eighty", "Variety C"),
]

# On purpose, so that every warning of the program has something to find. Keys are (crop year, field, plot).
EARLY_CUT = (2022, "Creek quarter", "whole")
NO_MOISTURE = (2022, "Home quarter", "west")
NO_LOADS = (2025, "Slough eighty", "whole")
YIELD_MONITOR = (2025, "Willow quarter", "west")
SHORT_INTERVAL = (2025, "Willow quarter", "east")
TIE = (2025, "H1")
OTHER_VARIETY = {(2024, "Bluff quarter"): "Variety D"}
SEEDED_LATER_DAYS = {(2024, "East half"): 10}
COUNTED_GREEN = {  # green in 500 of the elevator's sample, and the grade on its ticket
    (2022, "Bluff quarter", "whole"): (9, "2"),  # within the limits for No. 1 as counted; the ticket says 2
    (2024, "Bluff quarter", "whole"): (12, "1"),  # 2.4 %: No. 1 by the regulation's rounding, not read strictly
}
NO_THOUSAND_SEED = [(2021, "North half", "strip 3"), (2022, "Long eighty", "whole"), (2025, "Corner eighty", "whole")]
NO_LOSS_CHECK = [(2022, "Long eighty", "whole"), (2023, "Corner eighty", "whole"), (2025, "Slough eighty", "whole")]
PLACE_MISSING = {
    (2021, "North half", "strip 5"): "pan behind combine",
    (2022, "Creek quarter", "whole"): "ground before harvest",
    (2024, "Long eighty", "whole"): "ground behind header",
    (2025, "Gate eighty", "whole"): "ground before harvest",
}

NO_PICK_UP_COUNT = {  # windrowed plots without a count behind the pick-up; the others with loss checks have it
    (2021, "North half", "strip 4"),
    (2022, "East half", "strip 4"),
    (2023, "Ridge sixty", "whole"),
    (2024, "Bluff quarter", "whole"),
    (2024, "Creek quarter", "strip 6"),
    (2025, "Willow quarter", "west"),
}

OATS = [(2021, "Long eighty", date(2021, 5, 8)), (2022, "Ridge sixty", date(2022, 5, 16))]
WEATHER = [  # happened on, field (blank: whole farm), event, reading, unit, notes
    ("2020-06-18", "", "rain", "41", "mm", ""),
    ("2020-09-01", "", "wind", "62", "km/h", ""),
    ("2020-09-09", "", "frost", "-1.5", "C", ""),
    ("2021-07-02", "", "rain", "6", "mm", "Hot week; pods filled poorly"),
    ("2021-08-27", "", "wind", "96", "km/h", "Gusts from the west all afternoon; windrows were already combined"),
    ("2021-08-27", "", "rain", "4", "mm", ""),
    ("2022-06-29", "Slough eighty", "hail", "12", "mm", "No canola there that year"),
    ("2022-07-16", "", "rain", "38", "mm", ""),
    ("2022-09-03", "", "wind", "58", "km/h", ""),
    ("2022-09-14", "", "frost", "-2.0", "C", ""),
    ("2023-08-22", "", "frost", "-3.5", "C", "Windrows a few days old; leaves black by noon"),
    ("2023-08-30", "", "rain", "17", "mm", ""),
    ("2023-09-09", "", "wind", "55", "km/h", ""),
    ("2024-05-07", "", "rain", "29", "mm", "Seeding stopped for a week"),
    ("2024-09-02", "", "wind", "66", "km/h", ""),
    ("2024-10-05", "", "snow", "3", "cm", "After harvest"),
    ("2025-07-21", "Gate eighty", "hail", "8", "mm", "Edge of the storm; a few torn leaves"),
    ("2025-08-25", "", "rain", "9", "mm", ""),
    ("2025-09-03", "", "wind", "71", "km/h", ""),
]
DISCOUNT = {"1": 0, "2": 14, "3": 55, "Sample": 140}  # dollars a tonne off No. 1
COST_2020 = {
    "windrowing": 12.5,
    "rolling": 5.5,
    SYSTEMIC: 8.0,
    DESICCANT: 18.0,
    "application": 9.0,
    "combining standing": 33.0,
    "combining windrowed": 31.0,
}
COST_GROWTH = 1.035
LARGEST_LOAD_KG = {"certified scale": 37_000, "grain cart": 20_000, "bin measure": 68_000, "yield monitor": 68_000}
TICKET_PREFIX = {"certified scale": "", "grain cart": "cart ", "bin measure": "bin ", "yield monitor": "monitor "}
WIDTHS_M = {"standing": (10.7, 1.5), "windrowed": (9.1, 1.5)}  # cut, discharge


HOURS_BELOW_ZERO = {"2020-09-09": 3, "2022-09-14": 4, "2023-08-22": 6}  # of the frosts below
FIRST_CONDITION_YEAR = 2023  # from then on the hour, the speed and the air were noted with a loss check
SPRING_COUNT_YEARS = (2022, 2023, 2024)
VOLUNTEERS_M2 = {"standing": 62.0, "windrowed": 45.0}  # invented
FIRST_MACHINE_YEAR = 2022  # hours, fuel and stops were noted from then on
ONE_JOB = (2024, "Creek quarter")  # the strips of each method were combined in one go, and noted once
PACE_AC_H = {"windrowing": 21.0, "rolling": 40.0, "application": 75.0}  # invented
COMBINING_AC_H = {"standing": 11.0, "windrowed": 11.6}  # invented
FUEL_L_H = {"windrowing": 26.0, "rolling": 18.0, "application": 30.0, "combining": 62.0}  # invented
MACHINES = {"windrowing": "windrower", "rolling": "roller", "application": "sprayer"}
STOPS_100_AC = {"standing": 1.6, "windrowed": 3.0}  # invented


@dataclass(frozen=True)
class Bin:
    """A bin of 2025: the plots in it, how warm they came, and when it was cooled and emptied."""

    name: str
    plots: tuple[tuple[str, str], ...]
    celsius_in: float
    conditioned_on: date | None
    emptied_on: date | None
    notes: str = ""


BIN_YEAR = 2025
BINS = [
    Bin("Bin 1", (("North half", "east"), ("Gate eighty", "whole")), 24.0, date(2025, 9, 22), date(2026, 1, 21)),
    Bin("Bin 2", (("North half", "west"), ("Corner eighty", "whole")), 29.0, date(2025, 9, 18), date(2026, 2, 11)),
    Bin("Bin 3", (("Willow quarter", "east"), ("Willow quarter", "west")), 25.0, date(2025, 9, 24), date(2026, 3, 4)),
    Bin("Bin 4", (("Ridge sixty", "whole"),), 26.0, date(2025, 9, 26), None, "The last bin of the year"),
]
WARMING = "Bin 4"  # its core warms from here on, while outside it gets colder
WARMS_FROM = date(2025, 11, 1)
CHECK_DAYS = (3, 7, 14, 21, 28, 42, 56, 70)  # after the last filling; invented
OUTSIDE_C = {9: 11.0, 10: 4.0, 11: -6.0, 12: -13.0}  # invented, by month

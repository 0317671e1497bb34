"""Write the invented demo farm: its CSV files, the same bytes on every run.

    python sample_records/make_demo_farm.py [FOLDER]

Nothing here is a real farm, place, person or product. What is planned (fields, pairs, years, oddities) stands in the
tables below; what nature would decide is drawn with a fixed seed. README.md in this folder says which is which.
"""

import csv
import math
import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations
from pathlib import Path
from statistics import NormalDist

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


class Draws:
    """Everything that is drawn. Only random() is used: Python promises the same sequence from it in every version."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed).random

    def uniform(self, low: float, high: float) -> float:
        """Draw a number between the two."""
        return low + (high - low) * self._random()

    def whole(self, low: int, high: int) -> int:
        """Draw a whole number, both ends included."""
        return low + int((high - low + 1) * self._random())

    def normal(self, mean: float, sd: float) -> float:
        """Draw from the normal distribution."""
        return NormalDist(mean, sd).inv_cdf(self._random())

    def about(self, middle: float, log_sd: float) -> float:
        """Draw a positive number, lognormal with this median."""
        return middle * math.exp(self.normal(0, log_sd))

    def chance(self, share: float) -> bool:
        """Say yes this share of the time."""
        return self._random() < share

    def count(self, tries: int, share: float) -> int:
        """Count how many of the tries come out, binomial."""
        return sum(self.chance(share) for _ in range(tries))


class Farm:
    """Collects the rows of all tables while the seasons are played through in order."""

    def __init__(self) -> None:
        self.draw, self.later_draw, self.bin_draw = Draws(SEED), Draws(SEED + 1), Draws(SEED + 2)
        self.machine_draw, self.condition_draw = Draws(SEED + 3), Draws(SEED + 4)
        self.conditions: dict[tuple[object, ...], tuple[object, ...]] = {}
        self.rows: dict[str, list[list[object]]] = {table: [] for table in COLUMNS}
        self.ticket = 4100

    def add(self, table: str, *cells: object) -> None:
        """Add one row; None becomes a blank, which means unknown."""
        self.rows[table].append(["" if cell is None else cell for cell in cells])

    def play(self) -> None:
        """Fill every table."""
        for field, about in FIELDS.items():
            self.add("fields", field, *about)
        for (field, middle), (other, its_middle) in combinations(MIDDLES.items(), 2):
            self.add("field_distances", field, other, f"{math.dist(middle, its_middle):.1f}")
        for trial in TRIALS:
            self._trial(trial)
        for crop_year, field, seeded_on in OATS:
            self.add(
                "plantings",
                crop_year,
                field,
                "oats",
                "Oat variety A",
                None,
                None,
                seeded_on,
                "low",
                "average",
                "All windrowed; not compared",
            )
        for event in WEATHER:
            self.add("weather", *event[:5], HOURS_BELOW_ZERO.get(event[0]) if event[2] == "frost" else None, event[5])
        for crop_year, year in YEARS.items():
            for grade, off in DISCOUNT.items():
                self.add("prices", crop_year, "canola", grade, f"{year.price - off:.2f}")
        monitor_kg = sum(int(str(load[5])) for load in self.rows["loads"] if tuple(load[:3]) == YIELD_MONITOR)
        self.add("plot_totals", *YIELD_MONITOR, monitor_kg, "Weighed out in winter: the monitor was right")
        for one in BINS:
            self._bin(one)
        for year, field, plot, method, *_ in list(self.rows["plots"]):
            if year in SPRING_COUNT_YEARS:
                self._spring_counts(int(str(year)), str(field), str(plot), str(method))

    def _spring_counts(self, year: int, field: str, plot: str, method: str) -> None:
        """Volunteers in three frames, in the May after."""
        draw, area_m2 = self.condition_draw, 0.25
        counted_on, middle = date(year + 1, 5, 14 + draw.whole(0, 5)), draw.about(VOLUNTEERS_M2[method], 0.35)
        for spot in range(1, 4):
            plants = round(draw.about(middle, 0.3) * area_m2)
            self.add("spring_counts", year, field, plot, counted_on, spot, plants, area_m2)

    def _condition(self, key: tuple[int, str, str], checked_on: date, place: str) -> tuple[object, ...]:
        """Hour, speed, air and humidity of a check behind the combine, alike for all spots of it."""
        if key[0] < FIRST_CONDITION_YEAR or place not in ("ground behind header", "pan behind combine"):
            return (None,) * 5
        check, draw = (*key, checked_on), self.condition_draw
        if check not in self.conditions:
            hour, air = draw.uniform(11, 20), draw.uniform(14, 29)
            humidity = 78 - 1.6 * air + draw.uniform(-6, 6)
            cells = (f"{hour:.0f}", f"{draw.uniform(5.0, 7.5):.1f}", f"{air:.0f}", f"{humidity:.0f}")
            self.conditions[check] = (*cells, "fan slower" if draw.chance(0.3) else "as usual")
        return self.conditions[check]

    def _bin(self, one: Bin) -> None:
        """Fill a bin with plots of its year and look into it, more and more seldom."""
        draw, days = self.bin_draw, {}
        self.add("bins", BIN_YEAR, one.name, one.conditioned_on, one.emptied_on, one.notes or None)
        for plot in one.plots:
            loads = [load for load in self.rows["loads"] if (load[0], load[1], load[2]) == (BIN_YEAR, *plot)]
            days[plot] = max(date.fromisoformat(str(load[4])) for load in loads)
            kg = sum(int(str(load[5])) for load in loads)
            self.add("bin_fills", BIN_YEAR, one.name, days[plot], *plot, kg, None, f"{one.celsius_in:.1f}", None)
        filled_on = max(days.values())
        for number, after in enumerate(CHECK_DAYS):
            day = filled_on + timedelta(after)
            outside = OUTSIDE_C[day.month] + draw.uniform(-3, 3)
            middle = 8.0 + (one.celsius_in - 8.0) * math.exp(-after / 12)
            if one.name == WARMING and day > WARMS_FROM:
                middle += 0.35 * (day - WARMS_FROM).days
            for place, cooler in (("core", 0.0), ("top", 1.5), ("wall", 3.0)):
                celsius = middle - cooler - draw.uniform(0, 1)
                is_sampled = number % 2 == 0 and place == "core"
                moisture = f"{draw.normal(7.4, 0.15):.1f}" if is_sampled else None
                is_odd = one.name == WARMING and number == len(CHECK_DAYS) - 1 and place == "core"
                smell = ("musty" if is_odd else "fresh") if place == "core" else None
                action = "fan on, look again in two days" if is_odd else None
                cells = (f"{celsius:.1f}", moisture, f"{outside:.1f}", smell, action)
                self.add("bin_checks", BIN_YEAR, one.name, day, place, *cells)

    def _trial(self, trial: Trial) -> None:
        """Play one field-year: what its pairs share is drawn first, then each pair."""
        year, draw = YEARS[trial.crop_year], self.draw
        self._plantings(trial)
        windrowed_on = year.windrowed + timedelta(draw.whole(0, 2))
        lying_days = draw.whole(*year.lying_days)
        if (trial.crop_year, trial.windrowed, "whole") == EARLY_CUT:
            windrowed_on, lying_days = windrowed_on - timedelta(7), 15
        combined_on = windrowed_on + timedelta(lying_days)
        standing_on = combined_on + timedelta(draw.whole(6, 9))
        product_on = standing_on - timedelta(LABEL_INTERVAL_DAYS.get(trial.product, 0) + draw.whole(0, 1))
        colour = 55 + 5 * draw.whole(0, 4)  # at windrowing; it then changes by some 10 points in 2 to 3 days
        sprayed_colour = min(95, colour + 4 * (product_on - windrowed_on).days)
        field_level = FARM_MEAN_BU_AC + year.level + draw.normal(0, FIELD_SD)
        residual_sd = SAME_FIELD_SD if trial.standing == trial.windrowed else TWO_FIELDS_SD
        for number in range(1, trial.pairs + 1):
            difference = year.effect + draw.normal(0, residual_sd)
            level = field_level + (draw.normal(0, 1.5) if trial.pairs > 1 else 0)
            shatter = draw.uniform(*year.shatter)
            standing_plot, windrowed_plot = self._plot_names(trial, number)
            standing_yield, windrowed_yield = level + difference / 2, level - difference / 2
            if trial.crop_year == WIND_YEAR:
                standing_yield -= shatter
            if (trial.crop_year, trial.windrowed, windrowed_plot) == EARLY_CUT:
                windrowed_yield -= EARLY_CUT_LOSS_BU_AC
            if (trial.crop_year, trial.pair) == TIE:
                windrowed_yield = standing_yield
            self._standing(trial, standing_plot, sprayed_colour, product_on, standing_on, standing_yield, shatter)
            if trial.windrowed:
                self._windrowed(trial, windrowed_plot, colour, windrowed_on, combined_on, windrowed_yield)
                name = f"{trial.pair}{number}" if trial.layout == STRIPS else trial.pair
                self.add(
                    "pairs",
                    trial.crop_year,
                    name,
                    trial.standing,
                    standing_plot,
                    trial.windrowed,
                    windrowed_plot,
                    trial.layout,
                    trial.allocation,
                    trial.notes,
                )

    def _plantings(self, trial: Trial) -> None:
        seeded_on = YEARS[trial.crop_year].seeded + timedelta(self.draw.whole(0, 3))
        for field in dict.fromkeys([trial.standing, trial.windrowed]):
            if field:
                key = (trial.crop_year, field)
                variety = OTHER_VARIETY.get(key, trial.variety)
                weeds = "low" if field == trial.standing and self.draw.chance(0.6) else "medium"
                if YEARS[trial.crop_year].dockage_pct > 2.5 and field != trial.standing:
                    weeds = "high"
                stand = "average" if self.draw.chance(0.6) else ("heavy" if self.draw.chance(0.6) else "thin")
                self.add(
                    "plantings",
                    *key,
                    "canola",
                    variety,
                    SHATTER_TOLERANT[variety],
                    HERBICIDE_SYSTEM[variety],
                    seeded_on + timedelta(SEEDED_LATER_DAYS.get(key, 0)),
                    weeds,
                    stand,
                    None,
                )

    def _plot_names(self, trial: Trial, number: int) -> tuple[str, str]:
        if trial.standing != trial.windrowed:
            return "whole", "whole"
        names = ("east", "west") if trial.layout == HALVES else (f"strip {2 * number - 1}", f"strip {2 * number}")
        swap = trial.layout == STRIPS and trial.allocation == "drawn by lot" and self.draw.chance(0.5)
        return (names[1], names[0]) if swap else names

    def _acres(self, trial: Trial, field: str, plot: str) -> str:
        if plot == "whole":
            return f"{FIELDS[field][0]:.1f}"
        if trial.layout == HALVES:
            return f"{FIELDS[field][0] / 2 + self.draw.whole(-4, 4) / 4:.1f}"
        return f"{STRIP_ACRES[field] + self.draw.whole(-2, 2) / 10:.1f}"

    def _standing(
        self, trial: Trial, plot: str, colour: int, product_on: date, harvested_on: date, bu_ac: float, shatter: float
    ) -> None:
        draw, key = self.draw, (trial.crop_year, trial.standing, plot)
        acres, note = self._acres(trial, trial.standing, plot), None
        sprayed: tuple[object, ...] = (None, None, None, None, None)
        if trial.product:
            product_on += timedelta(3 if key == SHORT_INTERVAL else 0)
            sprayed = (colour, None, product_on, trial.product, LABEL_INTERVAL_DAYS[trial.product])
        if trial.crop_year == WIND_YEAR:
            note = "Pods shelled out by the wind of 27 August"
        self.add("plots", *key, "standing", acres, *sprayed, harvested_on, self._waited(key), note)
        moisture = max(5.0, draw.normal(7.0 + YEARS[trial.crop_year].moisture_shift, 0.9))
        self._loads(key, trial.weighed_by, harvested_on, bu_ac, float(acres), moisture, 0.0)
        seed_g = self._samples(key, "standing", harvested_on, 0.1)
        header, pan = draw.uniform(0.2, 0.7), min(4.1, max(0.2, draw.about(1.0, 0.5)))
        ground = [("ground before harvest", harvested_on, shatter), ("ground behind header", harvested_on, header)]
        self._loss_checks(key, "standing", ground, harvested_on, pan, seed_g)
        if trial.product:
            self._operation(key, product_on, "pre-harvest product", trial.product)
            self._operation(key, product_on, "application", "application")
        self._operation(key, harvested_on, "combining", "combining standing")

    def _windrowed(
        self, trial: Trial, plot: str, colour: int, windrowed_on: date, combined_on: date, bu_ac: float
    ) -> None:
        draw, key = self.draw, (trial.crop_year, trial.windrowed, plot)
        acres = self._acres(trial, trial.windrowed, plot)
        colour = 30 if key == EARLY_CUT else colour
        note = "Tickets not found" if key == NO_LOADS else None
        self.add(
            "plots",
            *key,
            "windrowed",
            acres,
            colour,
            windrowed_on,
            None,
            None,
            None,
            combined_on,
            self._waited(key),
            note,
        )
        moisture = max(5.5, draw.normal(8.0 + YEARS[trial.crop_year].moisture_shift, 0.8))
        weighed_by = "yield monitor" if key == YIELD_MONITOR else trial.weighed_by
        self._loads(key, weighed_by, combined_on, bu_ac, float(acres), moisture, 0.2)
        seed_g = self._samples(key, "windrowed", combined_on, -0.2 if key == EARLY_CUT else 0.0)
        ground = [
            ("ground before harvest", windrowed_on, draw.uniform(0.03, 0.2)),
            ("ground after windrower", windrowed_on, draw.uniform(0.3, 1.2)),
        ]
        is_counted = draw.chance(0.4)
        if is_counted:
            ground.append(("ground behind header", combined_on, draw.uniform(0.1, 0.4)))
        pan = min(4.1, max(0.2, draw.about(0.9, 0.5)))
        lying = self._loss_checks(key, "windrowed", ground, combined_on, pan, seed_g)
        if lying and not is_counted and key not in NO_PICK_UP_COUNT:
            self._pick_up(key, combined_on, lying, seed_g)
        self._operation(key, windrowed_on, "windrowing", "windrowing")
        if trial.crop_year % 2 == 1:  # the roller was at hand in these years
            self._operation(key, windrowed_on, "rolling", "rolling")
        self._operation(key, combined_on, "combining", "combining windrowed")

    def _loads(
        self,
        key: tuple[int, str, str],
        weighed_by: str,
        harvested_on: date,
        bu_ac: float,
        acres: float,
        moisture: float,
        dockage_more: float,
    ) -> None:
        """Add loads that sum to acres x yield at one moisture, as near as a scale that reads 10 kg allows."""
        draw, left = self.draw, round(bu_ac, 2) * acres * KG_PER_BUSHEL
        dockage = max(0.6, draw.normal(YEARS[key[0]].dockage_pct + dockage_more, 0.3))
        count = math.ceil(left / LARGEST_LOAD_KG[weighed_by])
        for number in range(count, 0, -1):
            load_moisture = round(draw.normal(moisture, 0.25), 1)
            load_dockage = round(max(0.4, draw.normal(dockage, 0.2)), 1)
            clean_share = (1 - load_dockage / 100) * (100 - load_moisture) / (100 - ONE_MOISTURE_PCT)
            wanted = left if number == 1 else left / number * draw.uniform(0.94, 1.06)
            weight_kg = round(wanted / clean_share / 10) * 10
            left -= weight_kg * clean_share
            self.ticket += draw.whole(1, 9)
            shown = None if key == NO_MOISTURE and number == 2 else f"{load_moisture:.1f}"
            if key != NO_LOADS:
                delivered_on = harvested_on + timedelta((count - number) // 3)
                self.add(
                    "loads",
                    *key,
                    f"{TICKET_PREFIX[weighed_by]}{self.ticket}",
                    delivered_on,
                    weight_kg,
                    shown,
                    f"{load_dockage:.1f}",
                    weighed_by,
                )

    def _samples(self, key: tuple[int, str, str], method: str, taken_on: date, seed_larger_g: float) -> float:
        """Add the elevator's sample with its grade and own counts without one; give the mass of a seed in grams."""
        draw = self.draw
        green_share = draw.about(YEARS[key[0]].green_pct[method == "windrowed"], 0.22) / 100
        green_share += 0.012 if key == EARLY_CUT else 0
        thousand_seed_g = min(4.6, max(2.8, draw.normal(3.6 + seed_larger_g, 0.22)))
        crushed = 500
        green = draw.count(crushed, green_share)
        heated = 0.1 if draw.chance(0.15) else 0.0
        own_damage = draw.uniform(0.4, 1.4)
        green, grade = COUNTED_GREEN.get(key, (green, None))
        damage = round(100 * green / crushed + heated + own_damage, 1)
        self.add(
            "samples",
            *key,
            1,
            taken_on,
            "elevator",
            grade or grade_as_counted(green, crushed, heated, damage),
            crushed,
            green,
            f"{heated:.1f}",
            f"{damage:.1f}",
            f"{draw.uniform(0.1, 0.7):.1f}",
            f"{draw.normal(65.0 + (0.3 if method == 'standing' else 0), 0.6):.1f}",
            None if key in NO_THOUSAND_SEED else f"{thousand_seed_g:.2f}",
        )
        for number in range(2, 2 + (0 if key[2].startswith("strip") else draw.whole(0, 2))):
            crushed = 1000 if draw.chance(0.3) else 500
            self.add(
                "samples",
                *key,
                number,
                taken_on,
                "own count",
                None,
                crushed,
                draw.count(crushed, green_share),
                None,
                None,
                None,
                None,
                None,
            )
        return thousand_seed_g / 1000

    def _loss_checks(
        self,
        key: tuple[int, str, str],
        method: str,
        ground: list[tuple[str, date, float]],
        harvested_on: date,
        pan_bu_ac: float,
        seed_g: float,
    ) -> list[float]:
        """Add the checks: what lies behind the header includes what lay there before; the pan is concentrated.

        Gives what lay on the ground at each spot by the last count, bu/ac; nothing where no check was made.
        """
        if key[0] == 2020 or key in NO_LOSS_CHECK:
            return []
        draw = self.draw
        frame = draw.chance(0.4) or key[0] == WIND_YEAR
        spots, by_weight = draw.whole(2, 4 if key[2] != "whole" else 3), frame and draw.chance(0.6)
        lying = [0.0] * spots
        for place, checked_on, more_bu_ac in ground:
            lying = [there + draw.about(more_bu_ac, 0.25) for there in lying]
            for spot, bu_ac in enumerate(lying, start=1):
                self._spot(key, checked_on, place, spot, bu_ac, 0.25 if frame else 0.0929, by_weight, seed_g)
        cut_m, discharge_m = WIDTHS_M[method]
        by_weight = draw.chance(0.7)
        for spot in range(1, spots + 1):
            self._spot(
                key,
                harvested_on,
                "pan behind combine",
                spot,
                draw.about(pan_bu_ac, 0.25) * cut_m / discharge_m,
                0.0929,
                by_weight,
                seed_g,
                f"{cut_m:.1f}",
                f"{discharge_m:.1f}",
                "chopper off" if spot == 1 else None,
            )
        return lying

    def _pick_up(self, key: tuple[int, str, str], combined_on: date, lying: Sequence[float], seed_g: float) -> None:
        """Add the count behind the pick-up where it came later to the demo: from draws of its own, so that nothing else
        of the farm changed.
        """
        more_bu_ac = self.later_draw.uniform(0.1, 0.4)
        for spot, there in enumerate(lying, start=1):
            bu_ac = there + self.later_draw.about(more_bu_ac, 0.25)
            self._spot(key, combined_on, "ground behind header", spot, bu_ac, 0.25, False, seed_g)

    def _spot(
        self,
        key: tuple[int, str, str],
        checked_on: date,
        place: str,
        spot: int,
        bu_ac: float,
        area_m2: float,
        by_weight: bool,
        seed_g: float,
        *pan: str | None,
    ) -> None:
        grams = bu_ac * GRAMS_M2_PER_BU_AC * area_m2
        seeds = None if by_weight else round(grams / seed_g)
        if PLACE_MISSING.get(key) != place:
            self.add(
                "loss_checks",
                *key,
                checked_on,
                place,
                spot,
                seeds,
                f"{grams:.1f}" if by_weight else None,
                area_m2,
                *(pan or (None, None, None)),
                *self._condition(key, checked_on, place),
            )

    def _waited(self, key: tuple[int, str, str]) -> int | None:
        """Hours in which combining could not start for damp or green; noted in the years with machine hours."""
        return self.machine_draw.whole(0, 12) if key[0] >= FIRST_MACHINE_YEAR else None

    def _operation(self, key: tuple[int, str, str], done_on: date, operation: str, cost: str) -> None:
        dollars = round(COST_2020[cost] * COST_GROWTH ** (key[0] - 2020) * 4) / 4
        self.add("operations", *key, done_on, operation, f"{dollars:.2f}", *self._machine(key, operation), None)

    def _machine(self, key: tuple[int, str, str], operation: str) -> tuple[object, ...]:
        """Hours, fuel, stops, machine, who was at the wheel, and the job's name: from draws of their own."""
        method, acres = next((str(row[3]), float(str(row[4]))) for row in self.rows["plots"] if tuple(row[:3]) == key)
        if key[0] < FIRST_MACHINE_YEAR or operation == "pre-harvest product":
            return (None,) * 6
        draw, is_combining = self.machine_draw, operation == "combining"
        if is_combining and key[:2] == ONE_JOB:
            job = f"{method} strips"
            if any(row[11] == job for row in self.rows["operations"]):
                return None, None, None, "combine", "A", job
            acres *= 5
        else:
            job = None
        hours = acres / draw.about(COMBINING_AC_H[method] if is_combining else PACE_AC_H[operation], 0.07)
        fuel = round(hours * draw.about(FUEL_L_H[operation], 0.05))
        if not is_combining:
            return f"{hours:.1f}", fuel, None, MACHINES[operation], "B", job
        stops = round(acres / 100 * draw.about(STOPS_100_AC[method], 0.3))
        return f"{hours:.1f}", fuel, stops, "combine", "B" if draw.chance(0.2) else "A", job


def grade_as_counted(green: int, crushed: int, heated_pct: float, damage_pct: float) -> str:
    """Grade by the limits and rounding of the Canada Grain Regulations, Schedule 3, Table 19 (halves go up)."""
    green_pct, damage_whole = (200 * green + crushed) // (2 * crushed), math.floor(damage_pct + 0.5)
    for grade, green_limit, heated_limit, damage_limit in (("1", 2, 0.1, 5), ("2", 6, 0.5, 12), ("3", 20, 2.0, 25)):
        if green_pct <= green_limit and heated_pct <= heated_limit and damage_whole <= damage_limit:
            return grade
    return "Sample"


def write_farm(folder: Path) -> None:
    """Write the its CSV files into the folder: UTF-8, LF line ends."""
    farm = Farm()
    farm.play()
    for table, columns in COLUMNS.items():
        with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(columns.split())
            writer.writerows(farm.rows[table])


if __name__ == "__main__":
    write_farm(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)

"""Write the invented demo farm: its CSV files, the same bytes on every run.

    python -m sample_records.make_demo_farm [FOLDER]

Nothing here is a real farm, place, person or product. What is planned (fields, pairs, years, oddities) stands in
demo_plan; what nature would decide is drawn with a fixed seed. README.md in this folder says which is which.
"""

import csv
import math
import sys
from datetime import date, timedelta
from itertools import combinations
from pathlib import Path

from sample_records import demo_plan as plan
from sample_records.demo_bins import fill_bin
from sample_records.demo_loss_checks import add_loss_checks, add_pick_up_count, add_spring_counts
from sample_records.demo_operations import add_operation, hours_waited
from sample_records.demo_rows import Farm


def _play(farm: Farm) -> None:
    """Fill every table."""
    for field, about in plan.FIELDS.items():
        farm.add("fields", field, *about)
    for (field, middle), (other, its_middle) in combinations(plan.MIDDLES.items(), 2):
        farm.add("field_distances", field, other, f"{math.dist(middle, its_middle):.1f}")
    for trial in plan.TRIALS:
        _trial(farm, trial)
    for crop_year, field, seeded_on in plan.OATS:
        farm.add(
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
    for event in plan.WEATHER:
        farm.add("weather", *event[:5], plan.HOURS_BELOW_ZERO.get(event[0]) if event[2] == "frost" else None, event[5])
    for crop_year, year in plan.YEARS.items():
        for grade, off in plan.DISCOUNT.items():
            farm.add("prices", crop_year, "canola", grade, f"{year.price - off:.2f}")
    monitor_kg = sum(int(str(load[5])) for load in farm.rows["loads"] if tuple(load[:3]) == plan.YIELD_MONITOR)
    farm.add("plot_totals", *plan.YIELD_MONITOR, monitor_kg, "Weighed out in winter: the monitor was right")
    for one in plan.BINS:
        fill_bin(farm, one)
    for year, field, plot, method, *_ in list(farm.rows["plots"]):
        if year in plan.SPRING_COUNT_YEARS:
            add_spring_counts(farm, int(str(year)), str(field), str(plot), str(method))


def _trial(farm: Farm, trial: plan.Trial) -> None:
    """Play one field-year: what its pairs share is drawn first, then each pair."""
    year, draw = plan.YEARS[trial.crop_year], farm.draw
    _plantings(farm, trial)
    windrowed_on = year.windrowed + timedelta(draw.whole(0, 2))
    lying_days = draw.whole(*year.lying_days)
    if (trial.crop_year, trial.windrowed, "whole") == plan.EARLY_CUT:
        windrowed_on, lying_days = windrowed_on - timedelta(7), 15
    combined_on = windrowed_on + timedelta(lying_days)
    standing_on = combined_on + timedelta(draw.whole(6, 9))
    product_on = standing_on - timedelta(plan.LABEL_INTERVAL_DAYS.get(trial.product, 0) + draw.whole(0, 1))
    colour = 55 + 5 * draw.whole(0, 4)  # at windrowing; it then changes by some 10 points in 2 to 3 days
    sprayed_colour = min(95, colour + 4 * (product_on - windrowed_on).days)
    field_level = plan.FARM_MEAN_BU_AC + year.level + draw.normal(0, plan.FIELD_SD)
    residual_sd = plan.SAME_FIELD_SD if trial.standing == trial.windrowed else plan.TWO_FIELDS_SD
    for number in range(1, trial.pairs + 1):
        difference = year.effect + draw.normal(0, residual_sd)
        level = field_level + (draw.normal(0, 1.5) if trial.pairs > 1 else 0)
        shatter = draw.uniform(*year.shatter)
        standing_plot, windrowed_plot = _plot_names(farm, trial, number)
        standing_yield, windrowed_yield = level + difference / 2, level - difference / 2
        if trial.crop_year == plan.WIND_YEAR:
            standing_yield -= shatter
        if (trial.crop_year, trial.windrowed, windrowed_plot) == plan.EARLY_CUT:
            windrowed_yield -= plan.EARLY_CUT_LOSS_BU_AC
        if (trial.crop_year, trial.pair) == plan.TIE:
            windrowed_yield = standing_yield
        _standing(farm, trial, standing_plot, sprayed_colour, product_on, standing_on, standing_yield, shatter)
        if trial.windrowed:
            _windrowed(farm, trial, windrowed_plot, colour, windrowed_on, combined_on, windrowed_yield)
            name = f"{trial.pair}{number}" if trial.layout == plan.STRIPS else trial.pair
            farm.add(
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


def _plantings(farm: Farm, trial: plan.Trial) -> None:
    seeded_on = plan.YEARS[trial.crop_year].seeded + timedelta(farm.draw.whole(0, 3))
    for field in dict.fromkeys([trial.standing, trial.windrowed]):
        if field:
            key = (trial.crop_year, field)
            variety = plan.OTHER_VARIETY.get(key, trial.variety)
            weeds = "low" if field == trial.standing and farm.draw.chance(0.6) else "medium"
            if plan.YEARS[trial.crop_year].dockage_pct > 2.5 and field != trial.standing:
                weeds = "high"
            stand = "average" if farm.draw.chance(0.6) else ("heavy" if farm.draw.chance(0.6) else "thin")
            farm.add(
                "plantings",
                *key,
                "canola",
                variety,
                plan.SHATTER_TOLERANT[variety],
                plan.HERBICIDE_SYSTEM[variety],
                seeded_on + timedelta(plan.SEEDED_LATER_DAYS.get(key, 0)),
                weeds,
                stand,
                None,
            )


def _plot_names(farm: Farm, trial: plan.Trial, number: int) -> tuple[str, str]:
    if trial.standing != trial.windrowed:
        return "whole", "whole"
    names = ("east", "west") if trial.layout == plan.HALVES else (f"strip {2 * number - 1}", f"strip {2 * number}")
    swap = trial.layout == plan.STRIPS and trial.allocation == "drawn by lot" and farm.draw.chance(0.5)
    return (names[1], names[0]) if swap else names


def _acres(farm: Farm, trial: plan.Trial, field: str, plot: str) -> str:
    if plot == "whole":
        return f"{plan.FIELDS[field][0]:.1f}"
    if trial.layout == plan.HALVES:
        return f"{plan.FIELDS[field][0] / 2 + farm.draw.whole(-4, 4) / 4:.1f}"
    return f"{plan.STRIP_ACRES[field] + farm.draw.whole(-2, 2) / 10:.1f}"


def _standing(
    farm: Farm,
    trial: plan.Trial,
    plot: str,
    colour: int,
    product_on: date,
    harvested_on: date,
    bu_ac: float,
    shatter: float,
) -> None:
    draw, key = farm.draw, (trial.crop_year, trial.standing, plot)
    acres, note = _acres(farm, trial, trial.standing, plot), None
    sprayed: tuple[object, ...] = (None, None, None, None, None)
    if trial.product:
        product_on += timedelta(3 if key == plan.SHORT_INTERVAL else 0)
        sprayed = (colour, None, product_on, trial.product, plan.LABEL_INTERVAL_DAYS[trial.product])
    if trial.crop_year == plan.WIND_YEAR:
        note = "Pods shelled out by the wind of 27 August"
    farm.add("plots", *key, "standing", acres, *sprayed, harvested_on, hours_waited(farm, key), note)
    moisture = max(5.0, draw.normal(7.0 + plan.YEARS[trial.crop_year].moisture_shift, 0.9))
    _loads(farm, key, trial.weighed_by, harvested_on, bu_ac, float(acres), moisture, 0.0)
    seed_g = _samples(farm, key, "standing", harvested_on, 0.1)
    header, pan = draw.uniform(0.2, 0.7), min(4.1, max(0.2, draw.about(1.0, 0.5)))
    ground = [("ground before harvest", harvested_on, shatter), ("ground behind header", harvested_on, header)]
    add_loss_checks(farm, key, "standing", ground, harvested_on, pan, seed_g)
    if trial.product:
        add_operation(farm, key, product_on, "pre-harvest product", trial.product)
        add_operation(farm, key, product_on, "application", "application")
    add_operation(farm, key, harvested_on, "combining", "combining standing")


def _windrowed(
    farm: Farm, trial: plan.Trial, plot: str, colour: int, windrowed_on: date, combined_on: date, bu_ac: float
) -> None:
    draw, key = farm.draw, (trial.crop_year, trial.windrowed, plot)
    acres = _acres(farm, trial, trial.windrowed, plot)
    colour = 30 if key == plan.EARLY_CUT else colour
    note = "Tickets not found" if key == plan.NO_LOADS else None
    farm.add(
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
        hours_waited(farm, key),
        note,
    )
    moisture = max(5.5, draw.normal(8.0 + plan.YEARS[trial.crop_year].moisture_shift, 0.8))
    weighed_by = "yield monitor" if key == plan.YIELD_MONITOR else trial.weighed_by
    _loads(farm, key, weighed_by, combined_on, bu_ac, float(acres), moisture, 0.2)
    seed_g = _samples(farm, key, "windrowed", combined_on, -0.2 if key == plan.EARLY_CUT else 0.0)
    ground = [
        ("ground before harvest", windrowed_on, draw.uniform(0.03, 0.2)),
        ("ground after windrower", windrowed_on, draw.uniform(0.3, 1.2)),
    ]
    is_counted = draw.chance(0.4)
    if is_counted:
        ground.append(("ground behind header", combined_on, draw.uniform(0.1, 0.4)))
    pan = min(4.1, max(0.2, draw.about(0.9, 0.5)))
    lying = add_loss_checks(farm, key, "windrowed", ground, combined_on, pan, seed_g)
    if lying and not is_counted and key not in plan.NO_PICK_UP_COUNT:
        add_pick_up_count(farm, key, combined_on, lying, seed_g)
    add_operation(farm, key, windrowed_on, "windrowing", "windrowing")
    if trial.crop_year % 2 == 1:  # the roller was at hand in these years
        add_operation(farm, key, windrowed_on, "rolling", "rolling")
    add_operation(farm, key, combined_on, "combining", "combining windrowed")


def _loads(
    farm: Farm,
    key: tuple[int, str, str],
    weighed_by: str,
    harvested_on: date,
    bu_ac: float,
    acres: float,
    moisture: float,
    dockage_more: float,
) -> None:
    """Add loads that sum to acres x yield at one moisture, as near as a scale that reads 10 kg allows."""
    draw, left = farm.draw, round(bu_ac, 2) * acres * plan.KG_PER_BUSHEL
    dockage = max(0.6, draw.normal(plan.YEARS[key[0]].dockage_pct + dockage_more, 0.3))
    count = math.ceil(left / plan.LARGEST_LOAD_KG[weighed_by])
    for number in range(count, 0, -1):
        load_moisture = round(draw.normal(moisture, 0.25), 1)
        load_dockage = round(max(0.4, draw.normal(dockage, 0.2)), 1)
        clean_share = (1 - load_dockage / 100) * (100 - load_moisture) / (100 - plan.ONE_MOISTURE_PCT)
        wanted = left if number == 1 else left / number * draw.uniform(0.94, 1.06)
        weight_kg = round(wanted / clean_share / 10) * 10
        left -= weight_kg * clean_share
        farm.ticket += draw.whole(1, 9)
        shown = None if key == plan.NO_MOISTURE and number == 2 else f"{load_moisture:.1f}"
        if key != plan.NO_LOADS:
            delivered_on = harvested_on + timedelta((count - number) // 3)
            farm.add(
                "loads",
                *key,
                f"{plan.TICKET_PREFIX[weighed_by]}{farm.ticket}",
                delivered_on,
                weight_kg,
                shown,
                f"{load_dockage:.1f}",
                weighed_by,
            )


def _samples(farm: Farm, key: tuple[int, str, str], method: str, taken_on: date, seed_larger_g: float) -> float:
    """Add the elevator's sample with its grade and own counts without one; give the mass of a seed in grams."""
    draw = farm.draw
    green_share = draw.about(plan.YEARS[key[0]].green_pct[method == "windrowed"], 0.22) / 100
    green_share += 0.012 if key == plan.EARLY_CUT else 0
    thousand_seed_g = min(4.6, max(2.8, draw.normal(3.6 + seed_larger_g, 0.22)))
    crushed = 500
    green = draw.count(crushed, green_share)
    heated = 0.1 if draw.chance(0.15) else 0.0
    own_damage = draw.uniform(0.4, 1.4)
    green, grade = plan.COUNTED_GREEN.get(key, (green, None))
    damage = round(100 * green / crushed + heated + own_damage, 1)
    farm.add(
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
        None if key in plan.NO_THOUSAND_SEED else f"{thousand_seed_g:.2f}",
    )
    for number in range(2, 2 + (0 if key[2].startswith("strip") else draw.whole(0, 2))):
        crushed = 1000 if draw.chance(0.3) else 500
        farm.add(
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


def grade_as_counted(green: int, crushed: int, heated_pct: float, damage_pct: float) -> str:
    """Grade by the limits and rounding of the Canada Grain Regulations, Schedule 3, Table 19 (halves go up)."""
    green_pct, damage_whole = (200 * green + crushed) // (2 * crushed), math.floor(damage_pct + 0.5)
    for grade, green_limit, heated_limit, damage_limit in (("1", 2, 0.1, 5), ("2", 6, 0.5, 12), ("3", 20, 2.0, 25)):
        if green_pct <= green_limit and heated_pct <= heated_limit and damage_whole <= damage_limit:
            return grade
    return "Sample"


def write_farm(folder: Path) -> None:
    """Write its CSV files into the folder: UTF-8, LF line ends."""
    farm = Farm()
    _play(farm)
    for table, columns in plan.COLUMNS.items():
        with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(columns.split())
            writer.writerows(farm.rows[table])


if __name__ == "__main__":
    write_farm(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)

"""Bins of the demo farm: filled from its loads and looked into."""

import math
from datetime import date, timedelta

from sample_records import demo_plan as plan
from sample_records.demo_rows import Farm


def fill_bin(farm: Farm, one: plan.Bin) -> None:
    """Fill a bin with plots of its year and look into it, more and more seldom."""
    draw, days = farm.bin_draw, {}
    farm.add("bins", plan.BIN_YEAR, one.name, one.conditioned_on, one.emptied_on, one.notes or None)
    for plot in one.plots:
        loads = [load for load in farm.rows["loads"] if (load[0], load[1], load[2]) == (plan.BIN_YEAR, *plot)]
        days[plot] = max(date.fromisoformat(str(load[4])) for load in loads)
        kg = sum(int(str(load[5])) for load in loads)
        farm.add("bin_fills", plan.BIN_YEAR, one.name, days[plot], *plot, kg, None, f"{one.celsius_in:.1f}", None)
    filled_on = max(days.values())
    for number, after in enumerate(plan.CHECK_DAYS):
        day = filled_on + timedelta(after)
        outside = plan.OUTSIDE_C[day.month] + draw.uniform(-3, 3)
        middle = 8.0 + (one.celsius_in - 8.0) * math.exp(-after / 12)
        if one.name == plan.WARMING and day > plan.WARMS_FROM:
            middle += 0.35 * (day - plan.WARMS_FROM).days
        for place, cooler in (("core", 0.0), ("top", 1.5), ("wall", 3.0)):
            celsius = middle - cooler - draw.uniform(0, 1)
            is_sampled = number % 2 == 0 and place == "core"
            moisture = f"{draw.normal(7.4, 0.15):.1f}" if is_sampled else None
            is_odd = one.name == plan.WARMING and number == len(plan.CHECK_DAYS) - 1 and place == "core"
            smell = ("musty" if is_odd else "fresh") if place == "core" else None
            action = "fan on, look again in two days" if is_odd else None
            cells = (f"{celsius:.1f}", moisture, f"{outside:.1f}", smell, action)
            farm.add("bin_checks", plan.BIN_YEAR, one.name, day, place, *cells)

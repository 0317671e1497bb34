"""Field work of the demo farm: what was done, its cost, and the hours, fuel and stops of the machine."""

from datetime import date

from sample_records import demo_plan as plan
from sample_records.demo_rows import Farm


def add_operation(farm: Farm, key: tuple[int, str, str], done_on: date, operation: str, cost: str) -> None:
    """Add what was done to a plot, with its cost of the year."""
    dollars = round(plan.COST_2020[cost] * plan.COST_GROWTH ** (key[0] - 2020) * 4) / 4
    farm.add("operations", *key, done_on, operation, f"{dollars:.2f}", *_machine(farm, key, operation), None)


def _machine(farm: Farm, key: tuple[int, str, str], operation: str) -> tuple[object, ...]:
    """Hours, fuel, stops, machine, who was at the wheel, and the job's name: from draws of their own."""
    method, acres = next((str(row[3]), float(str(row[4]))) for row in farm.rows["plots"] if tuple(row[:3]) == key)
    if key[0] < plan.FIRST_MACHINE_YEAR or operation == "pre-harvest product":
        return (None,) * 6
    draw, is_combining = farm.machine_draw, operation == "combining"
    if is_combining and key[:2] == plan.ONE_JOB:
        job = f"{method} strips"
        if any(row[11] == job for row in farm.rows["operations"]):
            return None, None, None, "combine", "A", job
        acres *= 5
    else:
        job = None
    hours = acres / draw.about(plan.COMBINING_AC_H[method] if is_combining else plan.PACE_AC_H[operation], 0.07)
    fuel = round(hours * draw.about(plan.FUEL_L_H[operation], 0.05))
    if not is_combining:
        return f"{hours:.1f}", fuel, None, plan.MACHINES[operation], "B", job
    stops = round(acres / 100 * draw.about(plan.STOPS_100_AC[method], 0.3))
    return f"{hours:.1f}", fuel, stops, "combine", "B" if draw.chance(0.2) else "A", job


def hours_waited(farm: Farm, key: tuple[int, str, str]) -> int | None:
    """Hours in which combining could not start for damp or green; noted in the years with machine hours."""
    return farm.machine_draw.whole(0, 12) if key[0] >= plan.FIRST_MACHINE_YEAR else None

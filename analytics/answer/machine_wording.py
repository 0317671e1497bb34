"""What one combine takes and what the windrower is free for, in words."""

from analytics.money.combine_capacity import MachinesOnRecord, OwnPace, one_combine
from analytics.trade.numbers_as_text import amount, capital, count, exact, number

PUBLISHED_PACE = (
    "A grower counted on one combine for every 3,500 acres windrowed or 2,500 acres standing, and on a head start of "
    "about ten days from windrowing (farm press on the Prairie Agricultural Machinery Institute's trials)."
)


def combine_line(pace: OwnPace, *, hours_a_day: float, days: float) -> str:
    """How many acres one combine takes, from which pace, and how far it went from year to year.

    Raises BadInput as one_combine does.
    """
    taken = one_combine(pace, hours_a_day=hours_a_day, days=days)
    years = f"{count(len(pace.years), 'crop year')} on record"
    spread = f"{number(pace.low, 1)} to {number(pace.high, 1)} by year, {years}"
    reach = f"{number(taken.low, 0)} to {number(taken.high, 0)} acres"
    rest = f"; the slowest and the fastest year make it {reach}" if len(pace.years) > 1 else ""
    return (
        f"{capital(pace.method)}: one combine takes about {number(taken.acres, 0)} acres, at "
        f"{amount(pace.acres_per_hour, 'ac/h', 1)} ({spread}), {exact(hours_a_day)} hours a day and "
        f"{exact(round(days, 1))} suitable days{rest}."
    )


def windrower_free_words(found: MachinesOnRecord) -> str:
    """What leaving canola standing frees; "" where no hours of the windrower are on record."""
    hours = found.windrower_hours_per_100_ac
    if hours is None:
        return ""
    return (
        f"Every 100 acres left standing free the windrower and whoever runs it for about {number(hours, 1)} hours, for "
        "other crops."
    )

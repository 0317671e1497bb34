"""What a machine gets done: acres an hour, and the acres it can take in the days there are."""

FEET_AND_MILES_AN_ACRE = 8.25  # 43,560 sq ft / 5,280 ft; Iowa State University Extension, PM 696 (A3-24)


def effective_field_capacity(*, speed_mph: float, width_ft: float, field_efficiency: float) -> float:
    """Acres an hour in the field, turns and stops counted.

    field_efficiency : share of the theoretical capacity that is reached, above 0 to 1
    Raises ValueError for a speed or width that is not above 0, or an efficiency that is not a share.
    Source: Iowa State University Extension, PM 696 (A3-24): mph x width in ft / 8.25 x field efficiency.
    >>> effective_field_capacity(speed_mph=5.0, width_ft=33.0, field_efficiency=0.75)
    15.0
    """
    if not (speed_mph > 0 and width_ft > 0 and 0 < field_efficiency <= 1):
        raise ValueError(f"speed {speed_mph}, width {width_ft}, efficiency {field_efficiency}: above 0, at most 1")
    return speed_mph * width_ft / FEET_AND_MILES_AN_ACRE * field_efficiency


def acres_taken(*, acres_per_hour: float, hours_a_day: float, days: float) -> float:
    """Acres that one machine can take: pace times hours times suitable days.

    Raises ValueError for a number below 0.
    >>> acres_taken(acres_per_hour=12.0, hours_a_day=9.0, days=20.0)
    2160.0
    """
    if not (acres_per_hour >= 0 and hours_a_day >= 0 and days >= 0):
        raise ValueError(f"pace {acres_per_hour}, hours {hours_a_day}, days {days}; all must be 0 or more")
    return acres_per_hour * hours_a_day * days

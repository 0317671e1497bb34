"""What a row of a file of points may hold: the columns that another file's columns are matched with, and their limits.

The raw points are never kept in the records, so this table is none of theirs. Names and units follow open standards
(ISO 11783-11 for the quantities, SI units; RFC 7946 for longitude and latitude, WGS 84).
"""

from analytics.records.form import Column, Table


def _number(name: str, meaning: str) -> Column:
    return Column(name=name, kind="number", meaning=meaning)


POINTS = Table(
    name="points",
    meaning="a row for each moment that the yield monitor logged",
    key=(),
    columns=(
        Column(name="recorded_at", kind="text", meaning="date and time of the point"),
        _number("longitude", "degrees east of Greenwich; west is below 0"),
        _number("latitude", "degrees north"),
        Column(name="position", kind="text", meaning="place as text: POINT (longitude latitude)"),
        _number("east_m", "metres east of any corner of the field"),
        _number("north_m", "metres north of the same corner"),
        _number("flow_kg_s", "grain that flows in, kg each second"),
        _number("mass_kg", "grain of this point, kg"),
        _number("wet_kg_ha", "yield as the monitor worked it out, not dried, kg/ha"),
        _number("grain_moisture_pct", "moisture, percent"),
        _number("distance_m", "metres driven since the point before"),
        _number("speed_m_s", "ground speed, m/s"),
        _number("width_m", "width that the monitor reckoned with, m"),
        Column(name="header_up", kind="text", meaning="whether the header was up: yes or no, 1 or 0"),
        Column(name="pass_name", kind="text", meaning="pass, swath or run that the point belongs to"),
        Column(name="machine", kind="text", meaning="combine, where the file holds more than one"),
    ),
)
YES, NO = ("yes", "true", "1", "up", "y"), ("no", "false", "0", "down", "n")
PLACES = (("longitude", "latitude"), ("position",), ("east_m", "north_m"))  # one of them is needed
FLOWS = ("mass_kg", "flow_kg_s", "wet_kg_ha")  # one of them is needed; the first that is there is used

"""What a cell of the records says, as it would be typed."""

from collections.abc import Collection
from datetime import date
from decimal import Decimal

BLANK = "(blank)"


def as_text(value: object) -> str:
    """A value as it would be typed; "(blank)" for None.

    >>> as_text(5e6), as_text(18.62), as_text(None), as_text(True)
    ('5000000', '18.62', '(blank)', 'yes')
    """
    if value is None:
        return BLANK
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return format(Decimal(f"{value:.15g}"), "f")
    return value.isoformat() if isinstance(value, date) else str(value)


def rounded_text(value: object) -> str:
    """The same with a number to five figures, where it is only looked at and not typed again.

    >>> rounded_text(4431.5974549), rounded_text(6.5), rounded_text(None)
    ('4431.6', '6.5', '(blank)')
    """
    return as_text(float(f"{value:.5g}") if isinstance(value, float) else value)


def key_text(values: Collection[object]) -> str:
    """The key of a row in one line: "2024 / Home quarter / east / 1187"."""
    return " / ".join(as_text(value) for value in values)

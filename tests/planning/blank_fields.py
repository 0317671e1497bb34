"""Fields that are alike but for what a test changes."""

from dataclasses import replace
from datetime import date

from analytics.planning.field_rules import FieldFacts

BLANK = FieldFacts(
    field="", acres=80.0, soil="loam", topography="level", notes=None, crop=None, variety="Variety A",
    shatter_tolerant=None, seeded_on=date(2026, 5, 5), weed_pressure="low", stand="average", known_from=2025,
    last_crop="wheat", partners=(), distances={},
)  # fmt: skip


def field(name, **changes):
    return replace(BLANK, field=name, **changes)

"""Rows as a person types them: what is typed of a paper, a row of the records as it would be, and one understood.

A row is refused when it cannot be so; it is unlikely when it can be, but asks for a look.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import isclose

from analytics.records.cell_text import as_text
from analytics.records.form import Column, Table, Typed
from analytics.trade.units import unit_names

WHY = "why"  # the typed column that holds the word with which an unlikely row is kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One typed row as understood.

    number : place among the typed rows, from 1
    values : by column in the unit of the record; None where blank or not readable
    before : the row of the records with the same key, None when there is none
    refused, unlikely : in words; refused_in, unlikely_in : the columns that each is about, spaces between them
    asks : worth a look as well, and no reason to wait with the save
    """

    number: int
    name: str
    values: dict[str, object]
    before: dict[str, object] | None
    refused: tuple[str, ...] = ()
    refused_in: tuple[str, ...] = ()
    unlikely: tuple[str, ...] = ()
    unlikely_in: tuple[str, ...] = ()
    asks: tuple[str, ...] = ()
    why: str = ""

    @property
    def is_kept(self) -> bool:
        """Whether the row may be saved: nothing refused, and a word why where something is unlikely."""
        return not self.refused and (not self.unlikely or bool(self.why) or self.is_as_before)

    @property
    def is_as_before(self) -> bool:
        """Whether the records hold just this already."""
        return self.before is not None and same_values(self.values, self.before)


def same_values(one: Mapping[str, object], other: Mapping[str, object]) -> bool:
    """Whether two rows hold the same; a number may have gone through a unit and back."""
    return all(_same(value, other[name]) for name, value in one.items())


def _same(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=1e-9)
    return one == other


def column_label(column: Column, unit: str = "") -> str:
    """The name of a column for people, its unit behind a comma: "weight, kg", "moisture, %".

    >>> from analytics.records.tables import LOADS
    >>> column_label(LOADS.column("weight_kg"), "lb"), column_label(LOADS.column("ticket"))
    ('weight, lb', 'ticket')
    """
    endings = {
        "_pct": "%",
        "_kg_hl": "kg/hL",
        "_kg": "kg",
        "_km": "km",
        "_m2": "m2",
        "_m": "m",
        "_c": "C",
        "_kmh": "km/h",
        "_l": "L",
        "thousand_seed_g": "g",
    }
    name = column.name
    own_words = {
        "dollars_per_tonne": f"price, {unit or '$/t'}",
        "grams": f"seed, {unit or 'g'}",
        "green_pct": "green on a slip without a count, %",
        "loss_pct": "loss by another method, % of yield",
        "preharvest_on": "pre-harvest product on",
        "preharvest_product": "pre-harvest product",
        "preharvest_interval_days": "label's days to the first cut",
        "seconds_note": "how it was checked",
    }
    if name in own_words:
        return own_words[name]
    for ending, own in endings.items():
        if name.endswith(ending):
            name = name.removesuffix("_g") if ending == "thousand_seed_g" else name.removesuffix(ending)
            return f"{name.replace('_', ' ')}, {unit or own}"
    return name.replace("_", " ")


def typed_columns(table: Table, fixed: Mapping[str, object]) -> list[Column]:
    """The columns that are typed where `fixed` is given already."""
    return [column for column in table.columns if column.name not in fixed]


def as_typed(row: Mapping[str, object], table: Table, fixed: Mapping[str, object]) -> Typed:
    """A row of the records as it would be typed; its unit stands in the cell, whatever unit is chosen for the rest."""
    texts = {}
    for column in typed_columns(table, fixed):
        value = row[column.name]
        unit = "".join(f" {own}" for own in unit_names(column.name)[:1])
        texts[column.name] = "" if value is None else f"{as_text(value)}{unit}"
    return texts


def as_recorded(typed: Typed, table: Table, fixed: Mapping[str, object]) -> dict[str, object]:
    """The row of the records that `as_typed` made into these texts: its exact inverse, no reader of what people type.

    >>> row = {"ticket": "1", "delivered_on": date(2026, 9, 14), "weight_kg": 18_001.125, "moisture_pct": None}
    >>> row |= {"dockage_pct": 2.0, "weighed_by": None}
    >>> place = {"crop_year": 2026, "field": "Home", "plot": "east"}
    >>> from analytics.records.tables import LOADS
    >>> as_recorded(as_typed(row, LOADS, place), LOADS, place) == row | place
    True
    """
    return dict(fixed) | {
        column.name: _recorded(column, typed.get(column.name, "")) for column in typed_columns(table, fixed)
    }


def _recorded(column: Column, text: str) -> object:
    if not text:
        return None
    if column.kind == "number":
        return float(text.partition(" ")[0])
    if column.kind == "whole number":
        return int(text)
    if column.kind == "date":
        return date.fromisoformat(text)
    return text == "yes" if column.kind == "yes/no" else text

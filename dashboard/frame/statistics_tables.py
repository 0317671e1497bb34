"""The tables behind an answer: what carries it, the numbers for a statistician, what it takes to see a gap."""

from collections.abc import Iterable

import polars as pl
import streamlit as st

from analytics.answer.statistics_rows import CarriedRow, StatisticsRow
from dashboard.frame.text_table import text_table


def carried_table(rows: Iterable[CarriedRow], unit: str) -> None:
    """What carries an answer, a row a kind of pair; the starred rows are those that the headline rests on."""
    named = [
        {
            "pairs": row.name,
            "field-years": row.field_years,
            f"these fields, {unit}": row.these_fields,
            "years": row.years,
            f"years to come, {unit}": row.years_to_come,
        }
        for row in rows
    ]
    text_table(pl.DataFrame(named))


def statistics_table(rows: Iterable[StatisticsRow]) -> None:
    """The numbers for a statistician, both questions side by side."""
    named = [{"": row.name, "these fields": row.these_fields, "years to come": row.years_to_come} for row in rows]
    text_table(pl.DataFrame(named))


def trial_table(rows: Iterable[tuple[str, str, str, str]]) -> None:
    """What it takes to see a gap, a row a kind of pair and a gap."""
    named = [dict(zip(("pairs", "true gap", "field-years", "years"), row, strict=True)) for row in rows]
    if named:
        text_table(pl.DataFrame(named))
    else:
        st.markdown("There are too few pairs to know how much they spread.")

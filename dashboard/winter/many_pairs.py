"""Of many pairs, those of one crop year are drawn or offered at a time."""

import streamlit as st

from analytics.statistics.replicates import PairDifference
from analytics.statistics.results import Comparison

MOST_PAIRS = 60  # rows in the picture of pairs; names in a list


def pairs_to_show(comparison: Comparison) -> tuple[list[PairDifference], str]:
    """The pairs for the picture, and their years in words; of many pairs, those of one crop year to be chosen."""
    pairs = list(comparison.pair_differences)
    if len(pairs) <= MOST_PAIRS:
        return pairs, "all crop years"
    years = sorted({pair.crop_year for pair in pairs if pair.crop_year is not None}, reverse=True)
    year = st.selectbox("Crop year", years, key="pairs_of_year")
    return [pair for pair in pairs if pair.crop_year == year][:MOST_PAIRS], f"crop year {year}"

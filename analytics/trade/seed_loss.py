"""Seed left on the ground or thrown over by the combine, as bu/ac of canola: arithmetic on numbers.

The views loss_spots and plot_loss hold the same for the records; these functions serve a number while it is typed, and
the table of seeds per square foot.
"""

import polars as pl

from analytics.trade.units import FT2_PER_ACRE, G_M2_PER_BU_AC, KG_PER_BUSHEL

PART_WORDS = {
    "shatter": "shatter before harvest",
    "windrower": "windrower",
    "header": "header or pick-up",
    "combine": "over the combine",
    "total": "total",
}


NEGATIVE_WORDS = {
    "windrower": "less seed lay on the ground after the windrower than before it",
    "header": "less seed lay on the ground behind the header than before it",
}


def grams_from_seeds(seeds: int, *, thousand_seed_g: float) -> float:
    """Grams of so many seeds. Raises ValueError for a negative count or a weight not above 0."""
    if not (seeds >= 0 and thousand_seed_g > 0):
        raise ValueError(f"{seeds} seeds at {thousand_seed_g} g a thousand; allowed 0 or more, above 0")
    return seeds * thousand_seed_g / 1000


def concentration_factor(*, cut_width_m: float, discharge_width_m: float) -> float:
    """How many times thicker the loss lies behind the combine than over the field; for windrows the width that the
    windrower cut.

    Source: Canola Council of Canada, quiz of 2017: 30 ft cut, 5 ft discharge is 6.
    Raises ValueError when the discharge is wider than the cut, or not above 0.
    >>> concentration_factor(cut_width_m=30 * 0.3048, discharge_width_m=5 * 0.3048)
    6.0
    """
    if not 0 < discharge_width_m <= cut_width_m:
        raise ValueError(f"discharge {discharge_width_m} m, cut {cut_width_m} m; a discharge is no wider than the cut")
    return cut_width_m / discharge_width_m


def loss_bu_ac(grams: float, *, area_m2: float, concentration_factor: float = 1.0) -> float:
    """Loss of one spot in bu/ac of canola.

    grams : seed found on `area_m2`; concentration_factor : 1 on the ground, cut / discharge width in a pan
    Source: arithmetic; 1 bu/ac of canola (50 lb) is 5.60426 g/m2 whatever the size of the seed.
    Raises ValueError for negative grams, an area not above 0 or a factor below 1.
    >>> round(loss_bu_ac(3.0, area_m2=0.3048**2, concentration_factor=6.0), 3)
    0.96
    """
    if not (grams >= 0 and area_m2 > 0 and concentration_factor >= 1):
        raise ValueError(f"{grams} g, {area_m2} m2, factor {concentration_factor}; allowed 0 or more, above 0, from 1")
    return grams / area_m2 / concentration_factor / G_M2_PER_BU_AC


def seeds_per_m2(loss_kg_ha: float, *, thousand_seed_g: float) -> float:
    """Seeds lost on a square metre. Raises ValueError for a negative loss or a weight not above 0.

    Source: arithmetic, 1 kg/ha is 0.1 g/m2; the view plot_lost_seeds holds the same for the records.
    >>> round(seeds_per_m2(107.0, thousand_seed_g=3.5))
    3057
    """
    if not (loss_kg_ha >= 0 and thousand_seed_g > 0):
        raise ValueError(f"{loss_kg_ha} kg/ha at {thousand_seed_g} g a thousand; allowed 0 or more, above 0")
    return loss_kg_ha / 10 / (thousand_seed_g / 1000)


def seeds_per_ft2(thousand_seed_g: float) -> float:
    """Seeds on a square foot that are 1 bu/ac of canola. Raises ValueError for a weight not above 0.

    Source: arithmetic; Canola Council of Canada 2012 prints 130 at 4 g.
    >>> round(seeds_per_ft2(4.0))
    130
    """
    if not thousand_seed_g > 0:
        raise ValueError(f"{thousand_seed_g} g a thousand seeds; it must be above 0")
    return KG_PER_BUSHEL * 1000 / FT2_PER_ACRE / thousand_seed_g * 1000


def seeds_per_ft2_table() -> pl.DataFrame:
    """For reading in the field, 2 to 6 g: thousand_seed_g, seeds_per_ft2 (at 1 bu/ac), bu_ac_per_seed (per ft2)."""
    weights = [half / 2 for half in range(4, 13)]
    seeds = [seeds_per_ft2(weight) for weight in weights]
    return pl.DataFrame(
        {"thousand_seed_g": weights, "seeds_per_ft2": seeds, "bu_ac_per_seed": [1 / count for count in seeds]}
    )

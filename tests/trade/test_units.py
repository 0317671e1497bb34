"""Every conversion against the published value it has to give, and there and back for any number."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.trade import units

TRADE = Path(__file__).resolve().parents[1] / "published" / "trade"


def rows(name: str) -> list[dict[str, str]]:
    with (TRADE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(
    ("name", "unit", "got"),
    [
        ("pound", "kg", units.KG_PER_POUND),
        ("foot", "m", units.M_PER_FOOT),
        ("acre (international)", "m2", units.M2_PER_ACRE),
        ("acre", "ft2", units.FT2_PER_ACRE),
        ("hectare", "m2", units.M2_PER_HECTARE),
        ("tonne", "kg", units.KG_PER_TONNE),
        ("canola bushel", "kg", units.KG_PER_BUSHEL),
        ("canola 1 bu/ac", "kg/ha", units.KG_HA_PER_BU_AC),
        ("canola 1 bu/ac", "g/ft2", units.G_M2_PER_BU_AC * units.M2_PER_FT2),
        ("canola 1 bu/ac", "g/m2", units.G_M2_PER_BU_AC),
        ("kg/hL per lb/Avery bu", "ratio", units.KG_HL_PER_LB_AVERY),
    ],
)
def test_constant_is_the_one_of_the_table(name: str, unit: str, got: float) -> None:
    """unit_constants.csv: definitions of 1959, Alberta Agriculture, Canadian Grain Commission; source in each row."""
    (row,) = [row for row in rows("unit_constants") if (row["name"], row["unit"]) == (name, unit)]
    assert got == pytest.approx(float(row["value"]), rel=1e-11)


def test_a_tonne_of_canola_is_the_published_number_of_bushels() -> None:
    """Alberta Agriculture, Bushel/Tonne converter, from Canada Grains Council, Statistical Handbook, 1999: 44.092."""
    (row,) = [row for row in rows("bushel_weights") if row["crop"] == "canola/rapeseed"]
    bushels = units.KG_PER_TONNE / units.KG_PER_BUSHEL
    assert float(row["lb_per_bu"]) == units.POUNDS_PER_BUSHEL
    assert bushels == pytest.approx(float(row["published_bu_per_t"]), abs=0.0005)
    assert bushels == pytest.approx(float(row["exact_bu_per_t"]), abs=5e-7)
    assert float(row["kg_per_ha_per_bu_per_ac"]) == pytest.approx(units.KG_HA_PER_BU_AC, abs=5e-7)


def test_test_weight_in_pounds_a_bushel() -> None:
    """TEST_WEIGHT: Canadian Grain Commission; 65.59 kg/hL is 52.60 lb an Avery bushel."""
    assert units.lb_per_avery_bushel(65.59) == pytest.approx(52.60, abs=0.01)


def test_acre_of_the_yield_estimate_page() -> None:
    """AB_YIELD: Alberta Agriculture, 26 heads/ft2 x 24 seeds x 35 g a thousand is 951.4 kg/ac, about 35 bu/ac wheat."""
    kg_ac = 26 * 24 * 35e-6 * units.FT2_PER_ACRE
    assert kg_ac == pytest.approx(951.4, abs=0.1)
    assert kg_ac / (60 * units.KG_PER_POUND) == pytest.approx(35, abs=0.1)


@given(st.floats(1e-3, 1e6), st.sampled_from(sorted(units.PER_BU_AC)))
def test_yield_in_any_unit_and_back_is_the_same_yield(bushels: float, unit: str) -> None:
    assert bushels * units.per_bu_ac(unit) / units.per_bu_ac(unit) == pytest.approx(bushels, rel=1e-12)


@given(st.floats(1e-3, 1e6))
def test_units_of_one_quantity_agree_with_each_other(value: float) -> None:
    """A length of 12 inches is a foot, an area of 144 square inches a square foot, a tonne 1000 kg."""
    factor = {name: {unit.name: unit.factor for unit in choices} for name, choices in units.TYPED_UNITS.items()}
    assert value * 12 * factor["cut_width_m"]["in"] == pytest.approx(value * factor["cut_width_m"]["ft"])
    assert value * 144 * factor["area_m2"]["sq in"] == pytest.approx(value * factor["area_m2"]["sq ft"])
    assert value * factor["weight_kg"]["bu"] == pytest.approx(value * 50 * factor["weight_kg"]["lb"])
    assert value * factor["weight_kg"]["t"] == pytest.approx(value * 1000 * factor["weight_kg"]["kg"])


def test_dockage_of_zero_and_of_a_hundred_are_the_edges() -> None:
    assert units.net_clean(7.0, dockage_pct=0.0) == 7.0
    assert units.net_clean(7.0, dockage_pct=100.0) == 0.0
    with pytest.raises(ValueError, match=r"100\.1 %"):
        units.net_clean(7.0, dockage_pct=100.1)


def test_a_unit_that_yields_are_not_shown_in_is_refused_with_those_that_are() -> None:
    with pytest.raises(BadInput, match="allowed bu/ac, t/ha, kg/ha, lb/ac"):
        units.per_bu_ac("cwt/ac")


def test_a_bushel_an_acre_in_each_unit_a_yield_is_shown_in():
    """By chain from 50 lb, 0.45359237 kg a pound and 0.40468564224 ha an acre (exact, value from memory)."""
    kilograms = 50 * 0.45359237 / 0.40468564224
    assert (
        pytest.approx({"bu/ac": 1.0, "t/ha": kilograms / 1000, "kg/ha": kilograms, "lb/ac": 50.0}, rel=1e-12)
        == units.PER_BU_AC
    )


def test_what_is_typed_in_the_unit_of_the_record_is_kept_as_it_stands():
    assert {name: choices[0].factor for name, choices in units.TYPED_UNITS.items()} == dict.fromkeys(
        units.TYPED_UNITS, 1.0
    )


def test_speeds_and_lengths_by_chain():
    """1 m/s is 3,600 m an hour; a mile is 5,280 ft of 0.3048 m (exact, value from memory)."""
    assert pytest.approx((3600 / 1000, 1.609344), rel=1e-12) == (units.KMH_PER_M_S, units.KM_PER_MILE)

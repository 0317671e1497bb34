"""Losses on record against surveys of other people's fields: tests/published/trade/harvest_losses.csv."""

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics.storage.database import read_table
from analytics.trade.seed_loss import grams_from_seeds, loss_bu_ac
from analytics.trade.units import KG_HA_PER_BU_AC, KG_PER_BUSHEL, KG_PER_POUND, M2_PER_ACRE

Tiny = Callable[..., duckdb.DuckDBPyConnection]
Row = dict[str, object]
FILE = Path(__file__).resolve().parents[1] / "published" / "trade" / "harvest_losses.csv"
with FILE.open(encoding="utf-8", newline="") as file:
    PUBLISHED = {row["id"]: row for row in csv.DictReader(file)}
WIDTHS = {"cut_width_m": 9.144, "discharge_width_m": 1.524}  # 30 ft and 5 ft: 6 times concentrated


def value(name: str) -> float:
    return float(PUBLISHED[name]["value"])


def printed(name: str) -> object:
    """What a result must come to, within the tolerance beside it."""
    return pytest.approx(value(name), abs=float(PUBLISHED[name]["tolerance"]))


def grams_m2(lb_ac: float) -> float:
    return lb_ac * KG_PER_POUND * 1000 / M2_PER_ACRE


def plot_of(method: str) -> Row:
    return {"crop_year": 2024, "field": "Home", "plot": method}


def farm(method: str, *checks: Row, **more: list[Row]) -> dict[str, list[Row]]:
    """One plot of 50 acres with loss checks on one square metre each."""
    common: Row = {**plot_of(method), "checked_on": date(2024, 9, 1), "spot": "1", "area_m2": 1.0}
    return {
        "fields": [{"field": "Home"}],
        "plots": [{**plot_of(method), "method": method, "acres": 50.0}],
        "loss_checks": [{**common, **check} for check in checks],
        **more,
    }


def only(connection: duckdb.DuckDBPyConnection, view: str, **wanted: object) -> Row:
    return read_table(connection, view).filter(**wanted).row(0, named=True)


def test_oklahoma_2006_what_windrower_and_combine_lost(tiny: Tiny) -> None:
    on_ground = {"place": "ground after windrower", "grams": grams_m2(value("OKLA_CUT"))}
    in_pan = {"place": "pan behind combine", "grams": 6 * grams_m2(value("OKLA_COMBINED")), **WIDTHS}
    before = {"place": "ground before harvest", "grams": 0.0}
    found = only(tiny(farm("windrowed", before, on_ground, in_pan)), "plot_loss")
    assert found["windrower_bu_ac"] == printed("OKLA_CUT_BU")
    assert found["combine_bu_ac"] == printed("OKLA_COMBINED_BU")
    assert found["loss_bu_ac"] is None  # what the windrow and the pick-up lost was not counted
    assert found["at_least_bu_ac"] == pytest.approx(value("OKLA_CUT_BU") + value("OKLA_COMBINED_BU"), abs=0.1)


def test_oklahoma_2006_what_standing_canola_lost(tiny: Tiny) -> None:
    lost = grams_m2(value("OKLA_STANDING"))
    ground, pan = {"place": "ground behind header", "grams": lost / 2}, {"place": "pan behind combine", **WIDTHS}
    found = only(tiny(farm("standing", ground, {**pan, "grams": 6 * lost / 2})), "plot_loss")
    assert found["loss_bu_ac"] == printed("OKLA_STANDING_BU")


def test_pami_2019_a_loss_in_percent_of_the_yield(tiny: Tiny) -> None:
    lost = value("PAMI_LOSS") * KG_PER_BUSHEL * 1000 / M2_PER_ACRE
    pan = {"place": "pan behind combine", "grams": 6 * lost, **WIDTHS}
    kg = value("PAMI_YIELD") * 50 * KG_PER_BUSHEL
    load: Row = {**plot_of("standing"), "ticket": "1", "weight_kg": kg, "moisture_pct": 10.0, "dockage_pct": 0.0}
    found = only(tiny(farm("standing", pan, loads=[load])), "plot_loss_parts", part="combine")
    assert found["loss_bu_ac"] == pytest.approx(value("PAMI_LOSS"))
    assert found["loss_pct"] == printed("PAMI_PERCENT")


def test_gulden_2003_seeds_and_kilograms_of_one_loss_agree() -> None:
    """At 3.5 g a thousand, a usual seed."""
    seeds = round(value("GULDEN_MASS") / 10 / grams_from_seeds(1, thousand_seed_g=3.5))
    assert seeds == printed("GULDEN_SEEDS")
    lost = loss_bu_ac(grams_from_seeds(seeds, thousand_seed_g=3.5), area_m2=1.0)
    assert lost * KG_HA_PER_BU_AC == pytest.approx(value("GULDEN_MASS"), abs=0.05)


def test_haile_2010_seeds_and_kilograms_of_one_loss_give_a_seed_of_the_councils_table() -> None:
    """Canola Council of Canada, 2012: seeds of 2 to 5 g a thousand."""
    seed_g = value("HAILE_MASS") / 10 / value("HAILE_SEEDS") * 1000
    assert 2.0 < seed_g < 5.0
    lost = loss_bu_ac(grams_from_seeds(int(value("HAILE_SEEDS")), thousand_seed_g=seed_g), area_m2=1.0)
    assert lost * KG_HA_PER_BU_AC == pytest.approx(value("HAILE_MASS"), abs=0.05)


def test_north_dakotas_order_of_counts(tiny: Tiny) -> None:
    """Ahead of the machine; behind the header, less the first; behind the machine, less both, over the width ratio.

    North Dakota State University Extension, order of counts for a check of sunflower losses; the counts are ours. A
    pan that is dropped sees what the machine alone throws over, so that both counts before it are off already.
    """
    ahead, behind_header, behind_machine = 10, 25, 85
    counts = (
        {"place": "ground before harvest", "seeds": ahead},
        {"place": "ground behind header", "seeds": behind_header},
        {"place": "pan behind combine", "seeds": behind_machine - behind_header, **WIDTHS},
    )
    sample: Row = {**plot_of("standing"), "sample": "1", "thousand_seed_g": 4.0}
    found = only(tiny(farm("standing", *counts, samples=[sample])), "plot_loss")
    one_seed = loss_bu_ac(grams_from_seeds(1, thousand_seed_g=4.0), area_m2=1.0)
    parts = {name: found[f"{name}_bu_ac"] for name in ("shatter", "header", "combine", "loss")}
    assert {name: float(str(part)) / one_seed for name, part in parts.items()} == pytest.approx(
        {"shatter": 10, "header": 15, "combine": 60 / 6, "loss": 35}
    )


def test_every_published_figure_is_used_here() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    assert [name for name in PUBLISHED if text.count(f'"{name}"') == 0] == []
    assert pl.read_csv(FILE)["source"].null_count() == 0

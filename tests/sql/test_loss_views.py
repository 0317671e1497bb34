"""The views of losses against arithmetic by hand: spots, places, parts, totals, and what is missing."""

import duckdb
import polars as pl
import pytest

from analytics.pairs import losses
from analytics.pairs.compared_pairs import pair_rows
from analytics.storage.database import read_table
from tests.sql.two_halves import EAST, WEST, Row, Tiny, check, load, loss_records, only, pair_of_plots, without


def test_a_loss_in_percent_by_another_method_is_of_the_yield_as_sold(tiny: Tiny) -> None:
    """19.6 t clean on 50 acres are 17.284 bu/ac as sold; 2 % of it are 0.3457."""
    percent = check(EAST, "pan behind combine", "1", loss_pct=2.0, area_m2=None)
    ground = check(EAST, "ground behind header", "1", grams=5.604, area_m2=1.0)  # 1 bu/ac is 5.604 g/m2
    without_tickets = [row | WEST for row in (percent, ground)]
    farm = tiny(pair_of_plots(loads=[load(EAST, "1")], loss_checks=[percent, ground, *without_tickets]))
    assert only(farm, "plot_loss")["combine_bu_ac"] == pytest.approx(0.3457, abs=1e-4)
    assert only(farm, "plot_loss")["loss_bu_ac"] == pytest.approx(1.3457, abs=1e-3)
    assert missing_loss(farm, WEST) == "the yield, for a loss in percent"


GRAM_M2 = 1 / 5.60425578097  # bu/ac in 1 g/m2


def test_spots_of_a_place_are_averaged_with_their_spread(tiny: Tiny) -> None:
    places = read_table(tiny(loss_records()), "loss_places").filter(
        pl.col("plot") == "east", pl.col("place") == "ground before harvest"
    )
    (row,) = places.iter_rows(named=True)
    assert row["spots"] == 2
    assert row["mean_bu_ac"] == pytest.approx(1.0 * GRAM_M2)
    assert row["spread_bu_ac"] == pytest.approx(0.4 / 2**0.5 * GRAM_M2)  # 0.8 and 1.2 g/m2


def test_parts_of_the_loss_by_hand(tiny: Tiny) -> None:
    connection = tiny(loss_records())
    east, west = only(connection, "plot_loss"), only(connection, "plot_loss", WEST)
    grams = {name: round(value / GRAM_M2, 6) for name, value in east.items() if isinstance(value, float)}
    assert grams == {
        "shatter_bu_ac": 1.0,
        "header_bu_ac": 2.0,
        "combine_bu_ac": 1.0,
        "ground_bu_ac": 3.0,
        "loss_bu_ac": 4.0,
        "at_least_bu_ac": 4.0,
    }
    grams = {name: round(value / GRAM_M2, 6) for name, value in west.items() if isinstance(value, float)}
    assert grams == {
        "shatter_bu_ac": 0.5,
        "windrower_bu_ac": 1.0,
        "header_bu_ac": 0.5,
        "combine_bu_ac": 1.0,
        "ground_bu_ac": 2.0,
        "loss_bu_ac": 3.0,
        "at_least_bu_ac": 3.0,
    }


def test_parts_compared_by_pair(tiny: Tiny) -> None:
    rows = {row["part"]: row for row in losses.pair_losses(tiny(loss_records())).iter_rows(named=True)}
    difference = {part: round(row["difference_bu_ac"] / GRAM_M2, 6) for part, row in rows.items()}
    assert difference == {"shatter": 0.5, "windrower": -1.0, "header": 1.5, "combine": 0.0, "total": 1.0}


def test_a_loss_in_percent_of_the_yield_and_in_dollars(tiny: Tiny) -> None:
    parts = read_table(tiny(loss_records()), "plot_loss_parts").filter(plot=EAST["plot"], part="total")
    (total,) = parts.iter_rows(named=True)
    assert total["loss_pct"] == pytest.approx(4 * GRAM_M2 / (19_600 / 22.6796185 / 50) * 100)
    # 4 g/m2 is 4 x 4046.8564224 m2/ac = 16.187 kg/ac, at 600 $/t
    assert total["loss_dollars_ac"] == pytest.approx(4 * 4.0468564224 * 0.6)


def test_a_pan_is_divided_by_cut_over_discharge_and_the_ground_is_not(tiny: Tiny) -> None:
    factors = read_table(tiny(loss_records()), "loss_spots").group_by("place").agg(pl.col("concentration_factor").max())
    assert dict(factors.iter_rows()) == {
        "ground before harvest": 1.0,
        "ground after windrower": 1.0,
        "ground behind header": 1.0,
        "pan behind combine": 6.0,
    }


def test_seed_weight_falls_back_on_the_crop_year_and_says_so(tiny: Tiny) -> None:
    records = loss_records()
    records["samples"] = [{**WEST, "sample": "1", "thousand_seed_g": 5.0}]
    spots = read_table(tiny(records), "loss_spots").filter(pl.col("plot") == "east", pl.col("seeds") == 200)
    (row,) = spots.iter_rows(named=True)
    assert row["thousand_seed_from"] == "this crop year"
    assert row["loss_bu_ac"] == pytest.approx(1.0 * GRAM_M2)


def test_a_count_without_any_seed_weight_leaves_its_place_unknown(tiny: Tiny) -> None:
    """Shatter and the header's part hang on the count; what was weighed stays known, and with it the total."""
    records = loss_records()
    del records["samples"]
    row = only(tiny(records), "plot_loss")
    assert (row["shatter_bu_ac"], row["header_bu_ac"]) == (None, None)
    assert (row["combine_bu_ac"], row["loss_bu_ac"]) == pytest.approx((1.0 * GRAM_M2, 4.0 * GRAM_M2))


def test_a_total_that_hangs_on_a_count_without_seed_weight_says_what_is_missing(tiny: Tiny) -> None:
    records = loss_records()
    del records["samples"]
    records["loss_checks"][2] = check(EAST, "ground behind header", "1", seeds=750)
    connection = tiny(records)
    assert only(connection, "plot_loss")["loss_bu_ac"] is None
    assert missing_loss(connection) == "a thousand seed weight"


def missing_loss(connection: duckdb.DuckDBPyConnection, plot: Row = EAST) -> str:
    of_loss = read_table(connection, "plot_measures").filter(
        pl.col("measure") == "loss", pl.col("plot") == plot["plot"]
    )
    return "; ".join(lack["missing"] for lack in of_loss["lacks"].item())


def test_a_missing_place_is_named_and_its_part_unknown(tiny: Tiny) -> None:
    connection = tiny(without("ground behind header", "east"))
    row = only(connection, "plot_loss")
    assert (row["header_bu_ac"], row["loss_bu_ac"]) == (None, None)
    assert missing_loss(connection) == "a count on the ground behind the header"


def test_without_the_count_behind_the_pick_up_a_windrowed_total_is_unknown_and_at_least_what_was_found(
    tiny: Tiny,
) -> None:
    """1.5 g/m2 after the windrower and 1 over the combine; what the windrow and the pick-up lost comes on top."""
    connection = tiny(without("ground behind header", "west"))
    row = only(connection, "plot_loss", WEST)
    assert (row["loss_bu_ac"], row["ground_bu_ac"]) == (None, None)
    assert row["at_least_bu_ac"] == pytest.approx(2.5 * GRAM_M2)
    assert missing_loss(connection, WEST) == "a count on the ground behind the pick-up"
    (pair,) = pair_rows(connection, "loss").iter_rows(named=True)
    assert (pair["difference"], pair["missing"]) == (
        None,
        "a count on the ground behind the pick-up for Home, west (windrowed)",
    )


def test_a_pan_alone_is_at_least_what_it_holds_and_both_counts_are_named(tiny: Tiny) -> None:
    records = loss_records()
    records["loss_checks"] = [row for row in records["loss_checks"] if row["place"] == "ground before harvest"]
    connection = tiny(records)
    assert only(connection, "plot_loss", WEST)["at_least_bu_ac"] == pytest.approx(0.5 * GRAM_M2)
    assert missing_loss(connection, WEST) == "a count on the ground behind the pick-up; a pan behind the combine"

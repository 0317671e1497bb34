"""The lot: drawn, kept as plots and pairs, not kept to; and a plan that waits for its harvest."""

from datetime import date, datetime

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.answer.review import review
from analytics.errors import BadInput, Refused
from analytics.pairs.compared_pairs import pair_rows, planned_pairs
from analytics.planning.drawing_lots import break_draw, draw, keep_plan, kept_draws, new_seed, repeats
from analytics.planning.pairing import strip_pairs
from analytics.records.grown_tables import FIELDS, PAIRS, PLOTS
from analytics.records.harvest_tables import LOADS, LOSS_CHECKS, SAMPLES
from analytics.storage.database import failed_checks, read_table
from analytics.storage.history import changes_of
from tests.conftest import write
from tests.prepared import begun

WHEN = datetime(2026, 4, 1, 9, 30)


@pytest.fixture
def empty(tiny):
    return tiny({})


# --- the lot


@given(st.integers(0, 999_999), st.integers(2, 10))
def test_the_same_seed_draws_the_same(seed, how_many):
    pairs = strip_pairs("A", how_many)
    assert draw(pairs, seed=seed) == draw(pairs, seed=seed)


def test_seed_1914_draws_what_it_drew_before():
    """Regression: Python's random() keeps its numbers for a seed; drawn once with Python 3.11."""
    assert [one.first_method for one in draw(strip_pairs("A", 6), seed=1914)] == [
        "standing",
        "standing",
        "standing",
        "windrowed",
        "windrowed",
        "standing",
    ]


def test_the_lot_favours_neither_side():
    """1,000 seeds of 10 pairs: the share of first sides standing lies within 4 standard errors of one half."""
    firsts = [one.first_method for seed in range(1000) for one in draw(strip_pairs("A", 10), seed=seed)]
    assert abs(firsts.count("standing") / 10_000 - 0.5) < 4 * 0.5 / 100


def test_each_pair_gets_both_methods():
    for one in draw(strip_pairs("A", 5), seed=7):
        assert {one.standing, one.windrowed} == {one.planned.first, one.planned.second}


@pytest.mark.parametrize("seed", [-1, 1_000_000])
def test_a_seed_outside_its_range_is_refused(seed):
    with pytest.raises(BadInput, match="0 to 999999"):
        draw(strip_pairs("A", 2), seed=seed)


def test_a_new_seed_is_one_that_may_be_drawn_with():
    assert draw(strip_pairs("A", 2), seed=new_seed())


def planned_farm(connection, how_many=4, seed=1914):
    write(connection, {"fields": pl.DataFrame([{"field": "A", "acres": 160.0}], schema=FIELDS.polars_schema())})
    return keep_plan(
        connection,
        strip_pairs("A", how_many),
        crop_year=2026,
        seed=seed,
        drawn_at=WHEN,
        done_by="test",
        source="screen",
    )


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """A farm with a plan of four pairs, for those who change nothing, and what was drawn."""
    with begun(tmp_path_factory.mktemp("planned") / "records.duckdb", thrown_away=True) as connection:
        yield connection, planned_farm(connection)


def test_the_plan_is_written_back_as_plots_and_pairs(planned):
    farm, drawn = planned
    plots = {(row["field"], row["plot"]): row["method"] for row in read_table(farm, "plots").iter_rows(named=True)}
    assert plots == {
        (side.field, side.plot): method
        for one in drawn
        for side, method in ((one.standing, "standing"), (one.windrowed, "windrowed"))
    }
    pairs = read_table(farm, "pairs")
    assert pairs["allocation"].unique().to_list() == ["drawn by lot"]
    assert pairs["layout"].unique().to_list() == ["strips"]
    assert failed_checks(farm) == []


def test_the_draw_is_kept_with_seed_and_date_and_can_be_repeated(planned):
    farm, _ = planned
    kept = kept_draws(farm, 2026)
    assert kept["seed"].unique().to_list() == [1914]
    assert kept["drawn_at"].unique().to_list() == ["2026-04-01 09:30:00"]
    assert repeats(kept)
    assert not repeats(kept.with_columns(pl.lit("standing").alias("first_method")))


def test_draw_plots_and_pairs_are_one_act(planned):
    farm, _ = planned
    act = read_table(farm, "acts")["act_id"].max()
    assert set(changes_of(farm, act)) == {"draws", "plots", "pairs"}


def test_a_pair_is_drawn_once(empty):
    planned_farm(empty)
    with pytest.raises(Refused, match="a lot is drawn once"):
        planned_farm(empty, seed=1915)
    assert kept_draws(empty, 2026)["seed"].unique().to_list() == [1914]


def test_a_field_with_plots_that_year_is_refused(empty, add):
    add(empty, FIELDS, {"field": "A", "acres": 160.0})
    add(empty, PLOTS, {"crop_year": 2026, "field": "A", "plot": "whole", "method": "standing"})
    with pytest.raises(Refused, match="has plots in 2026 already"):
        planned_farm(empty)


def test_no_pairs_and_pairs_twice_are_refused(empty):
    rest = {"crop_year": 2026, "seed": 1, "drawn_at": WHEN, "done_by": "test", "source": "screen"}
    with pytest.raises(BadInput, match="no pair"):
        keep_plan(empty, [], **rest)
    with pytest.raises(BadInput, match="twice"):
        keep_plan(empty, strip_pairs("A", 2) * 2, **rest)


def test_a_broken_draw_needs_a_reason_and_a_draw(planned):
    farm, _ = planned
    note = {"crop_year": 2026, "noted_on": date(2026, 8, 20), "done_by": "test"}
    with pytest.raises(BadInput, match="Say what forced it"):
        break_draw(farm, pair="A 1", reason="  ", **note)
    with pytest.raises(Refused, match="no draw to break"):
        break_draw(farm, pair="B 1", reason="hail", **note)


def test_a_broken_draw_counts_as_chosen_and_with_a_caution_once_the_pair_is_compared(empty, add):
    drawn = planned_farm(empty)
    break_draw(empty, crop_year=2026, pair="A 2", reason="hail on strip 3", noted_on=date(2026, 8, 20), done_by="test")
    assert kept_draws(empty, 2026)["reason"].to_list() == [None, "hail on strip 3", None, None]
    assert not any(caution.code == "draw_broken" for caution in review(empty, "dockage").cautions)
    loads = [
        {
            "crop_year": 2026, "field": "A", "plot": side.plot, "ticket": str(number), "weight_kg": 9000.0,
            "dockage_pct": 1.0 + 0.1 * number, "moisture_pct": 8.0, "weighed_by": "grain cart",
        }
        for number, side in enumerate(side for one in drawn for side in (one.standing, one.windrowed))
    ]  # fmt: skip
    add(empty, LOADS, *loads)
    [caution] = [caution for caution in review(empty, "dockage").cautions if caution.code == "draw_broken"]
    assert caution.text.startswith("In 1 of 4 pairs the lot was drawn but not kept to")
    given = dict(pair_rows(empty, "dockage").select("pair", "allocation").iter_rows())
    assert given == {"A 1": "drawn by lot", "A 2": "chosen", "A 3": "drawn by lot", "A 4": "drawn by lot"}


# --- a plan waits for its harvest


def harvest(connection, add, drawn, sides=("standing", "windrowed")):
    for number, one in enumerate(drawn):
        for method in sides:
            side = getattr(one, method)
            load = {
                "crop_year": 2026, "field": side.field, "plot": side.plot, "ticket": f"{number} {method}",
                "weight_kg": 9000.0, "dockage_pct": 1.0 + 0.1 * number, "moisture_pct": 8.0,
                "weighed_by": "grain cart",
            }  # fmt: skip
            add(connection, LOADS, load)


def test_a_planned_pair_is_not_left_out_and_is_said_to_wait(empty):
    planned_farm(empty, how_many=2)
    answer = review(empty, "yield")
    assert (answer.pairs, answer.left_out) == (0, 0)
    assert planned_pairs(empty)["pair"].to_list() == ["A 1", "A 2"]
    [caution] = [caution for caution in answer.cautions if caution.code == "planned"]
    assert caution.text == "2 pairs are planned and not harvested yet; none is counted here."


def test_the_first_weighed_side_ends_the_waiting_of_its_pair_alone(empty, add):
    drawn = planned_farm(empty, how_many=2)
    harvest(empty, add, drawn[:1], sides=("standing",))
    assert planned_pairs(empty)["pair"].to_list() == ["A 2"]
    assert review(empty, "yield").left_out == 1


@pytest.mark.parametrize("what", ["harvest day", "sample", "loss check"])
def test_anything_harvested_ends_the_waiting(empty, add, what):
    [one, _] = planned_farm(empty, how_many=2)
    side = {"crop_year": 2026, "field": one.standing.field, "plot": one.standing.plot}
    day = date(2026, 9, 1)
    row = {
        "harvest day": (PLOTS, {"method": "standing", "harvested_on": day}),
        "sample": (SAMPLES, {"sample": "1", "seeds_crushed": 500, "green_seeds": 3}),
        "loss check": (
            LOSS_CHECKS,
            {"checked_on": day, "place": "ground behind header", "spot": "1", "seeds": 9, "area_m2": 0.1},
        ),
    }
    table, values = row[what]
    add(empty, table, side | values)
    assert planned_pairs(empty)["pair"].to_list() == ["A 2"]


def test_a_pair_without_papers_of_a_past_year_lacks_them_and_is_no_plan(empty, add):
    planned_farm(empty, how_many=2)
    add(empty, PLOTS, {"crop_year": 2027, "field": "A", "plot": "whole", "method": "standing"})
    load = {"crop_year": 2027, "field": "A", "plot": "whole", "ticket": "1", "weight_kg": 9000.0}
    add(empty, LOADS, load)
    assert planned_pairs(empty).is_empty()
    assert review(empty, "yield").left_out == 2


def test_a_pair_with_one_side_is_no_plan(empty, add):
    add(empty, FIELDS, {"field": "A"})
    add(empty, PLOTS, {"crop_year": 2026, "field": "A", "plot": "east", "method": "standing"})
    sides = {"standing_field": "A", "standing_plot": "east"}
    add(empty, PAIRS, {"crop_year": 2026, "pair": "P", "layout": "split field"} | sides)
    assert planned_pairs(empty).is_empty()

"""Pairs by likeness, the lot, strips, what the plan could show, and the plan written back."""

from collections import Counter
from dataclasses import replace
from datetime import date, datetime
from itertools import pairwise

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.answer.review import in_yield_unit, review
from analytics.errors import BadInput, Refused
from analytics.pairs.compared_pairs import pair_rows, planned_pairs
from analytics.planning.drawing_lots import break_draw, draw, keep_plan, kept_draws, layout, new_seed, repeats
from analytics.planning.field_rules import RULES as ALL_RULES
from analytics.planning.field_rules import FieldFacts
from analytics.planning.pairing import USUAL_SD_BU_AC, differences, plan_power, propose_pairs, strip_pairs
from analytics.planning.plan_wording import distances_to_type, how_long, pair_words, what_it_could_show
from analytics.records.grown_tables import FIELDS, PAIRS, PLOTS
from analytics.records.harvest_tables import LOADS, LOSS_CHECKS, SAMPLES
from analytics.statistics.comparison import compare
from analytics.storage.database import failed_checks, read_table
from analytics.storage.history import changes_of
from analytics.trade.units import per_bu_ac

WHEN = datetime(2026, 4, 1, 9, 30)
RULES = {rule.rule: rule for rule in ALL_RULES}  # split from 100 acres, far from 5 km
BLANK = FieldFacts(
    field="", acres=80.0, soil="loam", topography="level", notes=None, crop=None, variety="Variety A",
    shatter_tolerant=None, seeded_on=date(2026, 5, 5), weed_pressure="low", stand="average", known_from=2025,
    last_crop="wheat", partners=(), distances={},
)  # fmt: skip


@pytest.fixture
def empty(tiny):
    return tiny({})


def field(name, **changes):
    return replace(BLANK, field=name, **changes)


# --- pairs by likeness


def test_alike_fields_differ_in_nothing_but_what_is_unknown():
    one, other = field("A", partners=("B",)), field("B", partners=("A",))
    assert differences(one, other, far_km=5.0) == (0.0, (), ("distance",))


def test_what_differs_is_named():
    _, differs, unknown = differences(
        field("A"),
        field("B", soil="clay", weed_pressure="high", seeded_on=date(2026, 5, 12), acres=160.0, variety=None),
        far_km=5.0,
    )
    assert differs == (
        "soil: loam against clay",
        "weeds: low against high",
        "seeded 7 days apart",
        "acres: 80 against 160",
    )
    assert unknown == ("variety", "distance")


@given(st.sampled_from(["loam", "clay", None]), st.sampled_from(["low", "high", None]), st.floats(10, 400))
def test_likeness_is_the_same_from_both_sides(soil, weeds, acres):
    one, other = field("A"), field("B", soil=soil, weed_pressure=weeds, acres=acres)
    assert differences(one, other, far_km=5.0)[0] == pytest.approx(differences(other, one, far_km=5.0)[0])


def test_a_large_field_is_split_and_the_small_ones_are_paired_by_likeness():
    pairs, alone = propose_pairs(
        [
            field("Large", acres=160.0),
            field("Clay 1", soil="clay"),
            field("Loam 1"),
            field("Clay 2", soil="clay"),
            field("Loam 2"),
        ],
        RULES,
    )
    assert [(pair.layout, {pair.first.field, pair.second.field}) for pair in pairs] == [
        ("split field", {"Large"}),
        ("neighbouring fields", {"Clay 1", "Clay 2"}),
        ("neighbouring fields", {"Loam 1", "Loam 2"}),
    ]
    assert alone == []


def apart(name, **km):
    return field(name, distances=km)


def test_a_known_distance_is_said_and_costs_one_at_the_threshold():
    for km, cost in ((2.4, 0.48), (5.0, 1.0), (10.0, 2.0)):
        found = differences(apart("A", B=km), apart("B", A=km), far_km=5.0)
        assert found == (pytest.approx(cost), (f"{km} km apart",), ())


def test_of_fields_alike_the_nearest_are_paired():
    fields = [
        apart("A", B=9.0, C=1.0, D=9.5), apart("B", A=9.0, C=9.2, D=0.8),
        apart("C", A=1.0, B=9.2, D=9.7), apart("D", A=9.5, B=0.8, C=9.7),
    ]  # fmt: skip
    pairs, _ = propose_pairs(fields, RULES)
    assert {frozenset((pair.first.field, pair.second.field)) for pair in pairs} == {frozenset("AC"), frozenset("BD")}


def test_fields_too_far_apart_stay_alone():
    assert propose_pairs([apart("A", B=29.0), apart("B", A=29.0)], RULES)[0]
    assert propose_pairs([apart("A", B=31.0), apart("B", A=31.0)], RULES) == ([], ["A", "B"])  # 6 x 5 km is UNALIKE


def test_what_to_type_is_said_where_a_distance_is_not_on_record():
    pairs, _ = propose_pairs([field("A"), field("B")], RULES)
    assert pair_words(pairs[0]).endswith("not known: distance.")
    assert distances_to_type(pairs) == (
        "Distance not on record for N1: type it under What came in?, Distances between fields."
    )
    known, _ = propose_pairs([apart("A", B=2.4), apart("B", A=2.4)], RULES)
    assert pair_words(known[0]) == "N1: A and B; 2.4 km apart."
    assert distances_to_type(known) == ""


def test_a_field_at_the_limit_is_split_and_one_just_below_is_not():
    assert propose_pairs([field("A", acres=100.0)], RULES)[0]
    assert propose_pairs([field("A", acres=99.9)], RULES) == ([], ["A"])


def test_fields_that_are_nothing_alike_stay_alone():
    other = field(
        "B", soil="clay", topography="rolling", variety="Variety B", weed_pressure="high", last_crop="peas",
        seeded_on=date(2026, 6, 5),
    )  # fmt: skip
    assert propose_pairs([field("A"), other], RULES) == ([], ["A", "B"])


@given(st.lists(st.tuples(st.sampled_from(["loam", "clay", "sand"]), st.floats(20, 99)), max_size=9))
def test_each_field_is_in_one_pair_or_alone(given_fields):
    fields = [field(f"F{place}", soil=soil, acres=acres) for place, (soil, acres) in enumerate(given_fields)]
    pairs, alone = propose_pairs(fields, RULES)
    seen = Counter([name for pair in pairs for name in (pair.first.field, pair.second.field)] + alone)
    assert seen == Counter(one.field for one in fields)


def test_a_name_that_a_pair_has_already_is_not_given_again():
    fields = [field("Large", acres=160.0), field("A"), field("B")]
    pairs, _ = propose_pairs(fields, RULES, names_taken={"H1", "N1", "N2"})
    assert [pair.pair for pair in pairs] == ["H2", "N3"]


def test_of_three_alike_fields_one_stays_alone():
    pairs, alone = propose_pairs([field("A"), field("B"), field("C")], RULES)
    assert (len(pairs), len(alone)) == (1, 1)


@pytest.mark.parametrize(("how_many", "is_allowed"), [(1, False), (2, True), (10, True), (11, False)])
def test_strips_come_in_two_to_ten_pairs(how_many, is_allowed):
    if is_allowed:
        assert len(strip_pairs("A", how_many)) == how_many
    else:
        with pytest.raises(BadInput, match="allowed 2 to 10"):
            strip_pairs("A", how_many)


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


def planned_farm(connection, add, how_many=4, seed=1914):
    add(connection, FIELDS, {"field": "A", "acres": 160.0})
    return keep_plan(
        connection,
        strip_pairs("A", how_many),
        crop_year=2026,
        seed=seed,
        drawn_at=WHEN,
        done_by="test",
        source="screen",
    )


def test_the_plan_is_written_back_as_plots_and_pairs(empty, add):
    drawn = planned_farm(empty, add)
    plots = {(row["field"], row["plot"]): row["method"] for row in read_table(empty, "plots").iter_rows(named=True)}
    assert plots == {
        (side.field, side.plot): method
        for one in drawn
        for side, method in ((one.standing, "standing"), (one.windrowed, "windrowed"))
    }
    pairs = read_table(empty, "pairs")
    assert pairs["allocation"].unique().to_list() == ["drawn by lot"]
    assert pairs["layout"].unique().to_list() == ["strips"]
    assert failed_checks(empty) == []


def test_the_draw_is_kept_with_seed_and_date_and_can_be_repeated(empty, add):
    planned_farm(empty, add)
    kept = kept_draws(empty, 2026)
    assert kept["seed"].unique().to_list() == [1914]
    assert kept["drawn_at"].unique().to_list() == ["2026-04-01 09:30:00"]
    assert repeats(kept)
    assert not repeats(kept.with_columns(pl.lit("standing").alias("first_method")))


def test_draw_plots_and_pairs_are_one_act(empty, add):
    planned_farm(empty, add)
    act = read_table(empty, "acts")["act_id"].max()
    assert set(changes_of(empty, act)) == {"draws", "plots", "pairs"}


def test_a_pair_is_drawn_once(empty, add):
    planned_farm(empty, add)
    with pytest.raises(Refused, match="a lot is drawn once"):
        planned_farm(empty, add, seed=1915)
    assert kept_draws(empty, 2026)["seed"].unique().to_list() == [1914]


def test_a_field_with_plots_that_year_is_refused(empty, add):
    add(empty, FIELDS, {"field": "A", "acres": 160.0})
    add(empty, PLOTS, {"crop_year": 2026, "field": "A", "plot": "whole", "method": "standing"})
    with pytest.raises(Refused, match="has plots in 2026 already"):
        planned_farm(empty, add)


def test_no_pairs_and_pairs_twice_are_refused(empty):
    rest = {"crop_year": 2026, "seed": 1, "drawn_at": WHEN, "done_by": "test", "source": "screen"}
    with pytest.raises(BadInput, match="no pair"):
        keep_plan(empty, [], **rest)
    with pytest.raises(BadInput, match="twice"):
        keep_plan(empty, strip_pairs("A", 2) * 2, **rest)


def test_a_broken_draw_needs_a_reason_and_a_draw(empty, add):
    planned_farm(empty, add)
    note = {"crop_year": 2026, "noted_on": date(2026, 8, 20), "done_by": "test"}
    with pytest.raises(BadInput, match="Say what forced it"):
        break_draw(empty, pair="A 1", reason="  ", **note)
    with pytest.raises(Refused, match="no draw to break"):
        break_draw(empty, pair="B 1", reason="hail", **note)


def test_a_broken_draw_counts_as_chosen_and_with_a_caution_once_the_pair_is_compared(empty, add):
    drawn = planned_farm(empty, add)
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


# --- strips and what the plan could show


def test_strips_lie_side_by_side_and_fill_the_field():
    pairs = strip_pairs("A", 3)
    pieces = layout(pairs, draw(pairs, seed=1914))
    assert [piece.plot for piece in pieces] == [f"strip {number}" for number in range(1, 7)]
    assert pieces[0].left == 0
    assert pieces[-1].right == 1
    assert all(one.right == other.left for one, other in pairwise(pieces))
    assert Counter(piece.method for piece in pieces) == {"standing": 3, "windrowed": 3}


def test_before_the_lot_no_piece_has_a_method():
    assert {piece.method for piece in layout(strip_pairs("A", 2))} == {""}


def yields(differences_, years, field=None, margin=1.0):
    """Field-years of yield; with `field` each is one field cut both ways."""
    zeros = [0.0] * len(differences_)
    fields = None if field is None else [f"{field} {place}" for place in range(len(differences_))]
    return compare(
        differences_,
        zeros,
        crop_year=years,
        field=fields,
        measure="yield",
        unit="bu/ac",
        margin=margin,
        layout=None if field is None else ["split field"] * len(differences_),
    )


KNOWN = ([3.0, -2.0, 4.0, 1.0, 0.0, 5.0], [2023, 2023, 2024, 2024, 2025, 2025])


def test_eight_pairs_with_a_spread_of_4_5_would_find_5_2():
    """Paired t, power 0.8, 8 pairs, sd 4.5: R 4.2.2, power.t.test(n = 8, sd = 4.5, power = 0.8, type = "paired",
    strict = TRUE) gives delta 5.202164.
    """
    found = plan_power(yields([], []), field_years=8, in_one_field=False)
    assert found.alone * 4.5 / USUAL_SD_BU_AC == pytest.approx(5.202164, abs=1e-4)
    assert "our own rough figure" in found.basis


@pytest.mark.parametrize(("field_years", "is_known"), [(2, False), (3, True)])
def test_fewer_than_three_field_years_show_nothing_by_themselves(field_years, is_known):
    found = plan_power(yields([], []), field_years=field_years, in_one_field=True)
    assert (found.alone is not None) == is_known


def test_with_the_records_and_more_seasons_the_plan_sees_ever_smaller_gaps():
    found = plan_power(yields(*KNOWN, field="North"), field_years=4, in_one_field=True)
    assert found.after_three < found.together < found.alone
    assert found.basis == "the spread of 6 field-years on record where one field was cut both ways"


def test_a_plan_of_split_fields_goes_by_the_spread_of_split_fields():
    """The demo's plan said 169 field-years by the spread of all pairs, where split fields alone say 53."""
    split, apart = [0.5, -0.5, 0.6, -0.4, 0.2, 0.3], [9.0, -8.0, 7.0, -9.0, 8.0, -7.0]
    years = [2023, 2023, 2024, 2024, 2025, 2025] * 2
    fields = [f"F{place}" for place in range(12)]
    both = compare(
        split + apart,
        [0.0] * 12,
        crop_year=years,
        standing_field=fields,
        windrowed_field=fields[:6] + [f"{name} west" for name in fields[6:]],
        measure="yield",
        unit="bu/ac",
        margin=1.0,
    )
    in_one, any_kind = (plan_power(both, field_years=4, in_one_field=is_one) for is_one in (True, False))
    assert in_one.sd < 1 < any_kind.sd
    assert in_one.for_margin.value < any_kind.for_margin.value / 10
    assert in_one.for_margin.low <= in_one.for_margin.value <= in_one.for_margin.high


def test_a_plan_says_the_same_in_any_yield_unit():
    known = yields(*KNOWN)
    plain, tonnes = (
        plan_power(one, field_years=4, in_one_field=False) for one in (known, in_yield_unit(known, "t/ha"))
    )
    assert tonnes.for_margin == plain.for_margin
    for name in ("alone", "together", "after_three", "margin", "sd"):
        assert getattr(tonnes, name) == pytest.approx(getattr(plain, name) * per_bu_ac("t/ha"))
    assert "t/ha in 8 of 10 such trials" in what_it_could_show(tonnes)
    nothing = plan_power(in_yield_unit(yields([], []), "t/ha"), field_years=4, in_one_field=False)
    assert nothing.sd == pytest.approx(USUAL_SD_BU_AC * per_bu_ac("t/ha"))


def test_a_gap_out_of_reach_is_never_told_as_seasons_to_wait():
    """ "169 field-years in all, which is 20 more seasons like this one" stood as advice."""
    wide = plan_power(yields([9.0, -8.0, 7.0, -9.0, 8.0, -7.0], KNOWN[1]), field_years=2, in_one_field=False)
    told = " ".join(how_long(wide))
    assert "A gap of 1.0 bu/ac is too small for one farm to see." in told
    assert "season" not in told.replace("Three seasons like this one", "")


def test_without_a_margin_only_the_gap_and_the_spread_are_told():
    found = plan_power(yields(*KNOWN, margin=None), field_years=4, in_one_field=False)
    assert not any("A gap of" in line for line in how_long(found))
    assert how_long(found)[-1].startswith("The spread is taken as ")


def test_a_plan_without_fields_is_refused():
    with pytest.raises(BadInput, match="Choose fields first"):
        plan_power(yields([], []), field_years=0, in_one_field=True)


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


def test_a_planned_pair_is_not_left_out_and_is_said_to_wait(empty, add):
    planned_farm(empty, add, how_many=2)
    answer = review(empty, "yield")
    assert (answer.pairs, answer.left_out) == (0, 0)
    assert planned_pairs(empty)["pair"].to_list() == ["A 1", "A 2"]
    [caution] = [caution for caution in answer.cautions if caution.code == "planned"]
    assert caution.text == "2 pairs are planned and not harvested yet; none is counted here."


def test_the_first_weighed_side_ends_the_waiting_of_its_pair_alone(empty, add):
    drawn = planned_farm(empty, add, how_many=2)
    harvest(empty, add, drawn[:1], sides=("standing",))
    assert planned_pairs(empty)["pair"].to_list() == ["A 2"]
    assert review(empty, "yield").left_out == 1


@pytest.mark.parametrize("what", ["harvest day", "sample", "loss check"])
def test_anything_harvested_ends_the_waiting(empty, add, what):
    [one, _] = planned_farm(empty, add, how_many=2)
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
    planned_farm(empty, add, how_many=2)
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

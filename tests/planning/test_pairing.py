"""Pairs by likeness, strips, and what the plan could show."""

from collections import Counter
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.answer.review import in_yield_unit
from analytics.errors import BadInput
from analytics.planning.drawing_lots import draw, layout
from analytics.planning.field_rules import RULES as ALL_RULES
from analytics.planning.pairing import USUAL_SD_BU_AC, differences, plan_power, propose_pairs, strip_pairs
from analytics.planning.plan_wording import distances_to_type, how_long, pair_words, what_it_could_show
from analytics.statistics.comparison import compare
from analytics.trade.units import per_bu_ac
from tests.planning.blank_fields import field

RULES = {rule.rule: rule for rule in ALL_RULES}  # split from 100 acres, far from 5 km


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

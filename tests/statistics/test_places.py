"""Places and field-years: what counts as a replicate. The old wrong cases stand beside each rule."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.statistics.comparison import compare
from analytics.statistics.given_pairs import Kind, complete_pairs
from analytics.statistics.places import field_years, place_names
from analytics.statistics.results import Finding

YIELD = {"measure": "yield", "unit": "bu/ac"}


def compared(differences, **options):
    return compare(differences, np.zeros(len(differences)), **(YIELD | options))


def made(differences, **columns):
    pairs = complete_pairs(differences, np.zeros(len(differences)), **columns)
    return pairs, field_years(pairs, pairs.counted)


def codes(comparison):
    return [caution.code for caution in comparison.cautions]


# --- within a crop year


def test_one_field_against_four_neighbours_is_one_place():
    """Said before: four field-years in one year, "a real difference here"; such ranges covered 54 to 77 %."""
    got = compared(
        [5.0, 5.2, 5.1, 4.9], standing_field=["A"] * 4, windrowed_field=["B1", "B2", "B3", "B4"], crop_year=[2024] * 4
    )
    assert (got.pairs, got.field_years) == (4, 1)
    answer = got.these_fields
    assert (answer.finding, answer.low, answer.replicates) == (Finding.TOO_FEW, None, 1)
    assert answer.reason == "The 4 pairs share fields, so they are one place in one year; at least 3 are needed."
    assert answer.estimate == pytest.approx(5.05)
    assert "fields_shared" in codes(got)
    assert [place.place for place in got.places] == ["A / B1 + B2 + B3 + B4"]


def test_two_neighbours_cut_both_ways_are_one_place():
    """Said before: two field-years of opposite sign a year; "9.0 less to 10.8 more" and "0.8 to 1.0, real" at once."""
    years = [2021, 2021, 2022, 2022, 2023, 2023]
    got = compared(
        [5.9, -4.1, 5.8, -3.9, 6.1, -4.4],
        standing_field=["A", "B"] * 3,
        windrowed_field=["B", "A"] * 3,
        crop_year=years,
    )
    assert (got.field_years, got.years) == (3, 3)
    assert [place.difference for place in got.places] == pytest.approx([0.9, 0.95, 0.85])
    assert {place.place for place in got.places} == {"A + B / A + B"}
    assert (
        got.fields_not_tried.reason == "Only one group of fields was tried; at least 3 are needed to speak of others."
    )
    assert got.these_fields.low == pytest.approx(got.years_to_come.low)
    assert got.these_fields.finding is got.years_to_come.finding


def test_fields_joined_by_a_chain_of_pairs_are_one_place():
    _, found = made([1.0, 2.0, 4.0, 9.0], standing_field=list("ACEX"), windrowed_field=list("BBCY"))
    assert found.count == 2
    assert found.difference.tolist() == pytest.approx([7 / 3, 9.0])


def test_strips_of_one_field_are_averaged_and_speak_for_themselves_when_alone():
    got = compared([4.0, 5.0, 7.0], field=["A"] * 3, layout=["strips"] * 3, crop_year=[2024] * 3)
    assert (got.these_fields.method, got.these_fields.replicates) == ("paired t over strips", 3)
    shared = compared([4.0, 5.0, 7.0], standing_field=["A"] * 3, windrowed_field=["B"] * 3, crop_year=[2024] * 3)
    assert shared.these_fields.finding is Finding.TOO_FEW  # strips of two fields: the fields differ in each alike


def test_the_same_fields_in_another_year_are_another_field_year():
    _, found = made([1.0, 2.0], field=["A", "A"], crop_year=[2021, 2022])
    assert (found.count, found.places) == (2, 1)


def test_a_place_that_mixes_kinds_is_averaged_with_a_caution():
    got = compared(
        [1.0, 4.0, 2.0, 3.0],
        standing_field=["A", "A", "C", "D"],
        windrowed_field=["A", "B", "C", "E"],
        crop_year=[2021, 2021, 2022, 2022],
    )
    mixed = got.places[0]
    assert (mixed.kind, mixed.pairs, mixed.difference) == (Kind.MIXED, 2, 2.5)
    assert "kinds_mixed" in codes(got)


def test_equal_names_on_two_farms_are_two_places():
    names = {"field": ["Home"] * 4, "crop_year": [2024] * 4}
    assert compared([1.0, 2.0, 3.0, 4.0], **names).field_years == 1
    assert compared([1.0, 2.0, 3.0, 4.0], farm=["one", "one", "two", "two"], **names).field_years == 2


def test_a_planned_choice_of_pairs_comes_before_places():
    """A pair that is left out joins nothing."""
    columns = {"standing_field": list("AB"), "windrowed_field": list("XX")}
    assert compared([1.0, 2.0], **columns).field_years == 1
    assert compared([1.0, None], **columns).field_years == 1
    barred = compared([1.0, 2.0], barred=[None, "unscaled"], **columns)
    assert (barred.pairs, barred.all_pairs.barred) == (1, (("unscaled", 1),))


# --- across years


def test_a_place_comes_back_only_with_the_same_fields_on_both_sides():
    columns = {"crop_year": [2021, 2022], "standing_field": ["A", "A"]}
    assert made([1.0, 2.0], windrowed_field=["B", "B"], **columns)[1].places == 1
    for other in ("C", "A"):
        pairs, found = made([1.0, 2.0], windrowed_field=["B", other], **columns)
        assert (found.places, found.overlapping) == (2, 2)
        assert place_names(pairs, found) == ["A / B", "A" if other == "A" else "A / C"]
    _, swapped = made([1.0, 2.0], crop_year=[2021, 2022], standing_field=["A", "B"], windrowed_field=["B", "A"])
    assert swapped.places == 2


def test_overlapping_places_are_told():
    got = compared([1.0, 2.0], crop_year=[2021, 2022], standing_field=["A", "A"], windrowed_field=["B", "C"])
    assert "places_overlap" in codes(got)
    apart = compared([1.0, 2.0], crop_year=[2021, 2022], standing_field=["A", "C"], windrowed_field=["B", "D"])
    assert "places_overlap" not in codes(apart)


# --- names and kinds


def test_without_a_field_every_row_is_a_field_year_and_the_answer_says_so():
    """Said before, without a word: "On these 8 field-years in one year ... a real difference here"."""
    got = compared([5.0, 5.1, 4.9, 5.2, 5.0, 5.1, 4.8, 5.0])
    assert got.field_years == 8
    caution = next(caution for caution in got.cautions if caution.code == "no_field_named")
    assert "Strips of one field must carry its name" in caution.text


@pytest.mark.parametrize(
    ("columns", "kind"),
    [
        ({"standing_field": ["A"], "windrowed_field": ["A"]}, Kind.ONE_FIELD),
        ({"standing_field": ["A"], "windrowed_field": ["B"]}, Kind.TWO_FIELDS),
        ({"standing_field": ["A"], "windrowed_field": ["B"], "layout": ["matched after harvest"]}, Kind.MATCHED),
        ({"field": ["A"], "layout": ["split field"]}, Kind.ONE_FIELD),
        ({"field": ["A"], "layout": ["strips"]}, Kind.ONE_FIELD),
        ({"field": ["A"], "layout": ["neighbouring fields"]}, Kind.TWO_FIELDS),
        ({"field": ["A"], "layout": [None]}, Kind.UNKNOWN),
        ({"field": ["A"]}, Kind.UNKNOWN),
        ({}, Kind.UNKNOWN),
    ],
)
def test_the_kind_of_a_pair(columns, kind):
    assert compared([1.0], **columns).pair_differences[0].kind is kind


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"field": ["A", None]}, "row 2, field: blank given; allowed a field's name"),
        ({"standing_field": ["A", "B"], "windrowed_field": ["A", ""]}, "row 2, windrowed_field: blank given"),
        ({"farm": [None, "x"], "field": ["A", "B"]}, "row 1, farm: blank given; allowed a farm's name"),
        ({"standing_field": ["A", "B"]}, "standing_field and windrowed_field together"),
        ({"field": ["A", "B"], "standing_field": ["A", "B"], "windrowed_field": ["A", "B"]}, "field: allowed is"),
        ({"layout": ["strips", "halves"]}, 'row 2, layout: "halves" given; allowed split field, strips'),
        ({"allocation": ["drawn", None]}, 'row 1, allocation: "drawn" given; allowed drawn by lot, chosen'),
        ({"layout": ["strips"]}, "layout: 1 rows given; allowed 2"),
    ],
)
def test_bad_names_are_told_by_row(columns, message):
    with pytest.raises(BadInput, match=message):
        compared([1.0, 2.0], **columns)


# --- what must change nothing


def named_pairs():
    value = st.integers(-60, 60).map(lambda k: k / 10)
    row = st.tuples(value, st.integers(2001, 2003), st.sampled_from("ABCD"), st.sampled_from("ABCD"))
    return st.lists(row, min_size=1, max_size=12)


def columns_of(rows):
    differences, years, standing, windrowed = (list(column) for column in zip(*rows, strict=True))
    return differences, {"crop_year": years, "standing_field": standing, "windrowed_field": windrowed}


@given(named_pairs(), st.permutations("ABCD"), st.randoms(use_true_random=False))
def test_other_names_and_another_order_change_nothing(rows, names, random):
    new = dict(zip("ABCD", names, strict=True))
    renamed = [(difference, year, new[one], new[other]) for difference, year, one, other in rows]
    one, other = (
        compared(differences, **columns)
        for differences, columns in (columns_of(rows), columns_of(random.sample(renamed, len(renamed))))
    )
    assert (one.field_years, one.years, one.these_fields.finding) == (
        other.field_years,
        other.years,
        other.these_fields.finding,
    )
    assert sorted(place.difference for place in one.places) == pytest.approx(
        sorted(place.difference for place in other.places)
    )
    assert len({place.place for place in one.places}) == len({place.place for place in other.places})
    for name in ("estimate", "std_error", "low", "high"):
        assert getattr(other.years_to_come, name) == pytest.approx(getattr(one.years_to_come, name), abs=1e-9)


@given(named_pairs())
def test_no_two_field_years_of_a_year_share_a_field(rows):
    differences, columns = columns_of(rows)
    pairs, found = made(differences, **columns)
    held = {}
    for row, number in enumerate(found.of_pair.tolist()):
        for field in (columns["standing_field"][row], columns["windrowed_field"][row]):
            assert held.setdefault((columns["crop_year"][row], field), number) == number
    assert found.pairs.sum() == len(rows)
    assert found.count <= len(set(held.values()))
    assert pairs.left_out == 0


def test_names_with_commas_in_them_stay_those_of_two_farms():
    pairs = complete_pairs([41, 42], [40, 40], farm=["A, B", "A"], field=["C", "B, C"])
    assert pairs.standing_field.tolist() == [0, 1]
    assert pairs.fields == ["A, B, C", "A, B, C"]


def test_field_years_stand_by_year_and_then_as_they_first_appear():
    pairs, found = made([1.0, 2.0, 3.0, 4.0, 5.0], crop_year=[2, 1, 1, 2, 1], field=["B", "B", "A", "C", "B"])
    assert list(zip(found.year.tolist(), place_names(pairs, found), strict=True)) == [
        (0, "B"), (0, "A"), (1, "B"), (1, "C"),
    ]  # fmt: skip
    assert found.first_pair.tolist() == [1, 2, 0, 3]

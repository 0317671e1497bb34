"""Small odd record sets, read as a doubter would: no sentence says more than its pairs allow."""

import random

import pytest

from analytics.answer import wording
from analytics.answer.beside_published import started_of
from analytics.statistics.comparison import compare
from analytics.statistics.results import Basis, Finding

STRIPS, NEIGHBOURS, MATCHED = "strips", "neighbouring fields", "matched after harvest"
THREE_YEARS = [2021, 2021, 2022, 2022, 2023, 2023]


def compared(differences, years, fields, windrowed_fields=None, *, layout=STRIPS, allocation=None, **options):
    """Differences above 40 bu/ac windrowed; one layout and allocation for all pairs, or one each."""
    count = len(differences)
    return compare(
        [40.0 + difference for difference in differences],
        [40.0] * count,
        crop_year=years,
        standing_field=list(fields),
        windrowed_field=list(fields if windrowed_fields is None else windrowed_fields),
        layout=[layout] * count if isinstance(layout, str) else layout,
        allocation=[allocation] * count if isinstance(allocation, str | None) else allocation,
        measure="yield",
        unit="bu/ac",
        margin=1.0,
        **options,
    )


@pytest.mark.parametrize(
    ("fields", "partners", "words"),
    [
        ("AAAAAA", None, "Only one field was tried"),
        ("ABABAB", None, "Only two fields were tried"),
        ("ABABAB", "BABABA", "Only one group of fields was tried"),
        ("ACACAC", "BDBDBD", "Only two groups of fields were tried"),
    ],
)
def test_years_to_come_of_one_or_two_places_say_nothing_of_others(fields, partners, words):
    layout = STRIPS if partners is None else NEIGHBOURS
    years = list(range(2018, 2024)) if fields == "AAAAAA" else THREE_YEARS
    one = compared([2.1, 1.8, 2.4, 1.9, 2.2, 2.0], years, fields, partners, layout=layout)
    assert one.years_to_come.finding is Finding.STANDING_HIGHER
    assert f"{words}; at least 3 are needed to speak of others." in wording.sentence(one)


def test_pairs_that_share_a_field_are_not_called_strips():
    one = compared([2.1, 2.3, 1.9, 2.2], [2023] * 4, "AAAA", "BCDE", layout=NEIGHBOURS)
    assert "On this one field-year with its 4 pairs that share fields standing plots" in wording.sentence(one)
    assert "strip" not in wording.sentence(one)


def test_years_that_are_each_alike_are_not_called_all_the_same():
    """1, 1, 3, 3, 2 and 2 were told as "all differences are the same"."""
    one = compared([1, 1, 3, 3, 2, 2], THREE_YEARS, "ABCDEF")
    assert one.these_fields.reason.startswith("Within each year all differences are the same")
    same = compared([2, 2, 2, 2, 2, 2], THREE_YEARS, "ABCDEF")
    assert same.these_fields.reason.startswith("All differences are the same")


def test_two_years_without_a_difference_are_not_called_more():
    one = compared([0.0] * 6, [2021, 2021, 2021, 2022, 2022, 2022], "ABCDEF")
    assert "The two yearly averages were 0.0 and 0.0 bu/ac." in wording.sentence(one)


def test_a_year_that_turns_the_answer_round_is_not_confirmed_by_a_large_p():
    """Told before of years on both sides: "The test ... by itself would find a difference (p 0.719)"."""
    one = compared([4.9, 4.8, -4.9, -4.6, 1, 0.7], THREE_YEARS, "ABCDEF")
    assert one.these_fields.finding is Finding.DEPENDS_ON_YEAR
    assert one.firm.exact_agrees is False
    assert "bell curve" not in wording.sentence(one)


@pytest.mark.parametrize("count", [3, 4, 5, 6])
def test_three_to_five_say_that_only_the_bell_curve_carries_them(count):
    one = compared([1.3, 2.0, 1.7, 1.5, 1.8, 1.6][:count], [2024] * count, "ABCDEF"[:count])
    assert one.these_fields.finding is Finding.STANDING_HIGHER
    said = "With so few, a test that needs no bell curve could not confirm it."
    assert (said in wording.sentence(one)) == (count < 6)


@pytest.mark.parametrize(
    ("differences", "words"),
    [
        ([1.2, 1.3, 1.25], "a field not tried yet could lie between 1.0 and 1.5 more"),  # was 1 and 1 more
        ([0.1, -0.2, 0.05], "a field not tried yet could lie between 0.8 less and 0.8 more"),  # was 1 less and 1 more
        ([1.0, 4.0, 8.0], "and a field not tried yet between 13 less and 22 more"),
    ],
)
def test_the_range_of_a_new_field_is_coarse_only_where_it_is_wide(differences, words):
    one = compared(differences, [2021, 2022, 2023], "ABC")
    assert words in wording.years_to_come_sentence(one)


def test_a_narrow_range_is_not_one_number():
    one = compared([0.30, 0.35, 0.28, 0.33, 0.31, 0.29, 0.34, 0.30], [2021] * 8, "ABCDEFGH")
    assert "0.31 bu/ac more (0.29 to 0.33)" in wording.sentence(one)


def test_two_replicates_show_no_range_beside_too_few():
    """Two close pairs gave "1.6 (1.5 to 1.7), too few": a range that says more than its finding."""
    one = compared([1.60, 1.61], [2024, 2024], "AB")
    assert one.these_fields.low is not None
    assert wording.estimate_with_range(one, one.these_fields) == "1.6"


SOME_YEARS = [2021, 2021, 2021, 2021, 2022, 2022, 2023]


def test_separate_fields_that_carry_years_to_come_are_not_called_left_out():
    one = compared(
        [0.2, -0.3, 0.1, 7.4, 6.5, 8, 7], SOME_YEARS, "ABCDEFG", "ABCXYZW", layout=[STRIPS] * 3 + [NEIGHBOURS] * 4
    )
    assert (one.these_fields.basis, one.years_to_come.basis) == (Basis.ONE_FIELD, Basis.ALL)
    assert wording.carries_sentence(one).endswith("so they are not counted in the answer for these fields.")


def test_too_few_separate_fields_are_said_to_be_too_few():
    one = compared([0.2, -0.3, 0.1, 7.4], [2021] * 4, "ABCD", "ABCX", layout=[STRIPS] * 3 + [NEIGHBOURS])
    assert "Pairs of two separate fields say 7.4 bu/ac more (too few to judge) on 1 field-year" in wording.sentence(one)


def test_years_to_come_on_other_pairs_say_how_their_methods_were_given():
    """These fields rest on pairs drawn by lot and are open; years to come rest on chosen ones and are not."""
    one = compared(
        [0.2, -0.3, 0.1, 7.4, 7.3, 4.8, 4.9, 4.9, 4.9],
        [2021, 2021, 2021, 2021, 2021, 2022, 2022, 2023, 2023],
        "ABCDEFGHI",
        "ABCXYZWVU",
        layout=[STRIPS] * 3 + [NEIGHBOURS] * 6,
        allocation=["drawn by lot"] * 3 + ["chosen"] * 6,
    )
    assert one.years_to_come.finding is Finding.STANDING_HIGHER
    assert "Methods were chosen, not drawn by lot" in wording.firm_sentence(one, wording.Question.YEARS_TO_COME)


def test_the_ways_methods_were_given_are_known_where_pairs_are_not_listed():
    """Beyond 10,000 pairs, chosen ones were told as "not on record"."""
    count = 10_001
    draws = random.Random(1)
    one = compared([1 + draws.random() for _ in range(count)], [2021] * count, range(count), allocation="chosen")
    assert one.pair_differences == ()
    assert "Methods were chosen" in wording.sentence(one)


def test_pairs_matched_after_harvest_are_named_in_the_headline_that_rests_on_them():
    one = compared([3, 4, 5, 3.5], [2021, 2021, 2022, 2022], "ABCD", "EFGH", layout=MATCHED)
    assert wording.sentence(one).startswith("Over pairs matched after harvest, standing plots")
    (matched,) = [caution.text for caution in one.cautions if caution.code == "matched_after_harvest"]
    assert matched.startswith(
        "In 4 of 4 pairs two separate fields were matched after harvest, when yields may have been"
    )


def test_pairs_of_one_kind_are_named_by_it():
    one = compared([0.2, -0.3, 7.4, 6.5], [2021, 2021, 2022, 2022], "ABCD", "EFGH", layout=NEIGHBOURS)
    assert wording.sentence(one).startswith("Over pairs of two separate fields, standing plots")


def test_a_start_from_published_trials_names_the_pairs_it_rests_on():
    """A farm of two years was told its chances from chosen pairs of two fields without a word about them."""
    one = compared([0.2, 6.5, 5.8], [2021, 2022, 2022], "ABC", "AXY", layout=[STRIPS, NEIGHBOURS, NEIGHBOURS])
    assert "two years of yours, over all pairs, it is" in started_of(one).sentence


def test_all_pairs_are_not_said_where_matched_ones_are_out():
    one = compared([0.1, 0.2, 0.4, 9], [2021] * 4, "ABCD", "EFGH", layout=[NEIGHBOURS] * 3 + [MATCHED])
    assert "ver all pairs but the matched ones" in wording.sentence(one)


def test_a_file_of_pairs_is_told_that_separate_fields_are_weak():
    one = compared(
        [0.2, -0.3, 7.4, 6.5], [2021, 2021, 2022, 2022], "ABCD", "ABXY", layout=[STRIPS] * 2 + [NEIGHBOURS] * 2
    )
    assert [caution.text for caution in one.cautions if caution.code == "weak_layout"] == [
        "In 2 of 4 pairs two separate fields were compared; soil and history differ along with the method."
    ]


def test_pairs_that_are_barred_are_not_called_missing():
    one = compared([1, 2, 3], [2021] * 3, "ABC", barred=["weighed by a monitor alone"] * 3)
    assert wording.sentence(one) == (
        "There is nothing to compare yet: 3 pairs have both sides for yield, and none of them counts."
    )


def test_the_order_of_rows_changes_no_word():
    rows = [(2.0, 2021, "B"), (2.2, 2021, "A"), (1.7, 2021, "C"), (-0.4, 2022, "E"), (2.4, 2022, "D"), (0.3, 2022, "F")]
    told = {wording.sentence(compared(*zip(*given, strict=True))) for given in (rows, rows[::-1], rows[3:] + rows[:3])}
    assert len(told) == 1

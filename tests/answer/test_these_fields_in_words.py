"""What is said of the fields on record: the difference, on what it hangs, what could have been seen."""

from dataclasses import replace

import pytest

from analytics.answer import wording
from analytics.statistics.given_pairs import Allocation
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Basis, Firm, LeftOut, YearsAgree
from tests.answer.made import (
    BY_YEAR,
    DRAWN,
    FEW,
    HERE,
    HIGHER,
    LOWER,
    ONE_FIELD,
    OPEN,
    SAME,
    answer,
    carries,
    comparison,
)


def test_standing_higher():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2))
    assert wording.these_fields_sentence(one) == (
        "Standing plots yielded 1.3 bu/ac more (0.4 to 2.2) on these 14 field-years over 5 years: "
        "more than chance explains."
    )


def test_standing_lower_names_the_range_from_the_far_end():
    one = comparison(answer(LOWER, -1.3, -2.2, -0.4))
    assert "tanding plots yielded 1.3 bu/ac less (2.2 to 0.4 less) on these" in wording.sentence(one)


@pytest.mark.parametrize(
    ("basis", "kinds", "opening"),
    [
        (ONE_FIELD, ["one_field"], "Where one field was cut both ways, standing plots"),
        (DRAWN, ["one_field"], "Where the lot decided, standing plots"),
        (Basis.ALL, ["one_field", "two_fields"], "Over all pairs, standing plots"),
        (Basis.ALL, [], "Standing plots"),
    ],
)
def test_the_sentence_names_the_pairs_it_rests_on(basis, kinds, opening):
    rows = carries(**dict.fromkeys(kinds, (1.3, 0.4, 2.2)))
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2, basis=basis, pairs=22), carries=rows)
    assert wording.these_fields_sentence(one).startswith(opening)


def test_two_bases_are_named_in_two_sentences():
    one = comparison(
        answer(OPEN, 0.3, -1.8, 2.4, basis=ONE_FIELD),
        answer(OPEN, 0.9, -2.0, 3.8, pairs=22),
        carries=carries(one_field=(0.3, -1.8, 2.4), two_fields=(6.7, 1.2, 12.3)),
    )
    assert "Where one field was cut both ways, yield is not settled" in wording.sentence(one)
    assert "For years to come, over all pairs, it is not settled" in wording.sentence(one)


def test_a_cause_is_named_only_where_the_lot_decided_every_pair():
    drawn = comparison(answer(HIGHER, 1.3, 0.4, 2.2), firm=Firm(drawn_by_lot=True))
    assert wording.these_fields_sentence(drawn).startswith("Standing gave 1.3 bu/ac more")
    chosen = replace(drawn, firm=Firm(drawn_by_lot=False))
    assert wording.these_fields_sentence(chosen).startswith("Standing plots yielded 1.3 bu/ac more")
    for words in ("gave", "lost", "cost", "left"):
        assert words not in wording.sentence(chosen)


def test_small_says_that_it_would_not_matter():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8, small=True))
    assert wording.these_fields_sentence(one).endswith(
        ": more than chance explains, but smaller than the 1.0 bu/ac that would matter."
    )


def test_no_difference_that_matters_shows_the_range_that_belongs_to_it():
    """The two one-sided tests go with the 90 % range; the 95 % range may reach past the margin beside them."""
    one = comparison(answer(SAME, 0.05, -1.1, 0.9, equivalence_low=-0.6, equivalence_high=0.7))
    assert wording.these_fields_sentence(one) == (
        "Yield is the same for practical purposes on these 14 field-years over 5 years: "
        "the difference lies between 0.6 less and 0.7 more (90\u202f% range), inside the 1.0 bu/ac that would matter."
    )


def years_of(*estimates):
    return tuple(
        YearResult(crop_year=2023 + place, field_years=4, estimate=estimate, low=None, high=None)
        for place, estimate in enumerate(estimates)
    )


def test_years_on_both_sides_are_told_by_the_two_furthest_apart():
    one = comparison(answer(BY_YEAR, 0.1, 0.03, 0.25), by_year=years_of(4.9, -4.7), years=2)
    assert wording.these_fields_sentence(one) == (
        "Yield depends on the year: 4.9 bu/ac more in 2023, 4.7 less in 2024 on these 14 field-years over 2 years. "
        "An average of them would say nothing."
    )


def test_years_that_disagree_are_named_beside_their_average():
    apart = YearsAgree(f_p=0.001, gail_simon_p=1.0, disagree=True, highest=2023, lowest=2024)
    one = comparison(answer(HIGHER, 3.2, 2.0, 4.4), by_year=years_of(6.1, 0.4), years=2, years_agree=apart)
    assert "on average over years that disagree, from 6.1 more in 2023 to 0.4 more in 2024" in wording.sentence(one)


# --- how firm


def without(question, finding, *, place=None, crop_year=2023):
    return LeftOut(
        question=question,
        crop_year=crop_year,
        place=place,
        finding=finding,
        is_changed=True,
        better=None,
        estimate=0.9,
        low=-0.1,
        high=1.9,
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ([without(HERE, OPEN)], "It hangs on one year: without 2023 it is not settled."),
        (
            [without(HERE, OPEN, place="Gate eighty")],
            "It hangs on one field-year: without Gate eighty, 2023 it is not settled.",
        ),
        (
            [without(HERE, OPEN), without(HERE, OPEN, place="Gate eighty")],
            "It hangs on one year: without 2023 it is not settled.",
        ),
        (
            [without(HERE, OPEN, place=name, crop_year=2020 + place) for place, name in enumerate("ABCD")],
            "It hangs on single field-years: without A, 2020 or without B, 2021, or without any of 2 others, "
            "it is not settled.",
        ),
    ],
)
def test_the_headline_says_on_what_it_hangs(changes, words):
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), firm=Firm(leave_one_out=tuple(changes)))
    assert words in wording.sentence(one)


def test_an_unchanged_answer_hangs_on_nothing():
    same = replace(without(HERE, HIGHER), is_changed=False)
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), firm=Firm(leave_one_out=(same,)))
    assert "hangs" not in wording.sentence(one)


def test_the_headline_says_when_the_exact_test_disagrees():
    """The demo's loss was told without a word as more than chance at t p 0.017, where sign-flip gave 0.159."""
    one = comparison(answer(HIGHER, 0.7, 0.2, 1.2), firm=Firm(exact_agrees=False))
    assert "The test that needs no bell curve does not confirm it (p 0.012)." in wording.sentence(one)
    agrees = replace(one, firm=Firm(exact_agrees=True))
    assert "bell curve" not in wording.sentence(agrees)


@pytest.mark.parametrize(
    ("allocation", "words"),
    [
        (Allocation.CHOSEN, "Methods were chosen, not drawn by lot"),
        (Allocation.NOT_KNOWN, "Whether the lot decided is not on record"),
    ],
)
def test_the_headline_says_when_no_lot_decided(allocation, words):
    one = comparison(answer(HIGHER, 0.7, 0.2, 1.2, allocations=(allocation,)), firm=Firm(drawn_by_lot=False))
    assert words in wording.sentence(one)


def test_separate_fields_are_told_beside_an_answer_from_fields_cut_both_ways():
    """Halves and strips said 0.28 (-1.84 to 2.40), separate fields 6.74 (1.2 to 12.3); only their mixture was shown."""
    one = comparison(answer(OPEN, 0.28, -1.84, 2.40, basis=ONE_FIELD), carries=carries(two_fields=(6.74, 1.2, 12.3)))
    assert "Pairs of two separate fields say 6.7 bu/ac more (1.2 to 12.3) on 7 field-years" in wording.sentence(one)
    assert "two separate fields" not in wording.sentence(comparison(answer(OPEN, 0.28, -1.84, 2.40)))


# --- what could be seen, too few


def test_not_settled_says_what_could_have_been_seen():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), field_years=9, years=3, detectable_difference=2.6)
    assert wording.these_fields_sentence(one) == (
        "Yield is not settled: on these 9 field-years over 3 years standing plots yielded 0.3 bu/ac more, "
        "but the difference could be anything between 2.4 less and 3.1 more."
    )
    seen = "Nine such field-years would find a gap of 2.6 bu/ac or more in 8 of 10 cases; yours may be smaller."
    assert wording.what_could_be_seen(one) == seen
    assert seen in wording.sentence(one)


def test_what_could_be_seen_is_kept_for_null_results():
    assert wording.what_could_be_seen(comparison(answer(HIGHER, 1.3, 0.4, 2.2), detectable_difference=1.0)) == ""
    assert wording.what_could_be_seen(comparison(answer(OPEN, 0.3, -2.4, 3.1))) == ""


def test_too_few_gives_the_reason_and_the_number_there_is():
    few = answer(FEW, 2.1, reason="There are 2 field-years; at least 3 are needed.", replicates=2)
    one = comparison(few, pairs=2, field_years=2, years=2)
    assert wording.these_fields_sentence(one) == (
        "Too few to judge. There are 2 field-years; at least 3 are needed. "
        "On these 2 field-years over 2 years standing plots yielded 2.1 bu/ac more."
    )


def test_no_spread_is_not_called_too_few():
    one = comparison(answer(FEW, 1.0, reason="All differences are the same."))
    assert wording.these_fields_sentence(one).startswith("It cannot be judged. All differences are the same. On these")


def test_no_pair_at_all_is_one_sentence():
    nothing = answer(FEW, reason="There is no complete pair.", replicates=0)
    one = comparison(nothing, nothing, pairs=0, field_years=0, years=0)
    assert wording.sentence(one) == "There is nothing to compare yet: no pair has both sides for yield."


def test_one_reason_for_both_questions_is_said_once():
    same = answer(FEW, 1.0, reason="All differences are the same.")
    assert wording.sentence(comparison(same, same)).count("All differences are the same.") == 1


def test_difference_that_rounds_to_nothing_is_called_even():
    one = comparison(answer(OPEN, -0.01, -2.0, 2.0), answer(OPEN, 0.0, -3.0, 3.0))
    assert "the two ways came out even in yield, but the difference could be" in wording.these_fields_sentence(one)

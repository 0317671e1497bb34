"""Every finding, question, direction and unit as a sentence that a grower would say."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.answer import marks, wording
from analytics.answer.difference_words import PHRASES
from analytics.answer.next_steps import SO_FAR, next_steps
from analytics.answer.statistics_rows import carried_notes, carried_rows, statistics_rows
from analytics.statistics.another_unit import scaled
from analytics.statistics.comparison import compare
from analytics.statistics.given_pairs import Allocation
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Basis, Finding, Firm, LeftOut, Question, YearsAgree
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, count, counted, number, percent_words
from analytics.trade.units import PER_BU_AC
from tests.answer.made import DRAWN, ONE_FIELD, answer, carries, comparison

HIGHER, LOWER = Finding.STANDING_HIGHER, Finding.STANDING_LOWER
SAME, OPEN, FEW = Finding.NO_DIFFERENCE_THAT_MATTERS, Finding.NOT_SETTLED, Finding.TOO_FEW
BY_YEAR = Finding.DEPENDS_ON_YEAR
HERE, AHEAD = Question.THESE_FIELDS, Question.YEARS_TO_COME


def every_text(one):
    """All that is said about a comparison."""
    return [
        wording.sentence(one),
        wording.these_fields_sentence(one),
        wording.years_to_come_sentence(one),
        wording.firm_sentence(one, HERE),
        wording.firm_sentence(one, AHEAD),
        wording.carries_sentence(one),
        wording.what_could_be_seen(one),
        wording.rests_on(one),
        wording.level_and_margin(one),
        *next_steps(one),
        marks.mark(one, one.these_fields),
        marks.mark(one, one.years_to_come),
        wording.estimate_with_range(one, one.these_fields),
        wording.estimate_with_range(one, one.years_to_come),
        *(wording.year_with_range(one, year) for year in one.by_year),
        *(text for row in statistics_rows(one) for text in (row.name, row.these_fields, row.years_to_come)),
        *(text for row in carried_rows(one) for text in (row.name, row.these_fields, row.years_to_come)),
    ]


# --- numbers


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1.25, 2, "1.25"),
        (-1.3, 1, "\u22121.3"),
        (-0.04, 1, "0.0"),
        (0.0, 0, "0"),
        (999.4, 0, "999"),
        (999.6, 0, "1,000"),
        (-1_234_567.8, 1, "\u22121,234,567.8"),
        (None, 1, "unknown"),
        (float("nan"), 1, "unknown"),
        (float("-inf"), 1, "unknown"),
    ],
)
def test_number_as_text(value, decimals, text):
    assert number(value, decimals) == text


def test_a_sign_is_shown_when_asked_and_never_before_zero():
    assert [number(value, 1, sign=True) for value in (1.0, 0.0, -0.01, -1.0)] == ["+1.0", "0.0", "0.0", "\u22121.0"]


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "text"),
    [
        (1.3, "bu/ac", 1, "1.3 bu/ac"),
        (1, "points", 0, "1 point"),
        (1, "points", 1, "1.0 points"),
        (0.9, "points", 1, "0.9 points"),
        (1, "days", 0, "1 day"),
        (3, "days", 0, "3 days"),
        (14.2, "$/ac", 0, "$14 an acre"),
        (-14.2, "$/ac", 0, "\u2212$14 an acre"),
        (0.25, "$/head", 2, "$0.25 per head"),
        (2, "$", 0, "$2"),
        (2.5, "%", 1, "2.5\u202f%"),
        (2.5, "", 1, "2.5"),
        (None, "bu/ac", 1, "unknown"),
        (None, "$/ac", 0, "unknown"),
    ],
)
def test_amount_with_its_unit(value, unit, decimals, text):
    assert amount(value, unit, decimals) == text


def test_counts_are_singular_for_one():
    assert [count(n, "pair") for n in (0, 1, 2)] == ["0 pairs", "1 pair", "2 pairs"]
    assert [counted(n, "year") for n in (1, 12, 13)] == ["One year", "Twelve years", "13 years"]


def test_a_share_is_said_in_percent():
    assert [percent_words(share) for share in (0.95, 0.9, 0.8, 0.995)] == [
        "95\u202f%",
        "90\u202f%",
        "80\u202f%",
        "99.5\u202f%",
    ]


# --- these fields


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


# --- years to come


def test_both_questions_as_on_the_screen():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 1.2, -1.1, 3.6), new_field=(-7.1, 9.4))
    assert wording.sentence(one) == (
        "Standing plots yielded 1.3 bu/ac more (0.4 to 2.2) on these 14 field-years over 5 years: "
        "more than chance explains. "
        "For years to come it is not settled: the average could lie between 1.1 less and 3.6 more, "
        "and a field not tried yet between 7 less and 9 more."
    )


def test_years_to_come_alone_carries_the_unit():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 1.2, -1.1, 3.6))
    assert wording.years_to_come_sentence(one) == (
        "For years to come it is not settled: the average could lie between 1.1 less and 3.6 bu/ac more."
    )


def test_a_difference_for_years_to_come():
    one = comparison(answer(LOWER, -1.3, -2.2, -0.4), answer(LOWER, -1.2, -2.0, -0.4), new_field=(-5.0, -0.6))
    assert wording.years_to_come_sentence(one) == (
        "For years to come standing plots would yield 1.2 bu/ac less on average (2.0 to 0.4 less): "
        "more than chance explains, as far as 5 years can tell; a field not tried yet could lie between 5.0 and 0.6 "
        "less."
    )


def test_small_difference_for_years_to_come():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8), answer(HIGHER, 0.5, 0.1, 0.9, small=True))
    assert "can tell, but smaller than the 1.0 bu/ac that would matter." in wording.years_to_come_sentence(one)


def test_no_difference_that_matters_for_years_to_come():
    one = comparison(
        answer(SAME, 0.1, -0.5, 0.7), answer(SAME, 0.1, -1.1, 0.9, equivalence_low=-0.6, equivalence_high=0.7)
    )
    assert wording.years_to_come_sentence(one) == (
        "For years to come yield is the same for practical purposes on average: the difference lies between 0.6 less "
        "and 0.7 more (90\u202f% range), inside the 1.0 bu/ac that would matter."
    )


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-1.32, 0.009, "between 1.3 less and just over 0"),
        (-0.009, 1.32, "between just under 0 and 1.3 more"),
        (0.0002, 0.37, "between just over 0 and 0.4 more"),
    ],
)
def test_rounding_never_hides_a_sign(low, high, words):
    """-1.32 to +0.009 was told as between 1 and 0 less, and 0.0002 to 0.3731 to four decimals."""
    terms = wording.words_for(comparison(answer(OPEN, 0.0, -9.0, 9.0)), answer(OPEN, 0.0, -9.0, 9.0))
    assert terms.between(low, high) == words


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (0.4, 2.0, "0.4 and 2.0 bu/ac more"),
        (-0.4, 2.0, "0.4 less and 2.0 bu/ac more"),
        (-2, -1, "2.0 and 1.0 bu/ac less"),
    ],
)
def test_two_years_are_told_by_their_averages(first, second, words):
    by_year = tuple(
        YearResult(crop_year=year, field_years=3, estimate=estimate, low=None, high=None)
        for year, estimate in ((2022, first), (2023, second))
    )
    few = answer(FEW, 1.2, reason="There are 2 years; at least 3 are needed.", replicates=2)
    one = comparison(answer(OPEN, 1.2, -0.5, 2.9), few, years=2, by_year=by_year)
    assert wording.years_to_come_sentence(one) == (
        "For years to come nothing can be said yet. There are 2 years; at least 3 are needed. "
        f"The two yearly averages were {words}."
    )


# --- measures and units


@pytest.mark.parametrize(
    ("measure", "unit", "more", "less"),
    [
        ("yield", "bu/ac", "plots yielded 1.5 bu/ac more (1.0 to 2.0)", "plots yielded 1.5 bu/ac less"),
        ("yield", "t/ha", "plots yielded 1.50 t/ha more (1.00 to 2.00)", "plots yielded 1.50 t/ha less"),
        ("yield", "kg/ha", "plots yielded 2 kg/ha more (1 to 2)", "plots yielded 2 kg/ha less"),
        ("yield_as_sold", "lb/ac", "plots yielded 2 lb/ac more as sold (1 to 2)", "2 lb/ac less as sold (2 to 1 less)"),
        (
            "green_seed",
            "points",
            "had 1.50 points more green seed",
            "had 1.50 points less green seed (2.00 to 1.00 less)",
        ),
        ("loss", "bu/ac", "plots lost 1.5 bu/ac more seed", "plots lost 1.5 bu/ac less seed"),
        ("dockage", "points", "plots had 1.50 points more dockage", "plots had 1.50 points less dockage"),
        ("moisture", "points", "plots were 1.50 points wetter", "1.50 points drier (2.00 to 1.00 drier)"),
        ("test_weight", "kg/hL", "plots were 1.5 kg/hL heavier", "1.5 kg/hL lighter"),
        ("thousand_seed", "g", "plots were 1.50 g heavier per thousand seeds", "1.50 g lighter"),
        ("days_to_harvest", "days", "plots came to harvest 1.5 days later", "1.5 days earlier (2.0 to 1.0 earlier)"),
        (
            "net_return",
            "$/ac",
            "returned $1.50 an acre more ($1.00 to $2.00)",
            "returned $1.50 an acre less ($2.00 to $1.00 less)",
        ),
        ("machine_hours", "h/100 ac", "took 1.5 hours more machine time per 100 acres (", "took 1.5 hours less"),
        ("fuel", "L/ac", "plots took 1.5 litres more fuel an acre (", "plots took 1.5 litres less fuel an acre"),
        ("fuel", "gal/ac", "plots took 1.50 gal/ac more fuel (", "plots took 1.50 gal/ac less fuel"),
        ("stops", "times/100 ac", "had 1.5 more stops per 100 acres (1.0 to 2.0)", "had 1.5 fewer stops per 100 acres"),
        (
            "volunteers",
            "plants/m2",
            "had 2 more volunteers to the square metre in",
            "had 2 fewer volunteers to the square",
        ),
        ("sleep", "h", "plots were 1.50 h higher in sleep", "plots were 1.50 h lower in sleep"),
        ("seeds_lost", "", "plots were 1.50 higher in seeds lost", "plots were 1.50 lower in seeds lost"),
        ("", "", "plots were 1.50 higher in the measure", "plots were 1.50 lower in the measure"),
    ],
)
def test_each_measure_has_its_own_words(measure, unit, more, less):
    up = comparison(answer(HIGHER, 1.5, 1.0, 2.0), measure=measure, unit=unit, margin=None)
    down = comparison(answer(LOWER, -1.5, -2.0, -1.0), measure=measure, unit=unit, margin=None)
    assert more in wording.these_fields_sentence(up)
    assert less in wording.these_fields_sentence(down)


def test_every_phrase_belongs_to_a_measure():
    assert set(PHRASES) <= set(MEASURES)


@pytest.mark.parametrize(
    ("measure", "by_lot", "chosen"),
    [
        ("yield", "would give", "would yield"),
        ("net_return", "would leave", "would return"),
        ("loss", "would lose", "would lose"),
        ("fuel", "would take", "would take"),
        ("stops", "would have", "would have"),
        ("moisture", "would be", "would be"),
    ],
)
def test_years_to_come_are_told_in_the_verb_of_the_measure(measure: str, by_lot: str, chosen: str) -> None:
    assert (PHRASES[measure].would_cause, PHRASES[measure].would_be) == (by_lot, chosen)


def test_money_is_whole_dollars_when_it_is_large():
    one = comparison(answer(HIGHER, 14.2, 2.4, 26.1), measure="net_return", unit="$/ac", margin=10.0)
    assert "plots returned $14 an acre more ($2 to $26)" in wording.sentence(one)


@pytest.mark.parametrize(
    ("estimate", "low", "high", "words"),
    [(350.0, 250.0, 450.0, "350 h"), (35.0, 25.0, 45.0, "35.0 h"), (0.035, 0.025, 0.045, "0.0350 h")],
)
def test_unknown_measure_shows_three_figures_of_its_largest_number(estimate, low, high, words):
    one = comparison(answer(HIGHER, estimate, low, high), measure="sleep", unit="h", margin=None)
    assert f"{words} higher in sleep" in wording.sentence(one)


def test_a_clear_difference_never_seems_to_touch_zero():
    one = comparison(answer(HIGHER, 1.2, 0.03, 2.4))
    assert "(0.03 to 2.40)" in wording.sentence(one)
    closer = comparison(answer(HIGHER, 1.2, 0.0003, 2.4))
    assert "(just over 0 to 2.4 more)" in wording.sentence(closer)


def test_range_inside_the_margin_never_seems_to_reach_it():
    one = comparison(answer(SAME, 0.2, -0.58, 0.98))
    assert "between 0.58 less and 0.98 more (90\u202f% range), inside the 1.0 bu/ac" in wording.sentence(one)


def test_margin_is_shown_as_it_was_set():
    assert "from 1.25 bu/ac." in wording.level_and_margin(comparison(answer(HIGHER, 1.3, 0.4, 2.2), margin=1.25))


def test_unit_change_changes_only_numbers_and_unit():
    one = compare(
        [41.2, 39.9, 43.0, 40.1, 38.7, 42.2],
        [40.0, 40.3, 40.1, 39.0, 39.9, 40.4],
        crop_year=[2021, 2021, 2022, 2022, 2023, 2023],
        measure="yield",
        unit="bu/ac",
        margin=1.0,
    )

    def without_numbers(text):
        return re.sub(r"\d[\d,]*(\.\d+)?", "0", text)

    for unit, per_bu_ac in PER_BU_AC.items():
        other = scaled(one, per_bu_ac, unit)
        for before, after in zip(every_text(one), every_text(other), strict=True):
            assert without_numbers(before) == without_numbers(after.replace(unit, "bu/ac"))


# --- what it rests on, settings, next steps


def test_rests_on():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2))
    assert wording.rests_on(one) == "22 pairs, 14 field-years, 5 years; 2 pairs left out."
    some = replace(one, all_pairs=replace(one.all_pairs, pairs=24))
    assert wording.rests_on(some) == (
        "22 pairs, 14 field-years, 5 years; 2 more pairs have both sides but are not counted in it; 2 pairs left out."
    )
    single = comparison(answer(HIGHER, 1.3, 0.4, 2.2), pairs=1, field_years=1, years=1, left_out=1)
    assert wording.rests_on(single) == "1 pair, 1 field-year, 1 year; 1 pair left out."
    assert wording.rests_on(replace(one, left_out=0)).endswith("; none left out.")


@pytest.mark.parametrize(
    ("counts", "ground"),
    [
        ({"pairs": 1, "field_years": 1, "years": 1}, " on this one pair: more"),
        ({"pairs": 4, "field_years": 1, "years": 1}, " on this one field-year with its 4 strip pairs: more"),
        ({"pairs": 6, "field_years": 6, "years": 1}, " on these 6 field-years in one year: more"),
        ({"pairs": 6, "field_years": 6, "years": 2}, " on these 6 field-years over 2 years: more"),
    ],
)
def test_grammar_of_where_it_was_seen(counts, ground):
    assert ground in wording.these_fields_sentence(comparison(answer(HIGHER, 1.3, 0.4, 2.2), **counts))


def test_single_crop_year_is_named_when_known():
    by_year = (YearResult(crop_year=2023, field_years=6, estimate=1.3, low=0.4, high=2.2),)
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), field_years=6, years=1, by_year=by_year)
    assert "on these 6 field-years in 2023" in wording.these_fields_sentence(one)


def test_strips_of_one_field_are_named_in_what_could_be_seen():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), pairs=4, field_years=1, years=1, detectable_difference=2.6)
    assert wording.what_could_be_seen(one).startswith("Four such strip pairs would find a gap of 2.6 bu/ac or more")


def test_level_and_margin_are_said():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), level=0.9)
    assert wording.level_and_margin(one) == (
        "90\u202f% ranges: about 90 of 100 ranges made this way hold the true difference. "
        "A difference in yield matters from 1.0 bu/ac."
    )
    assert "No difference in yield is set" in wording.level_and_margin(replace(one, margin=None))


def test_next_steps_look_three_seasons_ahead():
    """14 field-years in 5 years, error 1.0, df 9: 8 more make 22 in 8 years, error sqrt(14 / 22) = 0.798, df 14. The
    paired t with that error and df, R 4.2.2: power.t.test(n = 15, sd = 0.798 * sqrt(15), power = 0.8, type = "paired",
    strict = TRUE), gives 2.405.
    """
    here = answer(OPEN, 0.3, -2.4, 3.1, std_error=1.0, df=9)
    one = comparison(here, answer(OPEN, 0.3, -4.0, 4.6, years=5), years_needed=12, left_out=1)
    assert next_steps(one) == [
        "Complete the 1 pair that lacks a side, where the papers are still there: that takes no new harvest.",
        f"{SO_FAR} three more seasons of 3 field-years each would find a gap of 2.4 bu/ac in 8 of 10 cases, not one of "
        "1.0 bu/ac; decide which gap would change what you do. Fields cut both ways, in strips, would need fewer.",
        "What holds for years to come takes years: more fields in one year do not stand in for another year. "
        "Go on pairing each season.",
    ]


def test_next_steps_never_ask_for_more_seasons_than_a_plan_has():
    """ "144 years in all" and "169 field-years, 20 more seasons" stood under What to do next."""
    here = answer(OPEN, 0.3, -2.4, 3.1, std_error=4.0, df=9)
    one = comparison(here, answer(OPEN, 0.3, -4.0, 4.6), field_years_needed=169, years_needed=144)
    assert not re.search(r"\b(144|169|100)\b", " ".join(next_steps(one)))


@pytest.mark.parametrize("std_error", [0.3, 0.425])
def test_next_steps_name_the_margin_where_three_seasons_would_find_it_as_shown(std_error):
    """The gap found is 2.405 times the error, as above: 0.72 and 1.02, and 1.02 is shown as 1.0."""
    here = answer(OPEN, 0.3, -0.4, 1.0, std_error=std_error, df=9, basis=ONE_FIELD)
    assert next_steps(comparison(here, left_out=0))[0] == (
        f"{SO_FAR} three more seasons of 3 field-years each would find a gap of 1.0 bu/ac in 8 of 10 cases."
    )


@pytest.mark.parametrize(("needed", "more"), [(6, "One more year"), (8, "Three more years"), (5, "One more year")])
def test_next_steps_count_the_years_that_are_within_reach(needed, more):
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 0.3, -4.0, 4.6), years_needed=needed, left_out=0)
    assert next_steps(one) == [
        f"{SO_FAR} {more.lower()} like these would find a lasting gap of 1.0 bu/ac in 8 of 10 cases."
    ]


def test_next_steps_ask_for_a_margin_when_there_is_none():
    one = comparison(answer(OPEN, 0.3, -2.4, 3.1), answer(OPEN, 0.3, -4.0, 4.6), margin=None, left_out=0)
    assert next_steps(one) == ["Say which difference in yield would matter; then what it takes can be told."]


def test_next_steps_after_both_have_an_answer():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(SAME, 0.1, -0.4, 0.5), left_out=0)
    assert next_steps(one) == ["Both questions about yield have an answer at the 95\u202f% level."]


@pytest.mark.parametrize("years", [1, 2, 3])
def test_years_asked_for_are_those_the_comparison_asks_for(years):
    one = compare(
        [1.0 + 0.1 * year for year in range(years)],
        [0.0] * years,
        crop_year=[2020 + year for year in range(years)],
        measure="sleep",
        unit="h",
    )
    asked = [step for step in next_steps(one) if "more year" in step]
    assert [step.split()[0] for step in asked] == {1: ["Two"], 2: ["One"], 3: []}[years]


# --- tables


@pytest.mark.parametrize(
    ("measure", "finding", "words"),
    [
        ("yield", HIGHER, "more (better)"),
        ("yield", LOWER, "less (worse)"),
        ("green_seed", LOWER, "less green (better)"),
        ("loss", HIGHER, "more lost (worse)"),
        ("moisture", LOWER, "drier (better)"),
        ("days_to_harvest", HIGHER, "later (worse)"),
        ("yield", SAME, "same in practice"),
        ("yield", BY_YEAR, "depends on the year"),
        ("yield", OPEN, "not settled"),
        ("yield", FEW, "too few"),
    ],
)
def test_finding_in_the_measures_own_words(measure, finding, words):
    """Loss and days were told as "standing higher", which reads as praise, or as the height of a crop."""
    direction = MEASURES[measure].direction
    better = (
        {HIGHER: "standing", LOWER: "windrowed"} if direction == "higher" else {HIGHER: "windrowed", LOWER: "standing"}
    )
    one = comparison(answer(finding, 1.0, 0.5, 1.5, better=better.get(finding)), measure=measure)
    assert marks.finding_words(one, one.these_fields) == words


def test_a_small_difference_is_slight():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8, small=True))
    assert marks.finding_words(one, one.these_fields) == "slightly more (better)"
    assert marks.mark(one, one.these_fields) == "0.5 more (better)"


def test_every_finding_has_a_look_of_its_own_in_black_and_white():
    looks = {
        marks.mark_look(answer(finding, 1.0), HERE).shape + marks.mark_look(answer(finding, 1.0), HERE).fill
        for finding in (HIGHER, LOWER, SAME, BY_YEAR, OPEN)
    }
    assert len(looks) == 5


def test_questions_are_told_apart_by_the_bar_and_never_by_the_filling():
    here, ahead = (marks.mark_look(answer(HIGHER, 1.0), question) for question in (HERE, AHEAD))
    assert here.fill == ahead.fill == here.colour
    assert here.thickness > ahead.thickness


def test_difference_for_a_column_is_signed():
    one = comparison(answer(LOWER, -0.9, -1.4, -0.5), answer(FEW, reason="There is only one year.", replicates=1))
    assert wording.estimate_with_range(one, one.these_fields) == "\u22120.9 (\u22121.4 to \u22120.5)"
    assert wording.estimate_with_range(one, one.years_to_come) == "unknown"
    year = YearResult(crop_year=2023, field_years=1, estimate=0.4, low=None, high=None)
    assert wording.year_with_range(one, year) == "0.4"
    assert wording.year_with_range(one, replace(year, low=-0.1, high=0.9)) == "0.4 (\u22120.1 to 0.9)"


def test_a_statistician_finds_every_number():
    these = answer(HIGHER, 1.3, 0.4, 2.2, std_error=0.41, df=9, p_value=0.0123, equivalence_p=0.8)
    future = answer(OPEN, 1.2, -1.1, 3.6, df=4, year_sd=1.5, field_sd=0.7, replicates=5)
    one = comparison(
        these,
        future,
        new_field=(-7.1, 9.4),
        years_agree=YearsAgree(f_p=0.03, gail_simon_p=0.4, disagree=True, highest=2023, lowest=2024),
    )
    rows = {row.name: (row.these_fields, row.years_to_come) for row in statistics_rows(one)}
    assert rows == {
        "rests on": ("all pairs: 14 field-years in 5 years", "all pairs: 14 field-years in 5 years"),
        "method": ("paired t", "paired t"),
        "independent values": ("14", "5"),
        "estimate, standing minus windrowed, bu/ac": ("1.300", "1.200"),
        "standard error, bu/ac": ("0.410", "unknown"),
        "degrees of freedom": ("9", "4"),
        "95\u202f% range, bu/ac": ("0.400 to 2.200", "\u22121.100 to 3.600"),
        "p, two-sided": ("0.012", "unknown"),
        "difference that matters": ("1.0 bu/ac", "1.0 bu/ac"),
        "90\u202f% range, for the same in practice, bu/ac": ("0.400 to 2.200", "\u22121.100 to 3.600"),
        "p, equivalence (two one-sided tests)": ("0.800", "unknown"),
        "do the years agree? F test p": ("0.030", "–"),
        "do they change sides? Gail-Simon p": ("0.400", "–"),
        "exact sign-flip p": ("0.012", "–"),
        "Wilcoxon signed-rank p, exact": ("below 0.001", "–"),
        "sign test p": ("unknown", "–"),
        "Hodges-Lehmann estimate, bu/ac": ("1.250", "–"),
        "Hodges-Lehmann range, bu/ac": ("unknown", "–"),
        "standard deviation between years (tau), bu/ac": ("–", "1.500"),
        "standard deviation of fields within a year, bu/ac": ("–", "0.700"),
        "a field not tried yet, in a new year, bu/ac": ("–", "\u22127.100 to 9.400"),
        "how a field not tried yet is judged": ("–", "t over year means"),
        "winters in which three years or more could be looked at": ("–", "3"),
    }


def test_what_carries_it_has_always_the_same_rows():
    rows = carried_rows(
        comparison(answer(OPEN, 0.3, -1.8, 2.4, basis=ONE_FIELD), carries=carries(one_field=(0.3, -1.8, 2.4)))
    )
    assert [row.name for row in rows] == [
        "one field cut both ways *",
        "two separate fields",
        "matched after harvest",
        "drawn by lot",
        "chosen",
        "lot or choice not known",
        "no windrow before 60 % colour",
        "all pairs",
    ]
    assert rows[0].these_fields == "0.3 (\u22121.8 to 2.4)"
    assert {row.these_fields for row in rows[1:]} == {"no pair"}


def test_rows_that_years_to_come_alone_rest_on_have_two_stars():
    """One star stood for both questions, also where years to come rested on all pairs."""
    rows = carries(one_field=(0.3, -1.8, 2.4), all=(2.0, -1.0, 5.0))
    one = comparison(answer(OPEN, 0.3, -1.8, 2.4, basis=ONE_FIELD), answer(OPEN, 2.0, -1.0, 5.0), carries=rows)
    starred = [row.name for row in carried_rows(one) if row.name.endswith("*")]
    assert starred == ["one field cut both ways *", "all pairs **"]
    assert "** for years to come it rests on these" in carried_notes(one)
    assert "All pairs are without those matched after harvest." in carried_notes(one)


# --- help


def test_each_help_text_is_one_sentence():
    for text in HELP.values():
        assert re.fullmatch(r"[A-Z][^.!?]*\.", text.replace("0.", "0,")), text


# --- what is never said

FORBIDDEN = re.compile(
    r"significan|\breal\b|prove[sdn]?\b|insight|\bbest\b|trend|great|!|\bnan\b|\binf\b|None|[-\u2212]0(\.0+)?(?![.\d])"
    r"|(?<![.\d])1 (pairs|field-years|years|days)\b|  |\.\.| [.,;:)]"
)
finite = st.floats(-1e4, 1e4)


@st.composite
def answers(draw):
    """An answer whose numbers agree with its finding, as comparison makes them."""
    finding = draw(st.sampled_from(list(Finding)))
    low, estimate, high = sorted(draw(st.tuples(finite, finite, finite)))
    small = False
    if finding == FEW:
        estimate = draw(st.none() | finite)
        return answer(FEW, estimate, reason=draw(st.none() | st.just("There are 2 years.")), replicates=2)
    if finding in (HIGHER, LOWER):
        ends = sorted(draw(st.tuples(*[st.floats(1e-3, 1e4)] * 3)))
        low, estimate, high = ends if finding == HIGHER else [-end for end in reversed(ends)]
        small = draw(st.booleans())
    if finding in (OPEN, SAME, BY_YEAR):
        low, high = -abs(low), abs(high)
        estimate = min(max(estimate, low), high)
    return answer(
        finding,
        estimate,
        low,
        high,
        small=small,
        std_error=draw(st.none() | st.floats(0, 1e4)),
        df=draw(st.sampled_from([1, 4, 9.5])),
        p_value=draw(st.none() | st.floats(0, 1)),
    )


@st.composite
def comparisons(draw):
    measure, unit = draw(
        st.sampled_from(
            [(measure.name, measure.unit) for measure in MEASURES.values()]
            + [("yield", "kg/ha"), ("loss", "t/ha"), ("yield", "lb/ac"), ("sleep", "h"), ("seed_count", ""), ("x", "%")]
        )
    )
    these, future = draw(answers()), draw(answers())
    years = draw(st.integers(2 if BY_YEAR in (these.finding, future.finding) else 1, 4))
    field_years = draw(st.integers(years, 15))
    pairs = draw(st.integers(field_years, 20))
    by_year = tuple(
        YearResult(crop_year=2020 + year, field_years=1, estimate=draw(finite), low=None, high=None)
        for year in range(years)
    )
    return comparison(
        these,
        future,
        measure=measure,
        unit=unit,
        level=draw(st.sampled_from([0.8, 0.9, 0.95, 0.995])),
        margin=draw(st.none() | st.floats(1e-3, 1e4)),
        pairs=pairs,
        field_years=field_years,
        years=years,
        left_out=draw(st.integers(0, 3)),
        by_year=by_year,
        detectable_difference=draw(st.none() | st.floats(1e-3, 1e4)),
        field_years_needed=draw(st.none() | st.integers(3, 200)),
        years_needed=draw(st.none() | st.integers(3, 200)),
    )


@given(comparisons())
@settings(max_examples=300)
def test_no_text_ever_says_what_the_voice_forbids(one):
    for text in every_text(one):
        assert not FORBIDDEN.search(text), text
    assert len(next_steps(one)) <= 3


@given(comparisons())
@settings(max_examples=100)
def test_every_sentence_begins_large_and_ends_with_a_stop(one):
    for text in (wording.sentence(one), wording.rests_on(one), *next_steps(one)):
        assert re.match(r"[A-Z0-9]", text)
        assert text.endswith(".")


@given(st.lists(st.floats(-9, 9), min_size=1, max_size=8), st.integers(1, 3), st.sampled_from(["higher", "lower"]))
@settings(max_examples=100)
def test_whatever_the_comparison_finds_can_be_said(differences, years, direction):
    one = compare(
        differences,
        [0.0] * len(differences),
        crop_year=[2020 + place % years for place in range(len(differences))],
        measure="yield",
        unit="bu/ac",
        direction=direction,
        margin=1.0,
    )
    for text in every_text(one):
        assert not FORBIDDEN.search(text), text


@given(st.floats(0.15, 9), st.floats(0.1, 0.9))
@settings(max_examples=100)
def test_swapping_sides_swaps_more_and_less(estimate, share):
    low, high = estimate * share, estimate * (2 - share)
    up = wording.these_fields_sentence(comparison(answer(HIGHER, estimate, low, high)))
    down = wording.these_fields_sentence(comparison(answer(LOWER, -estimate, -high, -low)))
    assert sorted(re.findall(r"\d+\.\d+", up)) == sorted(re.findall(r"\d+\.\d+", down))
    assert up.replace("more than chance", "").count(" more") == 1
    assert " less" not in up
    assert " more" not in down.replace("more than chance", "")


def test_beside_a_finding_stands_the_range_that_belongs_to_it():
    """A range at 95 % that pokes out of the band stood beside "same in practice", which is said by the one at 90 %."""
    same = answer(Finding.NO_DIFFERENCE_THAT_MATTERS, 0.1, -0.9, 1.1, equivalence_low=-0.7, equivalence_high=0.9)
    open_ = answer(Finding.NOT_SETTLED, 0.1, -0.9, 1.1, equivalence_low=-0.7, equivalence_high=0.9)
    assert (same.shown_low, same.shown_high) == (-0.7, 0.9)
    assert wording.estimate_with_range(comparison(same), same) == "0.1 (\u22120.7 to 0.9)"
    assert wording.estimate_with_range(comparison(open_), open_) == "0.1 (\u22120.9 to 1.1)"

"""Each measure in its own words and its own numbers, in each direction."""

import pytest

from analytics.answer import wording
from analytics.answer.difference_words import PHRASES
from analytics.trade.measures import MEASURES
from tests.answer.made import HIGHER, LOWER, SAME, answer, comparison


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

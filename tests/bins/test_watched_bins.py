"""What a bin holds, what raises an alarm, and what to look at next; that it is safe is never said."""

from datetime import date

import pytest

from analytics.bins.watched_bins import BinReading, WatchedBin, bin_alarms, bins_first_line, by_method_words, read_bins
from analytics.records.bin_tables import BIN_CHECKS, BIN_FILLS, BINS

FILLED, TODAY = date(2025, 9, 1), date(2025, 10, 10)


def reading(day: date, celsius: float | None, place: str = "core", **others: object) -> BinReading:
    blank = {"moisture_pct": None, "outside_c": None, "smell": None, "action": None}
    return BinReading(checked_on=day, place=place, temperature_c=celsius, **(blank | others))


def watched(*readings: BinReading, **others: object) -> WatchedBin:
    plain = {
        "crop_year": 2025, "name": "Bin 1", "holds": "standing", "plots": ("Home, east",), "filled_on": FILLED,
        "conditioned_on": None, "emptied_on": None, "wettest_in_pct": None,
    }  # fmt: skip
    return WatchedBin(readings=readings, **(plain | others))


def two_checks(first: float, second: float, outside: tuple[float | None, float | None]) -> WatchedBin:
    return watched(
        reading(date(2025, 10, 1), first, outside_c=outside[0]), reading(TODAY, second, outside_c=outside[1])
    )


def test_a_core_that_warms_while_outside_cools_is_an_alarm():
    said = "the core rose by 1.5 C from 1 October 2025 to 10 October 2025 while outside fell by 4.0 C"
    assert two_checks(9.0, 10.5, (8.0, 4.0)).alarms(TODAY) == (said,)


@pytest.mark.parametrize(
    ("first", "second", "outside"),
    [(9.0, 10.5, (8.0, 8.0)), (9.0, 10.5, (8.0, 12.0)), (10.5, 9.0, (8.0, 4.0)), (9.0, 9.0, (8.0, 4.0))],
)
def test_a_core_that_cools_or_follows_a_warmer_day_is_none(first, second, outside):
    assert two_checks(first, second, outside).alarms(TODAY) == ()


@pytest.mark.parametrize("outside", [(None, 4.0), (8.0, None), (None, None)])
def test_a_core_that_warms_with_outside_unknown_is_an_alarm_that_says_so(outside):
    (said,) = two_checks(9.0, 10.5, outside).alarms(TODAY)
    rose = "the core rose by 1.5 C from 1 October 2025 to 10 October 2025"
    assert said == f"{rose}; the temperature outside was not typed both times"


def test_each_place_is_compared_with_itself():
    one = watched(reading(date(2025, 10, 1), 5.0, "wall", outside_c=8.0), reading(TODAY, 9.0, "core", outside_c=4.0))
    assert one.alarms(TODAY) == ()


@pytest.mark.parametrize(("celsius", "is_alarm"), [(15.0, False), (15.1, True)])
def test_over_15_c_is_an_alarm_once_it_was_conditioned(celsius, is_alarm):
    warm = reading(TODAY, celsius)
    assert bool(watched(warm, conditioned_on=date(2025, 9, 20)).alarms(TODAY)) is is_alarm
    assert watched(warm).alarms(TODAY) == ()
    assert watched(reading(TODAY, 30.0), conditioned_on=date(2025, 10, 11)).alarms(TODAY) == ()


@pytest.mark.parametrize(("moisture_pct", "is_alarm"), [(8.0, False), (8.1, True)])
def test_over_8_percent_is_an_alarm_of_a_sample_or_of_the_grain_that_went_in(moisture_pct, is_alarm):
    sampled = watched(reading(TODAY, 9.0, moisture_pct=moisture_pct), wettest_in_pct=12.0)
    assert bool(sampled.alarms(TODAY)) is is_alarm
    gone_in = watched(reading(TODAY, 9.0), wettest_in_pct=moisture_pct).alarms(TODAY)
    assert bool(gone_in) is is_alarm
    assert all("for the wettest grain that went in, over 8" in words for words in gone_in)


@pytest.mark.parametrize(("day", "said"), [(14, ()), (15, ("14 days since the last check",))])
def test_no_check_for_14_days_is_an_alarm(day, said):
    assert watched(reading(date(2025, 10, 1), 9.0)).alarms(date(2025, 10, day)) == said


def test_a_bin_never_checked_counts_from_its_filling():
    assert watched().alarms(date(2025, 9, 15)) == ("14 days since it was filled, and no check is on record",)
    assert watched(filled_on=None).alarms(TODAY) == ()


def test_an_emptied_bin_raises_nothing():
    one = watched(reading(FILLED, 30.0), conditioned_on=FILLED, emptied_on=TODAY, wettest_in_pct=12.0)
    assert (one.alarms(date(2026, 5, 1)), one.next_look(TODAY)) == ((), None)


def test_the_first_line_names_those_that_want_a_look_and_else_the_next_day():
    warm = watched(reading(TODAY, 21.0), conditioned_on=FILLED, name="Bin 2")
    cool = watched(reading(TODAY, 9.0))
    assert bins_first_line([cool, warm], TODAY) == "Bin 2 wants a look now; 2 bins on record hold grain."
    no_alarm = "No check on record raises an alarm. The next is due by 24 October 2025: Bin 1."
    assert bins_first_line([cool], TODAY) == no_alarm
    assert bins_first_line([], TODAY) == "There is no bin on record."
    assert bin_alarms([cool, warm], TODAY) == ("Bin 2, 2025: 21.0 C after conditioning, over 15 C.",)


def test_what_to_look_at_next_names_places_passed_over_and_an_old_sample():
    one = watched(reading(date(2025, 9, 5), 20.0, moisture_pct=7.5), reading(date(2025, 10, 5), 9.0, "top"))
    assert one.to_look_at(TODAY) == (
        "The core and the wall: no temperature on 5 October 2025.",
        "Take a sample for moisture; the last is of 5 September 2025 (every three to four weeks, after the Canadian "
        "Grain Commission).",
    )
    assert one.to_look_at(date(2025, 10, 3))[1:] == ()


def test_what_keeps_to_the_sentence_is_not_called_safe():
    one = watched(reading(TODAY, 9.0, moisture_pct=7.5))
    assert one.sentence_words.endswith("The readings keep to that; a bin can still heat where nobody looked.")
    assert watched(reading(TODAY, 9.0)).sentence_words.endswith("cannot be told: moisture is not on record.")
    assert watched().sentence_words.endswith("neither moisture nor temperature is on record.")
    assert watched(reading(TODAY, 16.0)).sentence_words.endswith("It is not so here.")


def test_plots_of_both_methods_make_a_bin_mixed_and_the_wettest_ticket_counts(tiny, add):
    plot = {"crop_year": 2025, "field": "Home"}
    connection = tiny(
        {
            "fields": [{"field": "Home"}],
            "plots": [plot | {"plot": "east", "method": "standing"}, plot | {"plot": "west", "method": "windrowed"}],
            "loads": [
                plot | {"plot": "east", "ticket": "1", "moisture_pct": 8.9},
                plot | {"plot": "east", "ticket": "2", "moisture_pct": 9.4},
                plot | {"plot": "west", "ticket": "3", "moisture_pct": 11.0},
            ],
        }
    )
    add(
        connection,
        BINS,
        {"crop_year": 2025, "bin": "A"},
        {"crop_year": 2025, "bin": "B"},
        {"crop_year": 2025, "bin": "C"},
    )
    fill = plot | {"filled_on": FILLED}
    add(
        connection,
        BIN_FILLS,
        fill | {"bin": "A", "plot": "east"},
        fill | {"bin": "B", "plot": "east"},
        fill | {"bin": "B", "plot": "west", "moisture_pct": 8.0, "filled_on": TODAY},
    )
    add(connection, BIN_CHECKS, {"crop_year": 2025, "bin": "A", "checked_on": TODAY, "place": "core", "smell": "fresh"})
    found = {one.name: one for one in read_bins(connection, TODAY)}
    assert {name: one.holds for name, one in found.items()} == {"A": "standing", "B": "mixed", "C": None}
    assert (found["A"].wettest_in_pct, found["B"].wettest_in_pct, found["B"].filled_on) == (9.4, 9.4, TODAY)
    assert found["A"].holds_words == "standing only: Home, east"
    mixed = "standing and windrowed mixed, so the comparison ends here: Home, east; Home, west"
    assert found["B"].holds_words == mixed
    assert found["A"].checked_on == TODAY
    assert by_method_words(list(found.values())) == (
        "Standing alone: 1 bin; warmest reading unknown, wettest grain that went in 9.4\u202f%.",
        "Windrowed alone: 0 bins; warmest reading unknown, wettest grain that went in unknown.",
    )


def test_a_day_that_has_not_come_yet_is_an_alarm_and_hides_nothing(tiny, add):
    """A check typed a year too late kept every later one from being the last, and a warm bin quiet for that year."""
    connection = tiny({"fields": [{"field": "Home"}]})
    bins = {"crop_year": 2025, "conditioned_on": date(2025, 9, 10)}
    typo, emptied = date(2026, 10, 12), date(2025, 12, 10)
    add(connection, BINS, bins | {"bin": "A"}, bins | {"bin": "B", "emptied_on": emptied})
    place = {"crop_year": 2025, "place": "core"}
    warm = place | {"checked_on": date(2025, 10, 8), "temperature_c": 24.0}
    cool = place | {"checked_on": typo, "temperature_c": 8.0}
    add(connection, BIN_CHECKS, warm | {"bin": "A"}, cool | {"bin": "A"}, warm | {"bin": "B"})
    bins_now = read_bins(connection, TODAY)
    assert bin_alarms(bins_now, TODAY) == (
        "A, 2025: a check is dated 12 October 2026, which has not come yet: see that the day is right; "
        "24.0 C after conditioning, over 15 C.",
        "B, 2025: emptying is dated 10 December 2025, which has not come yet: see that the day is right; "
        "24.0 C after conditioning, over 15 C.",
    )
    assert bins_first_line(bins_now, TODAY).startswith("A, B want a look now; 2 bins on record hold grain.")
    assert {one.name: len(one.alarms(typo)) for one in read_bins(connection, typo)} == {"A": 0, "B": 0}


def test_a_bin_filled_again_after_it_was_emptied_is_watched_and_asked_about(tiny, add):
    """Counted as empty, it raised nothing while grain lay in it."""
    plot = {"crop_year": 2025, "field": "Home", "plot": "east"}
    connection = tiny({"fields": [{"field": "Home"}], "plots": [plot | {"method": "standing"}]})
    add(connection, BINS, {"crop_year": 2025, "bin": "A", "emptied_on": date(2025, 9, 12)})
    for day in (FILLED, date(2025, 9, 20)):
        add(connection, BIN_FILLS, plot | {"bin": "A", "filled_on": day})
    (one,) = read_bins(connection, TODAY)
    again = (
        "it was filled on 20 September 2025, after it was emptied on 12 September 2025: give what went in then a bin"
    )
    assert one.is_in_use
    assert one.alarms(TODAY)[0] == f"{again} of its own"
    assert "20 days since it was filled" in one.alarms(TODAY)[1]

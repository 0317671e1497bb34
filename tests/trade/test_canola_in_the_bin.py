"""What is published on canola in the bin is said as it stands there, the strictest first, and nothing in between.

Sources: Canola Council of Canada, storage pages and 2019; Canadian Grain Commission as retold in two papers.
"""

from datetime import date

import pytest

from analytics.trade.canola_in_the_bin import LONG, TOO_WET_OR_WARM, is_within_long, next_look, strictest_sentence

COUNCIL = "Canola Council of Canada"


@pytest.mark.parametrize(
    ("moisture_pct", "celsius", "begins", "source"),
    [
        (10.6, 25.0, "At 10.6 % and 25 C canola clumped after 11 days and was mouldy after 21", f"{COUNCIL}, 2019"),
        (10.5, 25.0, "8 % is too wet at 25 C and above", f"{COUNCIL}, storage pages"),
        (8.0, 25.0, "8 % is too wet at 25 C and above", f"{COUNCIL}, storage pages"),
        (8.0, 24.9, "For more than five months canola should be at 8 % moisture or less", f"{COUNCIL}, storage pages"),
        (10.0, 4.0, "For more than five months 10 % is not safe", f"{COUNCIL}, storage pages"),
        (12.0, 10.0, "12 % at 10 C lies on the official chart's line of spoilage", "Cereal Research Centre"),
        (7.0, 50.0, "7 % at 50 C lies on the official chart's line of spoilage", "Cereal Research Centre"),
        (7.9, 26.0, "For more than five months canola should be at 8 % moisture or less", f"{COUNCIL}, storage pages"),
    ],
)
def test_the_strictest_published_sentence_that_applies(moisture_pct, celsius, begins, source):
    found = strictest_sentence(moisture_pct, celsius)
    assert found.text.startswith(begins)
    assert found.source.startswith(source)


def test_nothing_is_worked_out_between_two_published_points():
    """A straight line through the ends of the chart's spoilage line passes 10.1 % at 25 C: laxer than the Council."""
    assert strictest_sentence(10.1, 25.0).text == "8 % is too wet at 25 C and above"
    published = {(10.6, 25.0), (12.0, 10.0), (7.0, 50.0), (8.0, 25.0), (10.0, None)}
    assert {(one.moisture_pct, one.temperature_c) for one in TOO_WET_OR_WARM} == published


@pytest.mark.parametrize("lax", ["10 % is probably dry enough", "may be stored"])
def test_a_laxer_sentence_is_never_shown(lax):
    assert not any(lax in one.text for one in (*TOO_WET_OR_WARM, LONG))


@pytest.mark.parametrize(
    ("moisture_pct", "celsius", "within"),
    [
        (8.0, 15.0, True),
        (8.1, 15.0, False),
        (8.0, 15.1, False),
        (None, 15.0, None),
        (8.0, None, None),
        (9, None, False),
    ],
)
def test_long_storage_asks_for_8_percent_and_15_c(moisture_pct, celsius, within):
    assert is_within_long(moisture_pct, celsius) is within


def test_for_six_weeks_closely_is_said_as_published_and_then_every_two_weeks():
    filled = date(2025, 9, 1)
    close = next_look(filled_on=filled, checked_on=date(2025, 10, 10), today=date(2025, 10, 13))
    assert close.is_close
    assert close.words.startswith("Closely until 13 October 2025, the first six weeks; no number of days is published")
    later = next_look(filled_on=filled, checked_on=date(2025, 10, 10), today=date(2025, 10, 14))
    assert (later.is_close, later.on) == (False, date(2025, 10, 24))
    assert later.words.startswith(
        "Every two weeks; the next check is due by 24 October 2025 (temperature every two weeks where grain is"
    )

"""What is published on canola in the bin: sentences with the moisture and temperature they were written for, and how
often to look.

Nothing is worked out between two published points: a straight line through the ends of the official chart's spoilage
line would allow 10.1 % at 25 C, laxer than the Canola Council of Canada. A sentence is held to apply also wetter and
warmer than its own point, which is our reading of it.
"""

from dataclasses import dataclass
from datetime import date, timedelta

COUNCIL = "Canola Council of Canada"
COMMISSION = "after the Canadian Grain Commission"

LONG_MOISTURE_PCT, LONG_TEMPERATURE_C = 8.0, 15.0  # more than five months, through the whole bin; the Council
CLOSELY_DAYS = 42  # "closely for the first six weeks"; the Council
EVERY_DAYS = 14  # temperature every two weeks where grain is neither aired nor turned; after the Grain Commission
SAMPLE_DAYS = 28  # samples every three to four weeks, the same source; the longer, so that none is called late too soon

OIL = f"Each point of oil more asks for about 0.1 point less moisture ({COUNCIL}, 2011)."
ALIKE = (
    "Five pre-harvest treatments stored alike below 75 % relative humidity or below 30 C; they differed only in heat "
    "and damp (University of Manitoba with the Prairie Agricultural Machinery Institute)."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedSentence:
    """A sentence for grain at least this wet and this warm; None asks nothing of that reading."""

    moisture_pct: float | None
    temperature_c: float | None
    text: str
    source: str

    @property
    def words(self) -> str:
        """The sentence with its source behind it."""
        return f"{self.text} ({self.source})."

    def applies(self, moisture_pct: float | None, temperature_c: float | None) -> bool:
        """Whether grain read like this is as wet and as warm as the sentence says; a blank reading never is."""
        return _reaches(moisture_pct, self.moisture_pct) and _reaches(temperature_c, self.temperature_c)


def _reaches(reading: float | None, point: float | None) -> bool:
    return point is None or (reading is not None and reading >= point)


# The strictest first.
TOO_WET_OR_WARM = (
    PublishedSentence(
        moisture_pct=10.6,
        temperature_c=25.0,
        text="At 10.6 % and 25 C canola clumped after 11 days and was mouldy after 21, in small tubes; a bin may be "
        "quicker",
        source=f"{COUNCIL}, 2019",
    ),
    PublishedSentence(
        moisture_pct=12.0,
        temperature_c=10.0,
        text="12 % at 10 C lies on the official chart's line of spoilage within five months",
        source="Cereal Research Centre and Canadian Grain Commission, as retold in two papers",
    ),
    PublishedSentence(
        moisture_pct=7.0,
        temperature_c=50.0,
        text="7 % at 50 C lies on the official chart's line of spoilage within five months",
        source="Cereal Research Centre and Canadian Grain Commission, as retold in two papers",
    ),
    PublishedSentence(
        moisture_pct=8.0,
        temperature_c=25.0,
        text="8 % is too wet at 25 C and above",
        source=f"{COUNCIL}, storage pages",
    ),
    PublishedSentence(
        moisture_pct=10.0,
        temperature_c=None,
        text="For more than five months 10 % is not safe",
        source=f"{COUNCIL}, storage pages",
    ),
)
LONG = PublishedSentence(
    moisture_pct=None,
    temperature_c=None,
    text="For more than five months canola should be at 8 % moisture or less and 15 C or lower through the whole bin",
    source=f"{COUNCIL}, storage pages",
)


def strictest_sentence(moisture_pct: float | None, temperature_c: float | None) -> PublishedSentence:
    """The strictest published sentence for the wettest and the warmest reading of a bin, percent and C.

    >>> strictest_sentence(8.4, 26.0).words
    '8 % is too wet at 25 C and above (Canola Council of Canada, storage pages).'
    >>> strictest_sentence(10.1, 24.0).text
    'For more than five months 10 % is not safe'
    >>> strictest_sentence(None, 26.0) is LONG
    True
    """
    fitting = (sentence for sentence in TOO_WET_OR_WARM if sentence.applies(moisture_pct, temperature_c))
    return next(fitting, LONG)


def is_within_long(moisture_pct: float | None, temperature_c: float | None) -> bool | None:
    """Whether both readings keep to the sentence for more than five months; None where a blank leaves it open.

    >>> is_within_long(8.0, 15.0), is_within_long(8.1, None), is_within_long(None, 12.0)
    (True, False, None)
    """
    within = [
        None if reading is None else reading <= most
        for reading, most in ((moisture_pct, LONG_MOISTURE_PCT), (temperature_c, LONG_TEMPERATURE_C))
    ]
    return False if False in within else None if None in within else True


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLook:
    """When to look at a bin next. `on` is the latest day; `is_close` while the first six weeks run."""

    on: date
    is_close: bool
    words: str


def next_look(*, filled_on: date, checked_on: date | None, today: date) -> NextLook:
    """When the next check is due, by the last filling and the last check.

    For the first six weeks "closely" is all that is published, so no number of days is made of it; the day given then
    is the one on which two weeks without a check are over.
    >>> next_look(filled_on=date(2025, 9, 1), checked_on=None, today=date(2025, 9, 3)).words[:34]
    'Closely until 13 October 2025, the'
    >>> next_look(filled_on=date(2025, 9, 1), checked_on=date(2025, 10, 20), today=date(2025, 10, 21)).on
    datetime.date(2025, 11, 3)
    """
    close_until = filled_on + timedelta(CLOSELY_DAYS)
    due = (checked_on or filled_on) + timedelta(EVERY_DAYS)
    if today <= close_until:
        words = (
            f"Closely until {day_words(close_until)}, the first six weeks; no number of days is published ({COUNCIL}). "
            f"By {day_words(due)} at the latest"
        )
    else:
        is_past = "was due" if due < today else "is due"
        words = f"Every two weeks; the next check {is_past} by {day_words(due)}"
    published = f"temperature every two weeks where grain is neither aired nor turned, {COMMISSION}"
    return NextLook(on=due, is_close=today <= close_until, words=f"{words} ({published}).")


def day_words(day: date) -> str:
    """A day as people say it: 3 November 2025."""
    return f"{day.day} {day:%B %Y}"

"""Is the bin safe to leave? What each bin holds, its last check and trend, what to look at next, and when."""

from datetime import date

import streamlit as st

from analytics.bins.watched_bins import WatchedBin, bins_first_line, by_method_words, read_bins
from analytics.trade.canola_in_the_bin import ALIKE, OIL, day_words
from analytics.trade.cautions import BINS, HEATING
from analytics.trade.numbers_as_text import amount
from dashboard.frame import headings, on_file, shown_picture, shown_words
from dashboard.pictures import bin_trend

ENTER_RECORDS = "screens/enter_records.py"


@st.cache_resource(max_entries=2, show_spinner=False)
def _bins(path: str, last_act: str, today: date) -> tuple[WatchedBin, ...]:
    return on_file.read_records(lambda connection: read_bins(connection, today))


def _type_link(label: str, paper: str, one: WatchedBin | None = None) -> None:
    link = {"paper": paper} | ({"crop_year": str(one.crop_year)} if one else {})
    st.page_link(ENTER_RECORDS, label=label, query_params=link)


def _bin(one: WatchedBin, today: date) -> None:
    headings.of_part(shown_words.plain(f"{one.name}, {one.crop_year}"))
    for alarm in one.alarms(today):
        st.warning(shown_words.plain(f"Look now: {alarm}."))
    if any(reading.temperature_c is not None for reading in one.readings):
        shown_picture.show_picture(
            bin_trend.trend(one), key=f"readings {one.crop_year} {one.name}", alt=bin_trend.trend_in_words(one)
        )
        st.caption("Temperature by check. The thin line across lies at 15 C.")
    shown_words.bullets([f"It holds {one.holds_words}.", *_last_check(one), one.sentence_words, *_next(one, today)])


def _last_check(one: WatchedBin) -> list[str]:
    """What was found at the last check, a place a part."""
    if one.checked_on is None:
        return ["No check is on record."]
    parts = []
    for reading in one.last_check:
        found = [
            amount(value, unit, 1)
            for value, unit in ((reading.temperature_c, "C"), (reading.moisture_pct, "%"))
            if value is not None
        ]
        found += [f"smell {reading.smell}"] if reading.smell else []
        found += [f"done: {reading.action}"] if reading.action else []
        parts.append(f"{reading.place} {', '.join(found)}")
    return [f"Last check, {day_words(one.checked_on)}: {'; '.join(parts)}."]


def _next(one: WatchedBin, today: date) -> list[str]:
    """What to look at next and when; for an empty bin, since when it is."""
    if one.emptied_on is not None:
        return [f"Emptied on {day_words(one.emptied_on)}; no check is due."]
    look = one.next_look(today)
    if look is None:
        return ["When a check is due cannot be told until its filling is typed."]
    return [f"When to look: {look.words}", *one.to_look_at(today)]


headings.of_screen("Is the bin safe to leave?")
st.markdown(shown_words.plain(BINS))
today = date.today()
bins = _bins(*on_file.kept_under(), today)
with st.container(key="finding"):
    st.markdown(shown_words.plain(bins_first_line(bins, today)))
if not bins:
    _type_link("Type the bins", "bins")
    st.stop()
st.markdown(shown_words.plain(HEATING))
_type_link("Type a check", "bin_checks", bins[0])
_type_link("Type what went into which bin", "bin_fills", bins[0])
in_use = [one for one in bins if one.is_in_use]
for one in sorted(in_use, key=lambda one: not one.alarms(today)):
    _bin(one, today)
if emptied := [one for one in bins if not one.is_in_use]:
    with st.expander("Bins that were emptied", key="emptied", on_change="rerun") as folded:
        if folded.open:
            for one in emptied:
                _bin(one, today)
headings.of_part("Bins of one method alone")
st.markdown("Exploration: look, do not conclude. Weather and day of filling differ along with the method.")
shown_words.bullets([*by_method_words(bins), ALIKE, OIL])

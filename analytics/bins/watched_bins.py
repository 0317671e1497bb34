"""Each bin as on record: what it holds, its last check, what raises an alarm, the strictest published sentence, and
when to look next. Nothing here says that a bin is safe.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb

from analytics.records.columns import BIN_PLACES, METHODS
from analytics.storage.database import read, read_table
from analytics.trade.canola_in_the_bin import (
    COMMISSION,
    EVERY_DAYS,
    LONG,
    LONG_MOISTURE_PCT,
    LONG_TEMPERATURE_C,
    SAMPLE_DAYS,
    NextLook,
    PublishedSentence,
    day_words,
    is_within_long,
    next_look,
    strictest_sentence,
)
from analytics.trade.numbers_as_text import amount, capital, count


@dataclass(frozen=True, slots=True, kw_only=True)
class BinReading:
    """One place of a bin at one check; None where nothing was read."""

    checked_on: date
    place: str
    temperature_c: float | None
    moisture_pct: float | None
    outside_c: float | None
    smell: str | None
    action: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedBin:
    """A bin of a crop year.

    holds : "standing", "windrowed", "mixed", or None while no filling is on record
    plots : field and plot of each that went in
    wettest_in_pct : moisture of the wettest grain that went in
    readings : oldest first
    doubts : days that cannot be right, a sentence's end each; they are left out of all else
    """

    crop_year: int
    name: str
    holds: str | None
    plots: tuple[str, ...]
    filled_on: date | None
    conditioned_on: date | None
    emptied_on: date | None
    wettest_in_pct: float | None
    readings: tuple[BinReading, ...]
    doubts: tuple[str, ...] = ()

    @property
    def is_in_use(self) -> bool:
        """Whether grain lies in it, as far as the records tell."""
        return self.emptied_on is None

    @property
    def checked_on(self) -> date | None:
        """Day of the last check."""
        return self.readings[-1].checked_on if self.readings else None

    @property
    def last_check(self) -> tuple[BinReading, ...]:
        """Every place of the last check."""
        return tuple(reading for reading in self.readings if reading.checked_on == self.checked_on)

    @property
    def warmest_c(self) -> float | None:
        """The warmest place of the last check."""
        return max((one.temperature_c for one in self.last_check if one.temperature_c is not None), default=None)

    @property
    def sampled_on(self) -> date | None:
        """Day of the last check with a moisture."""
        return max((one.checked_on for one in self.readings if one.moisture_pct is not None), default=None)

    @property
    def wettest_pct(self) -> float | None:
        """The wettest sample of the last day on which one was taken; before that, the wettest grain that went in."""
        if self.sampled_on is None:
            return self.wettest_in_pct
        sampled = (one for one in self.readings if one.checked_on == self.sampled_on)
        return max(one.moisture_pct for one in sampled if one.moisture_pct is not None)

    @property
    def sentence(self) -> PublishedSentence:
        """The strictest published sentence that applies."""
        return strictest_sentence(self.wettest_pct, self.warmest_c)

    def next_look(self, today: date) -> NextLook | None:
        """When to look next; None for an empty bin, and while no filling is on record."""
        if self.filled_on is None or not self.is_in_use:
            return None
        return next_look(filled_on=self.filled_on, checked_on=self.checked_on, today=today)

    def alarms(self, today: date) -> tuple[str, ...]:
        """What asks for a look now, the most urgent first; nothing for a bin that was emptied."""
        if not self.is_in_use:
            return ()
        found = [*self.doubts]
        found += [words for place in BIN_PLACES if (words := self._rising(place))]
        warmest, wettest = self.warmest_c, self.wettest_pct
        is_conditioned = self.conditioned_on is not None and (self.checked_on or date.min) >= self.conditioned_on
        if is_conditioned and warmest is not None and warmest > LONG_TEMPERATURE_C:
            found.append(f"{amount(warmest, 'C', 1)} after conditioning, over {LONG_TEMPERATURE_C:.0f} C")
        if wettest is not None and wettest > LONG_MOISTURE_PCT:
            when = (
                f"at the last sample, {day_words(self.sampled_on)}"
                if self.sampled_on
                else "for the wettest grain that went in"
            )
            found.append(f"{amount(wettest, '%', 1)} moisture {when}, over {amount(LONG_MOISTURE_PCT, '%', 0)}")
        if since := self.checked_on or self.filled_on:
            days = (today - since).days
            if days >= EVERY_DAYS:
                what = "the last check" if self.checked_on else "it was filled, and no check is on record"
                found.append(f"{count(days, 'day')} since {what}")
        return tuple(found)

    def _rising(self, place: str) -> str:
        """A place that got warmer from its last reading but one to its last while outside it got cooler."""
        seen = [one for one in self.readings if one.place == place and one.temperature_c is not None]
        if len(seen) < 2:
            return ""
        before, last = seen[-2], seen[-1]
        warmer = (last.temperature_c or 0) - (before.temperature_c or 0)
        if warmer <= 0:
            return ""
        span = f"from {day_words(before.checked_on)} to {day_words(last.checked_on)}"
        rose = f"the {place} rose by {amount(warmer, 'C', 1)} {span}"
        if before.outside_c is None or last.outside_c is None:
            return f"{rose}; the temperature outside was not typed both times"
        cooler = before.outside_c - last.outside_c
        return f"{rose} while outside fell by {amount(cooler, 'C', 1)}" if cooler > 0 else ""

    def to_look_at(self, today: date) -> tuple[str, ...]:
        """What to look at with the next check, a sentence each."""
        seen = {one.place for one in self.last_check if one.temperature_c is not None}
        unseen = [place for place in BIN_PLACES if place not in seen]
        lines = []
        if self.checked_on is None:
            lines.append("Temperature at the core, the top and the wall, and the temperature outside.")
        elif unseen:
            lines.append(f"The {' and the '.join(unseen)}: no temperature on {day_words(self.checked_on)}.")
        if self.sampled_on is None or (today - self.sampled_on).days > SAMPLE_DAYS:
            last = f"the last is of {day_words(self.sampled_on)}" if self.sampled_on else "none is on record"
            lines.append(f"Take a sample for moisture; {last} (every three to four weeks, {COMMISSION}).")
        return tuple(lines)

    @property
    def holds_words(self) -> str:
        """What lies in it: "standing only: North half, east; Gate eighty, whole"."""
        if self.holds is None:
            return "no filling is on record"
        named = "; ".join(self.plots)
        if self.holds == "mixed":
            return f"standing and windrowed mixed, so the comparison ends here: {named}"
        return f"{self.holds} only: {named}"

    @property
    def sentence_words(self) -> str:
        """The strictest published sentence, and whether what was read keeps to it."""
        if self.sentence is not LONG:
            return self.sentence.words
        within = is_within_long(self.wettest_pct, self.warmest_c)
        if within is None:
            blank = "moisture" if self.wettest_pct is None else "temperature"
            blank = "neither moisture nor temperature" if self.warmest_c is None and self.wettest_pct is None else blank
            rest = "is on record" if blank.startswith("neither") else "is not on record"
            return f"{LONG.words} Whether that holds here cannot be told: {blank} {rest}."
        told = (
            "The readings keep to that; a bin can still heat where nobody looked." if within else "It is not so here."
        )
        return f"{LONG.words} {told}"


def read_bins(connection: duckdb.DuckDBPyConnection, today: date) -> tuple[WatchedBin, ...]:
    """Every bin on record as of today, the newest crop year first, by name."""
    checks: dict[tuple[int, str], list[BinReading]] = {}
    for row in read_table(connection, "bin_checks").sort("checked_on", "place").iter_rows(named=True):
        readings = checks.setdefault((row.pop("crop_year"), row.pop("bin")), [])
        readings.append(BinReading(**row))
    rows = read(connection, "select * from bin_contents order by crop_year desc, bin").iter_rows(named=True)
    return tuple(_as_of(today, row, checks.get((row["crop_year"], row["bin"]), [])) for row in rows)


def _as_of(today: date, row: Mapping[str, Any], readings: Sequence[BinReading]) -> WatchedBin:
    """A day that has not come, or an emptying before the last filling, must neither hide a warm check nor put off the
    next.
    """
    filled_on, conditioned_on, emptied_on = row["last_filled_on"], row["conditioned_on"], row["emptied_on"]
    named = (
        ("a check", next((one.checked_on for one in readings if one.checked_on > today), None)),
        ("a filling", filled_on),
        ("conditioning", conditioned_on),
        ("emptying", emptied_on),
    )
    doubts = [
        f"{what} is dated {day_words(day)}, which has not come yet: see that the day is right"
        for what, day in named
        if day is not None and day > today
    ]
    is_filled_again = emptied_on is not None and filled_on is not None and emptied_on < filled_on
    if is_filled_again:
        doubts.append(
            f"it was filled on {day_words(filled_on)}, after it was emptied on {day_words(emptied_on)}: give what went "
            "in then a bin of its own"
        )
    return WatchedBin(
        crop_year=row["crop_year"],
        name=row["bin"],
        holds=row["holds"],
        plots=tuple(row["plot_names"]),
        filled_on=None if filled_on is None else min(filled_on, today),
        conditioned_on=None if conditioned_on is None or conditioned_on > today else conditioned_on,
        emptied_on=None if emptied_on is None or emptied_on > today or is_filled_again else emptied_on,
        wettest_in_pct=row["wettest_pct"],
        readings=tuple(one for one in readings if one.checked_on <= today),
        doubts=tuple(doubts),
    )


def bin_alarms(bins: Sequence[WatchedBin], today: date) -> tuple[str, ...]:
    """A sentence for each bin with an alarm: "Bin 4, 2025: the core rose by ..."."""
    return tuple(f"{one.name}, {one.crop_year}: {'; '.join(alarms)}." for one in bins if (alarms := one.alarms(today)))


def bins_first_line(bins: Sequence[WatchedBin], today: date) -> str:
    """Which bins want a look now; else which comes next. That a bin is safe is never said."""
    in_use = [one for one in bins if one.is_in_use]
    if not in_use:
        return "No bin on record has grain in it." if bins else "There is no bin on record."
    alarmed = [one.name for one in in_use if one.alarms(today)]
    if alarmed:
        verb = "wants" if len(alarmed) == 1 else "want"
        hold = "holds" if len(in_use) == 1 else "hold"
        return f"{', '.join(alarmed)} {verb} a look now; {count(len(in_use), 'bin')} on record {hold} grain."
    looks = [(look.on, one.name) for one in in_use if (look := one.next_look(today))]
    if not looks:
        return f"No filling is on record for {', '.join(one.name for one in in_use)}, so nothing is due yet."
    on, name = min(looks)
    return f"No check on record raises an alarm. The next is due by {day_words(on)}: {name}."


def by_method_words(bins: Sequence[WatchedBin]) -> tuple[str, ...]:
    """A line a method about the bins that hold it alone: the warmest reading of all checks, the wettest grain that went
    in. To look at and not to conclude from.
    """
    lines = []
    for method in METHODS:
        alone = [one for one in bins if one.holds == method]
        warm = [reading.temperature_c for one in alone for reading in one.readings if reading.temperature_c is not None]
        wet = [one.wettest_in_pct for one in alone if one.wettest_in_pct is not None]
        warmest, wettest = amount(max(warm, default=None), "C", 1), amount(max(wet, default=None), "%", 1)
        said = f"warmest reading {warmest}, wettest grain that went in {wettest}"
        lines.append(f"{capital(method)} alone: {count(len(alone), 'bin')}; {said}.")
    return tuple(lines)

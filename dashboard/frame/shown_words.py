"""Words as a screen shows them: text letter by letter, lists, values in the chosen unit, what the marks mean."""

import re
from collections.abc import Iterable

import streamlit as st

from analytics.answer import marks
from analytics.records.papers import PAPERS
from analytics.statistics.results import Comparison
from analytics.storage.drafts import Draft
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, count
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac
from dashboard.frame import on_file

# What Streamlit reads as markup: Markdown's marks, anywhere or at the start of a line, and what it takes for a link or
# an icon; and its own names between colons, for colours, icons and small pictures.
MARKUP = re.compile(r"(?m)[\\`*_\[\]<>$~#|&@]|^[-+=]|(?<=www)\.|(?<=:material)/")
NAMED_BETWEEN_COLONS = re.compile(r":[\w+/-]")


def plain(text: str) -> str:
    """Text as Streamlit will show it letter by letter; a dollar sign or a field's name is not markup.

    It still draws two marks such as -> as an arrow, and makes a link of an address, to the address that is shown.
    """
    text = re.sub(r"(?m)^[ \t]+", "", text)  # four spaces would make a block of code of it
    kept = MARKUP.sub(r"\\\g<0>", text)
    if NAMED_BETWEEN_COLONS.search(text):
        kept = kept.replace(":", "\\:").replace("\\:streamlit\\:", "\\:\u2060streamlit\\:")  # drawn though escaped
    return re.sub(r"(?m)^(\d+)(?=[.)](\s|$))", r"\1\\", kept)


def governs() -> str:
    """The quiet line that stands with every finding: "95 % ranges · gaps under 1.0 bu/ac don't matter · ..."."""
    settings = on_file.state().settings
    level = amount(settings.level * 100, "%", 0)
    unit = shown_unit("yield")
    margin = amount(in_shown_unit("yield", settings.margins["yield"]), unit, YIELD_DECIMALS[unit])
    moisture = amount(settings.one_moisture_pct, "%", 0 if settings.one_moisture_pct.is_integer() else 1)
    return f"{level} ranges · gaps under {margin} don't matter · yields at {moisture} moisture"


def shown_unit(measure: str) -> str:
    """The unit in which a measure is shown: the chosen one where it follows the yield unit."""
    return on_file.state().settings.yield_unit if MEASURES[measure].follows_yield_unit else MEASURES[measure].unit


def in_shown_unit(measure: str, value: float) -> float:
    """A value of the record, in the unit in which the measure is shown."""
    return value * per_bu_ac(shown_unit(measure)) if MEASURES[measure].follows_yield_unit else value


def answers_in_words(found: dict[str, Comparison]) -> str:
    """The picture of all measures for those who cannot see it."""
    return " ".join(
        f"{MEASURES[name].label}: on these fields {marks.mark(one, one.these_fields)}; "
        f"for years to come {marks.mark(one, one.years_to_come)}."
        for name, one in found.items()
    )


def years_in_words(comparison: Comparison) -> list[str]:
    """The picture of the years for those who cannot see it."""
    return [f"{year.crop_year}: standing {marks.difference(comparison, year.estimate)}." for year in comparison.by_year]


def waiting_words(draft: Draft) -> str:
    """What was typed and not saved: "9 tickets for East half, 2026 wait, by Ann"."""
    place = draft.place
    where = ", ".join([*filter(None, (place.field, place.plot)), str(place.crop_year)])
    verb = "waits" if draft.waiting == 1 else "wait"
    by = "" if place.typed_by in on_file.NO_PERSON else f", typed by {place.typed_by}"
    return plain(f"{count(draft.waiting, PAPERS[place.paper].noun)} for {where} {verb} to be saved{by}")


def bullets(lines: Iterable[str], *, none: str = "") -> None:
    """A list of sentences; `none` when there is no line."""
    kept = "\n".join(f"- {plain(line)}" for line in lines)
    if kept or none:
        st.markdown(kept or none)


def legend() -> None:
    """What the marks of the pictures mean."""
    st.html(
        "<p class='legend'><span class='standing'>●</span> standing did better · "
        "<span class='windrowed'>■</span> windrowed did better · <b>=</b> same in practice · "
        "<b>≠</b> depends on the year · <span class='undecided'>○</span> not settled<br>"
        "Thick bar: these fields · thin bar: years to come · grey band: too small to matter</p>"
    )

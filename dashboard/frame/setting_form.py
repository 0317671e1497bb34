"""The settings as they are typed on a screen, kept with who and why, and the changes so far in words."""

import datetime
from collections.abc import Mapping, Sequence

import streamlit as st

from analytics.pairs.grading import limits_in_force
from analytics.records.setting_values import (
    FROM_YEAR,
    NO_REQUIREMENT,
    NOT_KNOWN_COUNTS,
    NOT_KNOWN_LEFT_OUT,
    NOT_SAID,
    REQUIREMENTS,
)
from analytics.settings import SettingChange, change_settings, setting_changes
from analytics.trade.grade_limits import edition_words
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, count
from analytics.trade.typed_text import DECIMAL_MARK, THOUSANDS, NotReadable, read_number
from dashboard.frame import on_file, shown_words

COMMA_WORDS = {
    NOT_SAID: "not said yet; it is asked at the first such number",
    THOUSANDS: "22,910 is 22910: a comma sets thousands apart",
    DECIMAL_MARK: "22,910 is 22.910: a comma is a decimal mark",
}
BASIS_WORDS = {
    "by design": "fields cut both ways where there are three or more, else all pairs",
    "all": "all pairs",
    "one_field": "only fields that were cut both ways",
    "drawn_by_lot": "only pairs drawn by lot",
}
NOT_KNOWN_WORDS = {
    NOT_KNOWN_COUNTS: "counts, and it is told under the answer",
    NOT_KNOWN_LEFT_OUT: "is left out, as if it missed it",
}
EVERY_YEAR = "all"


@st.cache_resource(max_entries=4, show_spinner=False)
def _changes(path: str, last_act: str) -> tuple[SettingChange, ...]:
    return on_file.read_records(setting_changes)


def setting_changes_in_words() -> list[str]:
    """Who changed what is fixed before looking, when and why; newest first."""
    return [f"{change.words}." for change in _changes(*on_file.kept_under())]


def keep_settings(typed: dict[str, str], *, done_by: str, why: str | None = None) -> None:
    """Keep settings typed on a screen. Raises BadInput for what is not allowed, Refused when it cannot be saved."""
    name = done_by.strip() or on_file.AT_THE_SCREEN
    on_file.write_records(lambda connection: change_settings(connection, typed, done_by=name, why=why or None))


def setting_as_typed(value: float) -> str:
    """A setting as a person would type it: at most six figures, no zeros behind."""
    return f"{value:.6g}"


def level_label(level: str) -> str:
    """The level in percent: "95 %"."""
    return amount(float(level) * 100, "%", 0)


def settings_as_typed() -> dict[str, str]:
    """The settings in force as text, margins in the units shown."""
    settings = on_file.state().settings
    margins = {
        f"margin.{name}": setting_as_typed(shown_words.in_shown_unit(name, margin))
        for name, margin in settings.margins.items()
    }
    return {
        "farm_name": settings.farm_name,
        "level": setting_as_typed(settings.level),
        "one_moisture_pct": setting_as_typed(settings.one_moisture_pct),
        "grading": settings.grading,
        "comma": settings.comma or NOT_SAID,
        "basis": settings.basis,
        "main_measure": settings.main_measure,
        "wind_kmh": setting_as_typed(settings.wind_kmh),
        "requirements": ", ".join(settings.requirements) or NO_REQUIREMENT,
        "requirement_not_known": settings.requirement_not_known,
        **_years_asked(settings.requirements),
        **margins,
    }


def _years_asked(requirements: Sequence[str]) -> dict[str, str]:
    """By requirement, the crop year from which it is asked as a person types it; "" where it is not."""
    asked = {name: year or EVERY_YEAR for name, _, year in (one.partition(FROM_YEAR) for one in requirements)}
    return {name: asked.get(name, "") for name in REQUIREMENTS}


def requirements_as_kept(years: Mapping[str, str]) -> str:
    """The setting `requirements` as text, from the crop year typed beside each; it is checked where it is kept."""
    asked = [
        name if year.strip().lower() == EVERY_YEAR else f"{name}{FROM_YEAR}{year.strip()}"
        for name, year in years.items()
        if year.strip()
    ]
    return ", ".join(asked) or NO_REQUIREMENT


def limits_words() -> str:
    """Where the grade limits of today come from, and how old they are."""
    return _limits_words(*on_file.kept_under(), on_file.state().settings.grading, datetime.date.today().year)


@st.cache_resource(max_entries=4, show_spinner=False)
def _limits_words(path: str, last_act: str, grading: str, crop_year: int) -> str:
    return on_file.read_records(
        lambda connection: edition_words(limits_in_force(connection, grading, crop_year=crop_year))
    )


def keep_typed_settings(typed: dict[str, str], *, done_by: str, why: str) -> str:
    """Keep those settings that differ from the ones in force; one line that says what was done.

    typed : text by setting, margins in the units shown
    Raises BadInput and Refused as keep_settings does.
    """
    now = settings_as_typed()
    changed = {name: text for name, text in typed.items() if text.strip() != now[name]}
    if not changed:
        return "Nothing was changed."
    keep_settings({name: _in_unit_of_record(name, text) for name, text in changed.items()}, done_by=done_by, why=why)
    return f"Kept {count(len(changed), 'change')}. Every finding now follows."


def _in_unit_of_record(name: str, text: str) -> str:
    measure = MEASURES.get(name.removeprefix("margin."))
    if measure is None or not measure.follows_yield_unit:
        return text
    try:
        value = read_number(text, comma=on_file.state().settings.comma)
    except NotReadable:
        return text  # refused, in its own words, where it is to be kept
    return setting_as_typed(value / shown_words.in_shown_unit(measure.name, 1.0)) if value > 0 else text

"""What the money and next-season screens read and keep, and boxes whose numbers are typed as text."""

from collections.abc import Callable
from datetime import datetime
from typing import TypeVar

import duckdb
import streamlit as st

from analytics.answer.money_review import MoneyReview, money_review
from analytics.errors import BadInput, StandrowError
from analytics.money import costs
from analytics.money.buying import TriedPurchase
from analytics.money.combine_capacity import MachinesOnRecord, machines_on_record
from analytics.money.windrower import OtherCrop, read_other_crops
from analytics.planning import drawing_lots, field_rules, season_plan
from analytics.planning.field_rules import PlanningRule
from analytics.planning.pairing import PlannedPair
from analytics.trade.numbers_as_text import capital
from analytics.trade.typed_text import NotReadable, read_number, read_whole_number
from dashboard.frame import on_file, shown_words, which_comma

Found = TypeVar("Found")


@st.cache_resource(max_entries=2, show_spinner="Adding up money")
def _money(path: str, last_act: str) -> MoneyReview:
    recorded, (rows, facts) = on_file.recorded(), on_file.pairs()
    known, sold = recorded if "net_return" in recorded else None, rows.get("yield_as_sold")
    return on_file.read_records(lambda connection: money_review(connection, known, sold, facts))


def read_money() -> MoneyReview:
    """All that the records say about money."""
    return _money(*on_file.kept_in_any_unit())


@st.cache_resource(max_entries=4, show_spinner=False)
def _machines(path: str, last_act: str) -> MachinesOnRecord:
    return on_file.read_records(machines_on_record)


def machines() -> MachinesOnRecord:
    """What combining and windrowing came to on this farm."""
    return _machines(*on_file.kept_in_any_unit())


@st.cache_resource(max_entries=4, show_spinner=False)
def _year_to_plan(path: str, last_act: str) -> int:
    return on_file.read_records(lambda connection: season_plan.year_to_plan(connection, datetime.now().date()))


def read_year_to_plan() -> int:
    """The crop year after the newest one with a weighed load; a plan that is kept does not move it on."""
    return _year_to_plan(*on_file.kept_under())


@st.cache_resource(max_entries=8, show_spinner="Looking at the fields")
def _next_season(path: str, last_act: str, crop_year: int) -> season_plan.Start:
    yields = on_file.compared_alone("yield")
    return on_file.read_records(lambda connection: season_plan.read_start(connection, crop_year, yields))


def read_next_season(crop_year: int) -> season_plan.Start:
    """What the plan for the crop year starts from."""
    return _next_season(*on_file.kept_under(), crop_year)


def keep_and_say(work: Callable[[duckdb.DuckDBPyConnection], Found], *, done: str) -> None:
    """Save something, say what was done above the screen, and run again; a refusal is said where it happened."""
    try:
        on_file.write_records(work)
    except StandrowError as problem:
        st.error(shown_words.plain(str(problem)))
    else:
        st.session_state["done"] = done
        st.rerun()


def say_done() -> None:
    """The line after a save, once."""
    if done := st.session_state.pop("done", None):
        st.success(shown_words.plain(done))


def keep_rate(item: str, typed: dict[str, str]) -> None:
    """Keep one own cost rate as typed."""
    keep_and_say(
        lambda connection: costs.keep_rates(connection, costs.own_rate(item, **typed, comma=_comma()), done_by=_name()),
        done=f"Your rate for {item} counts from now on.",
    )


def drop_rate(item: str) -> None:
    """Let the default count again."""
    keep_and_say(
        lambda connection: costs.back_to_defaults(connection, [item], done_by=_name()),
        done=f"{capital(item)}: the default is used again.",
    )


def change_rule(rule: PlanningRule, *, is_used: bool, threshold: float | None, source: str) -> None:
    """Change a rule of planning."""
    keep_and_say(
        lambda connection: field_rules.keep_rule(
            connection, rule.rule, is_used=is_used, threshold=threshold, source=source, done_by=_name()
        ),
        done=f"The rule on {rule.label.lower()} is changed.",
    )


def draw_plan(pairs: list[PlannedPair], *, crop_year: int, seed: int) -> None:
    """Draw the methods and keep the plan."""
    keep_and_say(
        lambda connection: drawing_lots.keep_plan(
            connection, pairs, crop_year=crop_year, seed=seed, drawn_at=datetime.now(), done_by=_name(), source="screen"
        ),
        done=f"Drawn with draw number {seed} and kept as plots and pairs of {crop_year}.",
    )


def note_broken_draw(crop_year: int, pair: str, reason: str) -> None:
    """Note why a pair could not be cut as drawn."""
    keep_and_say(
        lambda connection: drawing_lots.break_draw(
            connection,
            crop_year=crop_year,
            pair=pair,
            reason=reason,
            noted_on=datetime.now().date(),
            done_by=_name(),
        ),
        done=f"Noted for pair {pair}; it will stand as a caution beside every finding that uses the pair.",
    )


def _comma() -> str:
    return on_file.state().settings.comma


def other_crops(typed: str) -> tuple[OtherCrop, ...] | None:
    """Other crops as typed in a box of several lines; None, with the reason on screen, when they cannot be read."""
    crops = said_if_refused(lambda: read_other_crops(typed, comma=_comma()))
    if crops is None:
        which_comma.ask([line.rpartition(" ")[2] for line in typed.splitlines()], key="other_crops")
    return crops


def _name() -> str:
    return on_file.state().done_by or on_file.AT_THE_SCREEN


# --- boxes; Streamlit forgets what is not on the screen, so what was typed is kept beside them


def keep_typed(key: str, usual: object) -> None:
    """Fill the box of this key with what was last typed in it, before it is drawn; else with the usual."""
    if key not in st.session_state:
        st.session_state[key] = st.session_state.get(f"typed {key}", usual)


def note_typed(key: str, usual: object) -> None:
    """Keep what stands in the box for when another screen was looked at; the usual may change and is not kept."""
    if st.session_state[key] == usual:
        st.session_state.pop(f"typed {key}", None)
    else:
        st.session_state[f"typed {key}"] = st.session_state[key]


def keep_for_the_sheet(tried: TriedPurchase) -> None:
    """A purchase goes onto the banker's sheet once any of its boxes holds something else than its example."""
    if any(f"typed {key}" in st.session_state for key in ("outlay", "life", "salvage", "interest", "bought_acres")):
        st.session_state["tried_purchase"] = tried
    else:
        st.session_state.pop("tried_purchase", None)


def text_box(label: str, usual: str, *, key: str, help: str | None = None) -> str:  # noqa: A002
    """A box of one line."""
    keep_typed(key, usual)
    typed = st.text_input(label, key=key, help=help)
    note_typed(key, usual)
    return typed


def lines_box(label: str, usual: str, *, key: str, help: str | None = None) -> str:  # noqa: A002
    """A box of several lines."""
    keep_typed(key, usual)
    typed = st.text_area(label, key=key, help=help, height="content")
    note_typed(key, usual)
    return typed


def number_box(label: str, usual: str, *, key: str, help: str | None = None, blank: str = "") -> float | None:  # noqa: A002
    """A box for a number; None, with the reason under it, when it cannot be read.

    blank : what is said of a box without text, where that may be
    """
    typed = text_box(label, usual, key=key, help=help)
    if blank and not typed.strip():
        st.info(blank)
        return None
    try:
        return read_number(typed, comma=_comma())
    except NotReadable as problem:
        st.error(shown_words.plain(f"{label}: {typed!r} given; {problem}. Allowed a number, such as {usual}."))
        which_comma.ask([typed], key=key)
        return None


def whole_number_box(label: str, usual: str, *, key: str, help: str | None = None) -> int | None:  # noqa: A002
    """A box for a whole number; None, with the reason under it, when it cannot be read."""
    return typed_whole_number(label, text_box(label, usual, key=key, help=help))


def typed_whole_number(label: str, typed: str) -> int | None:
    """The whole number that was typed; None, with the reason on screen, when it is none."""
    try:
        return read_whole_number(typed, comma=_comma())
    except NotReadable as problem:
        st.error(shown_words.plain(f"{label}: {typed!r} given; {problem}. Allowed a whole number."))
        return None


def said_if_refused(work: Callable[[], Found]) -> Found | None:
    """The result, or None with the reason on screen when the numbers are not possible."""
    try:
        return work()
    except BadInput as problem:
        st.error(shown_words.plain(str(problem)))
        return None

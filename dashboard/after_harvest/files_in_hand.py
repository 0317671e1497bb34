"""What the screen for files keeps between runs: files as read, and what they would change."""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, TypeVar

import duckdb
import polars as pl
import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from streamlit.runtime.uploaded_file_manager import UploadedFile

from analytics.errors import BadInput
from analytics.files import import_plan, text_tables
from analytics.files.checking import CheckedTable
from analytics.files.column_matches import Match, in_words_of_the_file, is_ours, keep_match, kept_matches
from analytics.files.importing import BroughtIn, LookAtFiles, bring_in_read, counts_words, look_at
from analytics.files.templates import WORKBOOK, season_rows, template_files, templates_zip
from analytics.files.text_tables import Contents
from analytics.files.untidy import head_at, laid_out
from analytics.pairs.losses import questions_about
from analytics.pairs.work_names import work_questions
from analytics.records.cell_text import BLANK, as_text, key_text
from analytics.records.faults import Fault
from analytics.records.tables import TABLES
from analytics.storage.database import let_go, open_records, read_table, records_path
from analytics.trade.numbers_as_text import count, number
from dashboard.after_harvest.column_choices import Chosen
from dashboard.after_harvest.name_choices import Names
from dashboard.frame import on_file

Made = TypeVar("Made")

READ, KNOWN, LOOK, SHOWN = "bring_in_read", "bring_in_known", "bring_in_look", "bring_in_shown"
PASTED = "pasted block"
LONGEST_PASTE = 2_000_000  # letters; a longer one is a file
ROWS_SHOWN = 200  # of each mark
ROW = "row of the file"  # no column of ours may have this name


def begin_records() -> None:
    """Make an empty file of records. Raises Refused when it cannot be made here, or by this session."""
    on_file.guard_writing()
    with open_records(records_path(), create=True):
        pass


# --- the steps that take time


@contextmanager
def progress_bar(place: DeltaGenerator, steps: int) -> Iterator[Callable[[str], None]]:
    """A bar for so many steps, gone when they are done. Other programs need not wait for them to open the records.

    place : an empty one that is there in every run, so that nothing below it moves
    """
    let_go()
    place.progress(0.0, "beginning")
    done = 0

    def step(words: str) -> None:
        nonlocal done
        place.progress(min(1.0, done / steps), words)
        done += 1

    yield step
    place.empty()


def once(name: str, kept_under: Hashable, make: Callable[[], Made]) -> Made:
    """What `make` made, made anew only when what it is kept under changed."""
    held = st.session_state.get(name)
    if held is None or held[0] != kept_under:
        st.session_state.pop(name, None)  # never two of them in memory
        held = (kept_under, make())
        st.session_state[name] = held
    return held[1]


def read_given(uploads: Sequence[UploadedFile], pasted: str) -> tuple[Contents, Hashable] | None:
    """Every table in what was given, and what it is kept under; null when nothing was given. Raises BadInput.

    Of two files of one name the later one is read: the one that was put right.
    """
    place = st.empty()
    if not uploads and not pasted.strip():
        return None
    if len(pasted) > LONGEST_PASTE:
        raise BadInput(
            f"The pasted block has {len(pasted):,} letters; allowed {LONGEST_PASTE:,}. Save it as a CSV file instead."
        )
    uploads = list({upload.name: upload for upload in uploads}.values())
    text_tables.check_size(sum(upload.size for upload in uploads) + len(pasted))
    kept_under = (*((upload.file_id, upload.name, upload.size) for upload in uploads), pasted)

    def make() -> Contents:
        with progress_bar(place, 1) as step:
            step("reading")
            files = [(upload.name, upload.getvalue()) for upload in uploads]
            given = [*files, (PASTED, pasted.encode())] if pasted.strip() else files
            found = text_tables.read_all(given, head_at=head_at)
            return replace(found, tables=tuple(one if is_ours(one) else laid_out(one) for one in found.tables))

    return once(READ, kept_under, make), kept_under


def look_at_files(
    contents: Contents, chosen: Sequence[Chosen], names: Names, kept_under: Hashable, *, reason: str
) -> LookAtFiles:
    """What the tables would do to the records as they are now.

    names : those that stand for others; reason : why settings change, where there are any
    """
    place = st.empty()

    def make() -> LookAtFiles:
        texts = [one.as_ours(names.fields, names.plots) for one in chosen if not one.is_left_out]
        with progress_bar(place, len(texts) + 2) as step:
            incoming = import_plan.check_incoming(contents, texts, step=step, comma=on_file.state().settings.comma)
            return on_file.read_records(lambda connection: look_at(connection, incoming, reason=reason, step=step))

    under = (kept_under, tuple(one.kept_under for one in chosen), names.kept_under, on_file.state().last_act, reason)
    return once(LOOK, under, make)


def save_files(looked: LookAtFiles, *, done_by: str, files: Sequence[str], reason: str) -> BroughtIn:
    """Write what was looked at, all of it or nothing. Raises Refused when it cannot be written."""
    with progress_bar(st.empty(), 3) as step:

        def work(connection: duckdb.DuckDBPyConnection) -> BroughtIn:
            why = f"from {', '.join(files)}"
            return bring_in_read(
                connection, looked.incoming, done_by=done_by, why=why, reason=reason, step=step, needs_all=False
            )

        return on_file.write_records(work)


def asked_about(brought: BroughtIn) -> tuple[str, ...]:
    """What in the losses and the names of field work just saved is possible but unlikely."""

    def ask(connection: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
        return (*questions_about(connection, brought.plots), *work_questions(connection, brought.work))

    return on_file.read_records(ask)


def crop_years(brought: BroughtIn) -> list[int]:
    """The crop years of the plots that were saved, the latest first."""
    saved = brought.plan.tables.get("plots")
    return [] if saved is None else sorted(set(saved.saved["crop_year"]), reverse=True)


def statement(brought: BroughtIn) -> list[str]:
    """What was added, changed and left: in all, then of each table where there are several."""
    each = [f"{name}: {counts_words(table)}." for name, table in brought.plan.tables.items()]
    return [f"{counts_words(brought.plan)}.", *(each if len(each) > 1 else ())]


def is_as_shown() -> bool:
    """Whether what was looked at just now is what was looked at when the screen was last shown; asked once a run.

    False when somebody changed the records meanwhile, or a choice was changed and the button pressed in one go.
    """
    now = st.session_state[LOOK][0]
    before = st.session_state.get(SHOWN)
    st.session_state[SHOWN] = now
    return bool(before == now)


def kept_file_matches(kept_under: Hashable) -> dict[tuple[str, str], Match]:
    """The matches that were on record when these files were given, by name and table.

    One that is kept while its file is looked at is offered for the next file: to pick it here would begin anew.
    """
    return once(KNOWN, kept_under, lambda: on_file.read_records(kept_matches))


def keep_chosen_match(name: str, match: Match, *, done_by: str) -> None:
    """Keep a match under a name. Raises BadInput and Refused."""
    on_file.write_records(lambda connection: keep_match(connection, name, match, done_by=done_by))


# --- what is shown of the rows


def marked_rows(looked: LookAtFiles, one: CheckedTable, worded: Sequence[Fault]) -> pl.DataFrame:
    """The rows of a file marked faulty, changed, new or as before, the first 200 of each; all text.

    With too many faults to tell the others apart, the faulty ones alone.

    worded : the faults in the words of the file
    Columns: row (number in the file), mark, what (why it is faulty, or old → new), then those of the table.
    """
    plan = looked.sound.tables[one.table.name]
    faulty = looked.faulty.get(one.label, frozenset())
    why: dict[int, list[str]] = {}
    for fault in worded:
        if fault.file == one.label and fault.row is not None:
            words = f"{fault.column}: {fault.given}; allowed {fault.allowed}. {fault.remedy}"
            why.setdefault(fault.row, []).append(words.strip())
    changes: dict[str, list[str]] = {}
    for change in plan.changes:
        changes.setdefault(change.key, []).append(f"{change.column}: {change.old} → {change.new}")
    is_faulty = one.rows.is_in(sorted(faulty))
    is_sound = ~is_faulty & looked.is_told_apart
    sound = one.frame.filter(is_sound).with_columns(one.rows.filter(is_sound).alias(ROW))
    key = list(one.table.key)
    new = sound.join(plan.new.select(key), on=key, how="semi", nulls_equal=True)
    changed = sound.join(plan.changed.select(key), on=key, how="semi", nulls_equal=True)
    both = pl.concat([new, changed]).select(key)
    before = sound.join(both, on=key, how="anti", nulls_equal=True)
    odd = one.frame.filter(is_faulty).with_columns(one.rows.filter(is_faulty).alias(ROW))
    groups: tuple[tuple[str, pl.DataFrame, Callable[[Mapping[str, Any]], str]], ...] = (
        ("faulty", odd, lambda row: " ".join(why.get(row[ROW], []))),
        ("changed", changed, lambda row: "; ".join(changes.get(key_text([row[name] for name in key]), []))),
        ("new", new, lambda row: ""),
        ("as before", before, lambda row: ""),
    )
    lines = [
        _line(one, row, mark, what(row))
        for mark, rows, what in groups
        for row in rows.head(ROWS_SHOWN).iter_rows(named=True)
    ]
    names = ["row", "mark", "what", *one.table.column_names]
    return pl.DataFrame(lines, schema=dict.fromkeys(names, pl.String), orient="row")


def _line(one: CheckedTable, row: Mapping[str, object], mark: str, what: str) -> list[str]:
    cells = [as_text(row[name]) for name in one.table.column_names]
    return [str(row[ROW]), mark, what, *("" if cell == BLANK else cell for cell in cells)]


def worded(faults: Sequence[Fault], chosen: Sequence[Chosen]) -> list[Fault]:
    """The faults in the words of the files that they are in, row by row."""
    matches: dict[str, list[Match]] = {}
    for one in chosen:
        matches.setdefault(one.text.label, []).extend([one.match] if one.match else [])
    order = list(dict.fromkeys(fault.file for fault in faults))
    by_row = sorted(faults, key=lambda fault: (order.index(fault.file), fault.row or 0))
    return [
        in_words_of_the_file(
            fault, next((match for match in matches.get(fault.file, []) if fault.column in match.columns), None)
        )
        for fault in by_row
    ]


def counts(looked: LookAtFiles, one: CheckedTable) -> str:
    """How many rows of a file are what: "12 new, 3 changed, 200 as before, 2 faulty"."""
    plan, key = looked.sound.tables[one.table.name], list(one.table.key)
    if not looked.is_told_apart:
        return f"{one.label}: too many faults to tell the other rows apart."
    sound = one.frame.filter(~one.rows.is_in(sorted(looked.faulty.get(one.label, ()))))
    new = sound.join(plan.new, on=key, how="semi", nulls_equal=True).height
    changed = sound.join(plan.changed, on=key, how="semi", nulls_equal=True).height
    rows = {
        "new": new,
        "changed": changed,
        "as before": sound.height - new - changed,
        "faulty": one.frame.height - sound.height,
    }
    words = ", ".join(f"{number(many, 0)} {mark}" for mark, many in rows.items())
    more = f" The first {ROWS_SHOWN} of each are shown." if max(rows.values()) > ROWS_SHOWN else ""
    return f"{one.label}: {words}.{more}"


def bring_in_button_words(looked: LookAtFiles) -> str:
    """What the one button will do."""
    plan = looked.plan
    if plan.fault_count or plan.is_empty:
        return "Nothing to bring in" if plan.is_empty else "Nothing can be brought in yet"
    return f"Add {count(plan.new_count, 'row')} and change {number(plan.changed_count, 0)}"


def forget_files() -> None:
    """Let go of the files and of what was found in them."""
    for name in (READ, KNOWN, LOOK, SHOWN):
        st.session_state.pop(name, None)


def rows_headline(looked: LookAtFiles) -> str:
    """How many rows are what, in one sentence."""
    faults = count(looked.plan.fault_count, "fault")
    if not looked.is_told_apart:
        return f"{faults} to put right first; the first {len(looked.plan.faults)} are named."
    sound = looked.sound
    words = (
        f"{count(sound.new_count, 'row')} {'is' if sound.new_count == 1 else 'are'} new, "
        f"{number(sound.changed_count, 0)} {'changes' if sound.changed_count == 1 else 'change'}, "
        f"{number(sound.unchanged_count, 0)} {'is' if sound.unchanged_count == 1 else 'are'} as before."
    )
    return f"{faults} to put right first. Of the other rows: {words}" if looked.plan.fault_count else words


# --- files to fill in


@st.cache_resource(max_entries=1, show_spinner=False)
def empty_templates() -> tuple[bytes, bytes]:
    """ZIP of the CSV files, and workbook."""
    files = template_files()
    return templates_zip(files), files[WORKBOOK]


@st.cache_resource(max_entries=4, show_spinner=False)
def _filled_templates(path: str, last_act: str, crop_year: int) -> tuple[bytes, bytes]:
    records = on_file.read_records(lambda connection: {name: read_table(connection, name) for name in TABLES})
    files = template_files(season_rows(records, crop_year=crop_year))
    return templates_zip(files), files[WORKBOOK]


def filled_templates(crop_year: int) -> tuple[bytes, bytes]:
    """The same with the farm's fields and the plots of a crop year."""
    return _filled_templates(*on_file.kept_under(), crop_year)

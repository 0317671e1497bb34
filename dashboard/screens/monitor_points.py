"""What does the monitor say? Points of a yield monitor cut to strips, cleaned, scaled, and kept as pairs."""

import streamlit as st

from analytics.answer.wording import sentence
from analytics.errors import BadInput
from analytics.files.column_matches import Match
from analytics.points import reading, words
from analytics.points.cleaning import STEPS
from analytics.points.neighbours import compared_wet, cut_alike, neighbours_as_pairs
from analytics.points.simulated import HOURS_FROM_UTC, POINTS_FILE, STRIPS_FILE
from analytics.points.strip_yields import FieldYields
from analytics.points.strips import STRIPS
from analytics.points.thresholds import ALL, AS_STARTED, checked_thresholds
from analytics.records.columns import ALLOCATIONS
from analytics.statistics.comparison import compare
from analytics.trade.numbers_as_text import capital, count, exact
from analytics.trade.typed_text import NotReadable, read_number
from dashboard.after_harvest import points_in_hand
from dashboard.after_harvest.column_choices import choose_columns
from dashboard.frame import headings, on_file, shown_picture, shown_words
from dashboard.frame.text_table import text_table
from dashboard.pictures import field_map

DONE, NUMBER = "points_done", "points_number"
TYPES = [suffix.removeprefix(".") for suffix in reading.SUFFIXES]
NOT_KNOWN = "not known"
BY_YIELD, BY_WHAT_WENT = "by method and yield", "by what was taken out"
EVERY_STEP = "all steps"
HOURS = "Hours from UTC"
CERTIFIED = "What a certified scale says the whole field brought, kg"
DELAY = "Seconds from the knife to the sensor (blank: found from the passes)"


def _example() -> None:
    with st.expander("An invented field to try"):
        files = points_in_hand.example()
        st.markdown(
            f"Its times are UTC, {abs(HOURS_FROM_UTC):.0f} hours ahead of the farm, and a certified scale says that "
            f"the field brought {files['certified']} kg."
        )
        for name in (POINTS_FILE, STRIPS_FILE):
            st.download_button(name, files[name], name, "text/csv", key=f"example-{name}", on_click="ignore")


def _number(label: str) -> float | None:
    """What was typed under a label as a number; null where it is blank. Raises BadInput."""
    text = typed_numbers[label].strip()
    try:
        return read_number(text) if text else None
    except NotReadable as problem:
        raise BadInput(f"{label}: {text} given; allowed a number. It is {problem}.") from problem


def _match() -> Match:
    head = reading.head(path)
    kept = {
        name: match for name, match in points_in_hand.kept_point_matches().items() if match.fits(head.cells.columns)
    }
    start = reading.guess(path)
    with st.expander("Which column is which?", expanded=bool(reading.lacking(start) and not kept)):
        name = st.selectbox(
            "As kept before", [*kept, None], format_func=lambda name: name or "No, as guessed", key=f"kept-{path}"
        )
        match = choose_columns(
            kept.get(name, start) if name else start, head, f"points-{path}-{name}", may_be_typed=False
        )
        if left := match.not_read(head.cells.columns):
            st.caption(shown_words.plain(f"Not read: {', '.join(left)}."))
        named = st.text_input("Keep this match for next year as", key=f"keep-{path}", max_chars=100).strip()
        if st.button("Keep this match", key="keep_match", disabled=not (named and on_file.may_write())):
            points_in_hand.keep_point_match(named, match, done_by=who)
            st.success(shown_words.plain(f"The match is kept as {named}."))
    return match


def _typed_thresholds() -> dict[str, str]:
    with st.expander("What the cleaning goes by (the same for both methods)"):
        typed = {}
        for one in ALL:
            typed[one.name] = st.text_input(
                f"{capital(one.meaning)}, {one.unit}",
                exact(AS_STARTED[one.name]),
                key=f"threshold-{one.name}",
                help=f"{one.name}: {exact(one.low)} to {exact(one.high)}; {one.source}",
            )
    return {name: text.strip() or exact(AS_STARTED[name]) for name, text in typed.items()}


def _map(found: FieldYields) -> None:
    shown = st.radio("The field from above", [BY_YIELD, BY_WHAT_WENT], key="map_shows", horizontal=True)
    if shown == BY_YIELD:
        picture, said = field_map.by_yield(found), field_map.yields_in_words(found)
        caption = (
            "S: standing, circles and full lines. W: windrowed, squares and broken lines. Larger marks yielded more."
        )
    else:
        picked = st.selectbox("Taken out as", [EVERY_STEP, *STEPS], key="map_step")
        step = None if picked == EVERY_STEP else picked
        picture, said = field_map.by_what_went(found, step), field_map.went_in_words(found, step)
        caption = "Crosses were taken out, dots are left. S: standing. W: windrowed."
    shown_picture.show_picture(picture, key=f"field_map-{shown}", alt=said, width="content")
    st.caption(f"{caption} North is up; metres, to scale.")


def _keep(found: FieldYields) -> None:
    given = st.selectbox("How was it settled which strip stood?", [NOT_KNOWN, *ALLOCATIONS], key="points_allocation")
    allocation = None if given == NOT_KNOWN else given
    with_hours = st.checkbox("Note the combine's hours as field work too", key="points_hours_too")
    planned = points_in_hand.planned(found, allocation, with_hours=with_hours)
    shown_words.bullets(planned.remarks)
    st.markdown(
        "Kept are a plot and one load for each strip, the pairs, a summary and a thinned picture. The points "
        "themselves are not. It is one act, and undone as one."
    )
    label = f"Keep {count(len(found.strips), 'strip')} and {count(len(planned.pairs), 'pair')}"
    if st.button(label, type="primary", key="keep_strips", disabled=not on_file.may_write()):
        act = points_in_hand.keep_strips_and_pairs(found, allocation, with_hours=with_hours, done_by=who)
        first = found.strips[0].strip
        st.session_state[DONE] = f"Kept for {first.field}, {first.crop_year}: {label.lower()[5:]}, as act {act}."
        st.session_state[NUMBER] += 1
        points_in_hand.forget_points()
        st.rerun()


def _passes() -> None:
    with passes.expander("Passes, to give them to strips by their numbers"):
        text_table(words.pass_rows(points_in_hand.listed_passes(points)))


def _on_record() -> None:
    """What is left of the points that were kept before."""
    kept = points_in_hand.fields_on_record()
    if not kept:
        return
    headings.of_part("Strips on record")
    year, field = st.selectbox("Field", kept, format_func=lambda one: f"{one[1]}, {one[0]}", key="monitor_on_record")
    here = points_in_hand.strips_on_record(year, field)
    strips = list(here.strips.select("plot", "method", "scale_factor").iter_rows())
    said = words.on_record_rows(here.strips)
    alt = "; ".join(" ".join(row[:3]) for row in said.iter_rows())
    shown_picture.show_picture(
        field_map.on_record_map(here.cells, strips), key="map_on_record", alt=alt, width="content"
    )
    text_table(said)


headings.of_screen("What does the monitor say?")
number = st.session_state.setdefault(NUMBER, 0)
with st.container():
    if done := st.session_state.pop(DONE, None):
        st.success(shown_words.plain(done))
with st.container(key="finding"):
    answer = st.empty()
    answer.markdown("No points are here yet: choose the file that the combine's monitor wrote.")
upload = st.file_uploader("File of points: CSV, GeoJSON or GeoParquet", type=TYPES, key=f"points-{number}")
_example()
who = st.text_input("Your name", on_file.state().done_by, key="who", max_chars=100).strip() or on_file.AT_THE_SCREEN
if upload is None:
    points_in_hand.forget_points()
    _on_record()
    st.stop()
path = points_in_hand.on_disk(upload)
match = _match()
if short := reading.lacking(match):
    answer.markdown(shown_words.plain(f"First say which column is which. Still needed: {short}."))
    st.stop()
is_utc = st.checkbox("The times are UTC, not local", key="points_utc")
typed_numbers = {HOURS: st.text_input(HOURS, "-6", key="points_hours", help="Of local time, for the day of harvest.")}
headings.of_part("Where are the strips?")
st.markdown(
    f"A row a strip: {', '.join(STRIPS.column_names[:5])}; then four corners (longitude latitude; ...), or start with "
    "heading_deg, length_m and width_m, or the numbers of its passes. A windrowed strip's cut_width_m is that of the "
    "windrower."
)
passes = st.container()
strips_upload = st.file_uploader("File of strips: CSV, workbook or GeoJSON", key=f"strips-{number}")
typed = st.text_area("Or type them, with the names of the columns on top", key=f"typed-strips-{number}")
typed_numbers[CERTIFIED] = st.text_input(
    CERTIFIED,
    key=f"certified-{number}",
    help="All the grain in this file; blank takes what is on record. Without it the yields stay unscaled and carry no "
    "answer.",
)
typed_numbers[DELAY] = st.text_input(DELAY, key=f"delay-{number}", help="Grain takes some seconds through the combine.")
typed_thresholds = _typed_thresholds()

# All boxes stand above: one that is not drawn in a run forgets what was typed in it, and a fault ends the run.
points = points_in_hand.points_of_file(path, match, is_utc=is_utc)
answer.markdown(shown_words.plain(f"{count(points.points.height, 'point')} read. Now say where the strips are."))
_passes()
wanted = points_in_hand.read_strip_rows(strips_upload, typed, points)
if not wanted:
    st.stop()
certified = _number(CERTIFIED)
found = points_in_hand.cut_points(
    points,
    wanted,
    checked_thresholds(typed_thresholds),
    delay_s=_number(DELAY),
    certified_kg=points_in_hand.certified_on_record(wanted[0]) if certified is None else certified,
    hours_from_utc=_number(HOURS) or 0.0,
)
pairs = neighbours_as_pairs(found.strips)
if pairs and all(one.is_scaled for one in found.strips):
    margin = on_file.state().settings.margins["yield"]
    answer.markdown(
        shown_words.plain(sentence(compare(**compared_wet(pairs, None), measure="yield", unit="bu/ac", margin=margin)))
    )
else:
    answer.markdown(
        shown_words.plain(words.scale_words(found) if pairs else "No two neighbouring strips were cut differently.")
    )
_map(found)
for said in (
    words.points_read_words(found),
    words.delay_words(found),
    words.scale_words(found),
    words.middle_words(found),
):
    st.markdown(shown_words.plain(said))
headings.of_part("Strips from left to right")
st.caption("Wet yield, dockage still in.")
text_table(words.strip_rows(found))
if pairs:
    headings.of_part("Neighbours that make a pair")
    text_table(words.neighbour_rows(pairs))
    st.markdown(shown_words.plain(words.alike_words(cut_alike(found.strips, pairs))))
    headings.of_part("The same over a range of delays, and uncleaned")
    text_table(words.difference_rows(found, pairs))
headings.of_part("Taken out, in this order")
text_table(words.removal_rows(found))
shown_words.bullets(words.points_cautions(found))
headings.of_part("Keep them")
_keep(found)

"""What governs every finding? Level, margins, moisture and the farm's name, and who changed them and why."""

import streamlit as st

from analytics.errors import StandrowError
from analytics.records.setting_values import BASES, COMMAS, GRADING, LEVELS, REQUIREMENTS
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import capital
from dashboard.frame import headings, on_file, rest_of_screen, setting_form, shown_words

headings.of_screen("What governs every finding?")
with st.container(key="finding"):
    st.markdown(shown_words.plain(f"In force: {shown_words.governs()}."))
st.markdown(
    "Everything here but the farm's name, its grade limits, its comma and its yield unit is fixed before looking at a "
    "result. Whoever changes it says why; the change is kept with its date and named on every sheet."
)
if done := st.session_state.pop("settings_done", None):
    st.success(shown_words.plain(done))

now = setting_form.settings_as_typed()
with st.form("settings", border=False):
    typed = {
        "farm_name": st.text_input("Farm name", now["farm_name"], key="farm_name"),
        "level": st.selectbox(
            "How often a range must be right",
            [setting_form.setting_as_typed(level) for level in LEVELS],
            index=[setting_form.setting_as_typed(level) for level in LEVELS].index(now["level"]),
            format_func=setting_form.level_label,
            key="level",
            help=HELP["level"],
        ),
        "one_moisture_pct": st.text_input(
            "Moisture at which yields are compared, %",
            now["one_moisture_pct"],
            key="one_moisture_pct",
            help=HELP["one moisture and as sold"],
        ),
        "grading": st.selectbox(
            "Whose grade limits",
            list(GRADING),
            index=list(GRADING).index(now["grading"]),
            format_func=GRADING.__getitem__,
            key="grading",
            help=f"{HELP['within the limits as counted']} {setting_form.limits_words()}",
        ),
        "comma": st.selectbox(
            "What the comma means in 22,910 on your papers",
            COMMAS,
            index=COMMAS.index(now["comma"]),
            format_func=setting_form.COMMA_WORDS.__getitem__,
            key="comma",
        ),
        "basis": st.selectbox(
            "Which pairs the answer rests on",
            BASES,
            index=BASES.index(now["basis"]),
            format_func=setting_form.BASIS_WORDS.__getitem__,
            key="basis",
            help=HELP["basis"],
        ),
        "main_measure": st.selectbox(
            "Main measure, judged by itself",
            list(MEASURES),
            index=list(MEASURES).index(now["main_measure"]),
            format_func=lambda name: MEASURES[name].label,
            key="main_measure",
            help=HELP["main measure"],
        ),
        "wind_kmh": st.text_input(
            "Wind that makes a year a bad one, km/h", now["wind_kmh"], key="wind_kmh", help=HELP["bad year"]
        ),
    }
    rest_of_screen.leave_the_rest_for_later(in_form=True)
    headings.of_part("What a pair must have to count")
    st.markdown(
        "Decide it before the season. From the crop year that you type, a pair that misses it is shown, with the "
        "reason, and is in no answer. Blank asks for nothing; *all* asks it of every year on record."
    )
    columns = st.columns(2)
    asked = {
        name: columns[number % 2].text_input(
            f"{capital(name)}, from crop year", now[name], key=f"asked-{name}", max_chars=10
        )
        for number, name in enumerate(REQUIREMENTS)
    }
    typed["requirements"] = setting_form.requirements_as_kept(asked)
    typed["requirement_not_known"] = columns[1].selectbox(
        "A pair of which it is not known",
        list(setting_form.NOT_KNOWN_WORDS),
        index=list(setting_form.NOT_KNOWN_WORDS).index(now["requirement_not_known"]),
        format_func=setting_form.NOT_KNOWN_WORDS.__getitem__,
        key="requirement_not_known",
    )
    headings.of_part("The smallest difference that matters", hint=HELP["margin"])
    columns = st.columns(2)
    for number, (name, measure) in enumerate(MEASURES.items()):
        typed[f"margin.{name}"] = columns[number % 2].text_input(
            f"{measure.label}, {shown_words.shown_unit(name)}",
            now[f"margin.{name}"],
            key=f"margin.{name}",
            help=f"{capital(measure.meaning)}. {HELP['points'] if measure.unit == 'points' else ''}".rstrip(),
        )
    why = st.text_input("Why (needed for all but name, grade limits and comma)", key="why", max_chars=2000)
    done_by = st.text_input("Your name", on_file.state().done_by, key="done_by", max_chars=100)
    pressed = st.form_submit_button("Keep these settings", key="keep_settings", type="primary")

if pressed:
    try:
        st.session_state["settings_done"] = setting_form.keep_typed_settings(typed, done_by=done_by, why=why)
    except StandrowError as problem:
        st.error(shown_words.plain(str(problem)))
    else:
        st.rerun()

headings.of_part("Changes so far")
shown_words.bullets(
    setting_form.setting_changes_in_words(),
    none="Nothing has been changed yet; these are the values it started with.",
)

"""What do the others' fields say? The answers of a growers' group, which farms agree, and where this farm stands."""

import polars as pl
import streamlit as st

from analytics.answer import marks, wording
from analytics.pool import group_words
from analytics.pool.share_form import ENDINGS
from analytics.trade.cautions import GROUPS_ARE_NOT_ADVICE
from analytics.trade.measures import MEASURES
from dashboard.at_the_table import group_sheets
from dashboard.frame import headings, shown_picture, shown_words
from dashboard.frame.text_table import text_table
from dashboard.pictures import farm_rows
from dashboard.winter import group_in_hand

QUESTIONS = ("these records", "these farms, years to come", "another farm, years to come")

headings.of_screen("What do the others' fields say?")
first_line = st.container(key="finding")
uploads = st.file_uploader(
    "Share files of the group", type=[ending[1:] for ending in ENDINGS], accept_multiple_files=True, key="group_files"
)
held = group_in_hand.read_uploaded_group(uploads)
if held is None:
    first_line.markdown(
        "Nothing yet: give the share files of the group here, all at once. It takes three farms or more. The files "
        "stay on this machine."
    )
    st.page_link("screens/sharing.py", label="What would the group see of this farm?")
    st.stop()
group, found = held
own = group_in_hand.read_own_code()
if st.session_state.get("group_measure") not in found:
    st.session_state["group_measure"] = next(iter(found))
name = st.selectbox("Measure", list(found), format_func=lambda name: MEASURES[name].label, key="group_measure")
one = found[name]
with first_line:
    st.markdown(shown_words.plain(group_words.group_sentence(one)))
    if said := group_words.own_farm(one, own):
        st.markdown(shown_words.plain(said))
st.caption(shown_words.plain(group_words.of_whom(group)))

headings.of_part("Which farms agree?")
told = [" ".join(group_words.farm_cells(one, farm)) for farm in one.answers.farms]
shown_picture.show_picture(
    farm_rows.farms(one, own), key="farms", alt=f"Farm, field-years, its own mean, drawn: {'; '.join(told)}"
)
st.caption(
    "Dot: the farm's own mean. Upright stroke: that drawn towards the group, the further the fewer its field-years."
)
st.markdown(shown_words.plain(group_words.agree(one)))
with st.expander("The same as a table", key="farm_table"):
    cells = [group_words.farm_cells(one, farm) for farm in one.answers.farms]
    columns = ["farm", "field-years", f"its own mean, {one.comparison.unit}", "drawn towards the group"]
    text_table(pl.DataFrame(cells, schema=columns, orient="row"))

headings.of_part("Every measure")
rows = []
for key, each in found.items():
    answers = (each.comparison.these_fields, each.answers.these_farms, each.answers.another_farm)
    told = [
        f"{wording.estimate_with_range(each.comparison, answer)}, {marks.finding_words(each.comparison, answer)}"
        for answer in answers
    ]
    rows.append({"measure": group_words.heading(key, each), **dict(zip(QUESTIONS, told, strict=True))})
text_table(pl.DataFrame(rows))

headings.of_part("What carries it?")
columns = ["pairs", "farms", "field-years", "these records", "another farm"]
carried = [group_words.carried_cells(one, row) for row in one.carries]
text_table(pl.DataFrame(carried, schema=columns, orient="row"))
shown_words.bullets(group_words.group_cautions(one))
with st.expander("Does it depend on something?", key="group_depends"):
    shown_words.bullets(group_words.depends_line(one, line) for line in one.depends_on)
    st.caption(group_words.ASKED)

headings.of_part("On paper")
whose = st.radio(
    "Whose sheet?",
    [None, *([own] if own in group.farms else [])],
    format_func=lambda code: "the group's" if code is None else "this farm's",
    key="whose_sheet",
    horizontal=True,
)
group_sheets.downloads(group, found, whose)
st.markdown(GROUPS_ARE_NOT_ADVICE)

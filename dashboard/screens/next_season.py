"""How should next year's fields be cut? For and against, pairs by likeness, methods by lot, and what it could show."""

import streamlit as st

from analytics.planning import plan_wording as words
from analytics.planning.drawing_lots import LARGEST_SEED, kept_pairs, layout, new_seed
from analytics.planning.field_rules import can_be_split
from analytics.planning.pairing import MOST_STRIP_PAIRS, PlannedPair
from analytics.planning.season_plan import SeasonPlan, Start, fields_at_first, plan_season, said_of
from analytics.trade import cautions
from analytics.trade.glossary import HELP
from dashboard.frame import folded, headings, rest_of_screen, shown_picture, shown_words
from dashboard.frame.text_folds import text_folds
from dashboard.pictures import money_charts
from dashboard.winter import money_reads

NO_STRIPS = "two halves"


def _fields_wanted(start: Start, crop_year: int) -> list[str]:
    return st.multiselect(
        f"Canola fields in {crop_year}",
        start.free,
        default=fields_at_first(start),
        key=f"fields {crop_year}",
        placeholder="Choose fields",
        help="At first those sown to canola on record, else those without canola the year before; none once the "
        "draw is done.",
    )


def _strips(start: Start, wanted: list[str]) -> dict[str, int]:
    chosen: dict[str, int] = {}
    part = folded.unfolded("Strips instead of halves", key="strips")
    if part is None:
        return chosen
    with part:
        for facts in start.fields:
            if facts.field in wanted and can_be_split(facts, start.rules["partner"].threshold):
                ways = [NO_STRIPS, *(f"{number} pairs of strips" for number in range(2, MOST_STRIP_PAIRS + 1))]
                way = st.selectbox(shown_words.plain(f"{facts.field}: split into"), ways, key=f"strips {facts.field}")
                if way != NO_STRIPS:
                    chosen[facts.field] = int(way.split()[0])
    return chosen


def _for_and_against(start: Start, the_plan: SeasonPlan) -> None:
    headings.of_part("What speaks for and against, field by field?")
    text_folds(
        (f"{field}: {words.counted_sides(said)}", words.points_by_side(said))
        for field, said in said_of(start, the_plan).items()
    )
    if part := folded.unfolded("The rules behind it", key="rules"):
        with part:
            for rule in start.rules.values():
                with st.form(f"rule {rule.rule}", border=False):
                    st.markdown(shown_words.plain(f"{rule.label}: {rule.meaning}."))
                    is_used = st.checkbox("It counts", rule.is_used, key=f"used {rule.rule}")
                    threshold = rule.threshold
                    if rule.threshold is not None:
                        threshold = money_reads.number_box(
                            f"From, {rule.unit}", f"{rule.threshold:g}", key=f"threshold {rule.rule}"
                        )
                    source = st.text_input("Source", rule.source, key=f"rule source {rule.rule}", max_chars=2000)
                    if st.form_submit_button("Keep this rule", key=f"keep rule {rule.rule}"):
                        money_reads.change_rule(rule, is_used=is_used, threshold=threshold, source=source)


def _draw(pairs: list[PlannedPair], crop_year: int) -> None:
    headings.of_part("Which side stands?", hint=HELP["drawn by lot"])
    pieces = layout(pairs)
    if pieces:
        shown_picture.show_picture(
            money_charts.strips_chart(pieces), key="planned_strips", alt="Halves and strips before the draw."
        )
    shown_words.bullets(words.pair_words(pair) for pair in pairs)
    if to_type := words.distances_to_type(pairs):
        st.caption(shown_words.plain(to_type))
        st.page_link("screens/enter_records.py", label="Type distances", query_params={"paper": "field_distances"})
    with st.form("draw", border=False):
        typed = st.text_input(
            "Draw number (leave blank for a random one)",
            key="seed",
            help=f"Any whole number up to {LARGEST_SEED}, rolled with dice if you like; it repeats the draw.",
        )
        pressed = st.form_submit_button(
            f"Draw now and keep as plots and pairs of {crop_year}", key="draw", type="primary"
        )
    if pressed:
        seed = new_seed() if not typed.strip() else money_reads.typed_whole_number("Draw number", typed)
        if seed is not None:
            money_reads.draw_plan(pairs, crop_year=crop_year, seed=seed)


def _drawn(start: Start, crop_year: int) -> None:
    headings.of_part(f"How the draw came out for {crop_year}", hint=HELP["drawn by lot"])
    shown_words.bullets(words.draw_words(start.draws))
    drawn = kept_pairs(start.draws)
    pieces = layout([one.planned for one in drawn], drawn)
    if pieces:
        shown_picture.show_picture(
            money_charts.strips_chart(pieces),
            key="drawn_strips",
            alt=" ".join(words.drawn_words(start.draws)),
        )
        st.caption("S, blue: leave standing. W, vermilion: windrow. Strips lie in their order, not to scale.")
    shown_words.bullets(words.drawn_words(start.draws))
    with st.expander("A pair cannot be cut as drawn", key="broken"), st.form("broken", border=False):
        pair = st.selectbox("Pair", start.draws["pair"].to_list(), key="broken_pair")
        reason = st.text_input("What forces it", key="broken_reason", max_chars=2000)
        if st.form_submit_button("Note it", key="note_broken"):
            money_reads.note_broken_draw(crop_year, pair, reason)


headings.of_screen("How should next year's fields be cut?")
money_reads.say_done()
heading = st.container(key="finding")
crop_year = money_reads.whole_number_box("Crop year", str(money_reads.read_year_to_plan()), key="crop_year")
if crop_year is None or not 1980 <= crop_year <= 2100:
    st.error("Crop year: allowed 1980 to 2100.")
    st.stop()
start = money_reads.read_next_season(crop_year)
if not start.fields:
    heading.markdown("**There is no field on record yet. Type the fields that could grow canola.**")
    st.page_link("screens/enter_records.py", label="Type the fields", query_params={"paper": "fields"})
    st.stop()
wanted = _fields_wanted(start, crop_year)
the_plan = plan_season(start, wanted, _strips(start, wanted))
pairs, power = the_plan.pairs, the_plan.power
if start.draws.is_empty() or pairs:
    heading.markdown(f"**{shown_words.plain(words.plan_headline(pairs, the_plan.alone, power, crop_year=crop_year))}**")
else:
    heading.markdown(f"**{shown_words.plain(words.drawn_headline(start.draws, crop_year=crop_year))}**")
shown_words.bullets((cautions.LEFT_STANDING, cautions.LABEL, cautions.NOT_ADVICE))
if not start.draws.is_empty():
    _drawn(start, crop_year)
if wanted:  # before the lot, which is drawn once
    _for_and_against(start, the_plan)
rest_of_screen.leave_the_rest_for_later()
if pairs:
    _draw(pairs, crop_year)
if power is not None:
    headings.of_part("What could this plan show?", hint=HELP["what could have been seen"])
    shown_words.bullets(words.how_long(power))

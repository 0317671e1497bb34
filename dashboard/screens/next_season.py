"""How should next year's fields be cut? For and against, pairs by likeness, methods by lot, and what it could show."""

import streamlit as st

from analytics import planning_wording as words
from analytics.drawing_lots import LARGEST_SEED, kept_pairs, layout, new_seed
from analytics.field_rules import points
from analytics.help_texts import HELP
from analytics.money_wording import NOT_ADVICE
from analytics.planning import PlannedPair, plan_power, propose_pairs, strip_pairs
from dashboard import money_charts, money_reads, shared

SIDES = {"for": "For standing", "against": "Against", "unknown": "Not known"}
NO_STRIPS = "two halves"


def _fields_wanted(start: money_reads.NextSeason, crop_year: int) -> list[str]:
    free = [one.field for one in start.fields if one.field not in start.taken]
    canola = [one.field for one in start.fields if (one.crop or "").lower() == "canola" and one.field in free]
    rested = [one.field for one in start.fields if one.field in free and (one.last_crop or "").lower() != "canola"]
    return st.multiselect(
        f"Canola fields in {crop_year}",
        free,
        default=canola or rested or free if start.draws.is_empty() else [],
        key=f"fields {crop_year}",
        placeholder="Choose fields",
        help="At first those sown to canola on record, else those without canola the year before; none once a lot "
        "has fallen.",
    )


def _pairs(start: money_reads.NextSeason, wanted: list[str]) -> tuple[list[PlannedPair], list[str]]:
    facts = [one for one in start.fields if one.field in wanted]
    proposed, alone = propose_pairs(facts, start.rules, names_taken=start.pair_names)
    pairs, folded = [], st.expander("Strips instead of halves", key="strips")
    for pair in proposed:
        strips = NO_STRIPS
        if pair.layout == "split field":
            strips = folded.selectbox(
                f"{pair.first.field}: split into",
                [NO_STRIPS, *(f"{number} pairs of strips" for number in range(2, 11))],
                key=f"strips {pair.first.field}",
            )
        pairs += [pair] if strips == NO_STRIPS else strip_pairs(pair.first.field, int(strips.split()[0]))
    return pairs, alone


def _for_and_against(start: money_reads.NextSeason, wanted: list[str], crop_year: int) -> None:
    st.subheader("What speaks for and against, field by field?")
    planned = [facts for facts in start.fields if facts.field in wanted]
    for facts in planned:
        said = points(facts, start.rules, start.season, crop_year=crop_year, planned=planned)
        counted = ", ".join(
            f"{sum(point.side == side for point in said)} {name.lower()}" for side, name in SIDES.items()
        )
        with st.expander(shared.plain(f"{facts.field}: {counted}"), key=f"points {facts.field}"):
            for side, name in SIDES.items():
                lines = [words.point_words(point) for point in said if point.side == side]
                if lines:
                    st.markdown(f"**{name}**")
                    shared.bullets(lines)
    with st.expander("The rules behind it", key="rules"):
        for rule in start.rules.values():
            with st.form(f"rule {rule.rule}", border=False):
                st.markdown(shared.plain(f"{rule.label}: {rule.meaning}."))
                is_used = st.checkbox("It counts", rule.is_used, key=f"used {rule.rule}")
                threshold = rule.threshold
                if rule.threshold is not None:
                    threshold = money_reads.number(
                        f"From, {rule.unit}", f"{rule.threshold:g}", key=f"threshold {rule.rule}"
                    )
                source = st.text_input("Source", rule.source, key=f"rule source {rule.rule}", max_chars=2000)
                if st.form_submit_button("Keep this rule", key=f"keep rule {rule.rule}"):
                    money_reads.keep_rule(rule, is_used=is_used, threshold=threshold, source=source)


def _draw(pairs: list[PlannedPair], crop_year: int) -> None:
    st.subheader("Which side stands?", help=HELP["drawn by lot"])
    pieces = layout(pairs)
    if pieces:
        st.altair_chart(
            money_charts.strips(pieces), theme=None, key="planned_strips", alt="Halves and strips before the lot."
        )
    shared.bullets(words.pair_words(pair) for pair in pairs)
    if to_type := words.distances_to_type(pairs):
        st.caption(shared.plain(to_type))
    with st.form("draw", border=False):
        typed = st.text_input(
            "Seed (blank: one that nobody chose)",
            key="seed",
            help=f"Any whole number up to {LARGEST_SEED}, rolled with dice if you like; it repeats the draw.",
        )
        pressed = st.form_submit_button(
            f"Draw now and keep as plots and pairs of {crop_year}", key="draw", type="primary"
        )
    if pressed:
        seed = new_seed() if not typed.strip() else money_reads.typed_whole_number("Seed", typed)
        if seed is not None:
            money_reads.keep_plan(pairs, crop_year=crop_year, seed=seed)


def _drawn(start: money_reads.NextSeason, crop_year: int) -> None:
    st.subheader(f"How the lot fell for {crop_year}", help=HELP["drawn by lot"])
    shared.bullets(words.draw_words(start.draws))
    drawn = kept_pairs(start.draws)
    pieces = layout([one.planned for one in drawn], drawn)
    if pieces:
        st.altair_chart(
            money_charts.strips(pieces),
            theme=None,
            key="drawn_strips",
            alt=" ".join(words.drawn_pair_words(row) for row in start.draws.iter_rows(named=True)),
        )
        st.caption("S, blue: leave standing. W, vermilion: windrow. Strips lie in their order, not to scale.")
    shared.bullets(words.drawn_pair_words(row) for row in start.draws.iter_rows(named=True))
    with st.expander("A pair cannot be cut as drawn", key="broken"), st.form("broken", border=False):
        pair = st.selectbox("Pair", start.draws["pair"].to_list(), key="broken_pair")
        reason = st.text_input("What forces it", key="broken_reason", max_chars=2000)
        if st.form_submit_button("Note it", key="note_broken"):
            money_reads.break_draw(crop_year, pair, reason)


st.title("How should next year's fields be cut?")
money_reads.say_done()
heading = st.container(key="finding")
crop_year = money_reads.whole_number("Crop year", str(money_reads.year_to_plan()), key="crop_year")
if crop_year is None or not 1980 <= crop_year <= 2100:
    st.error("Crop year: allowed 1980 to 2100.")
    st.stop()
start = money_reads.next_season(crop_year)
if not start.fields:
    heading.markdown("**There is no field on record yet; enter the fields first.**")
    st.stop()
wanted = _fields_wanted(start, crop_year)
pairs, alone = _pairs(start, wanted)
field_years = len({(pair.first.field, pair.second.field) for pair in pairs})
power = plan_power(start.yields, field_years=field_years) if field_years else None
if start.draws.is_empty() or pairs:
    heading.markdown(f"**{shared.plain(words.headline(pairs, alone, power, crop_year=crop_year))}**")
else:
    heading.markdown(f"**{shared.plain(words.drawn_headline(start.draws, crop_year=crop_year))}**")
st.caption(f"{NOT_ADVICE} A licensed agronomist or applicator decides on products; this program only keeps records.")
if not start.draws.is_empty():
    _drawn(start, crop_year)
if pairs:
    _draw(pairs, crop_year)
if power is not None:
    st.subheader("What could this plan show?", help=HELP["what could have been seen"])
    shared.bullets(words.how_long(power, shared.state().settings.margins["yield"]))
    st.caption(shared.plain(f"The difference in yield that matters is {shared.state().settings.yield_margin_words}."))
if wanted:
    _for_and_against(start, wanted, crop_year)

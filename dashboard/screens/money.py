"""Does it pay? What standing left more or less, why, at which price, and whether buying the parts comes back."""

from functools import partial

import polars as pl
import streamlit as st

from analytics.answer import buying_wording
from analytics.answer import money_wording as words
from analytics.answer.machine_wording import PUBLISHED_PACE, combine_line, windrower_free_words
from analytics.answer.money_review import MoneyReview, grade_steps, outlook, swings
from analytics.money.buying import Purchase, TriedPurchase, buy
from analytics.money.combine_capacity import HOURS_A_DAY
from analytics.money.costs import LatestPrice, price_doubt
from analytics.money.windrower import WindrowerWork, long_day_question, windrower_fit
from analytics.statistics.results import Comparison, Finding
from analytics.trade import cautions
from analytics.trade.budget import partial_budget
from analytics.trade.glossary import HELP
from analytics.trade.numbers_as_text import capital, count
from dashboard.frame import folded, headings, links, on_file, rest_of_screen, shown_picture, shown_words
from dashboard.pictures import money_charts
from dashboard.winter import money_reads

MOST_LACKING = 5  # pairs whose missing papers are named here; the others are on the screen for them
EXAMPLES = "The figures in the boxes are examples without a source until you type your own."
STARTS_FROM = (
    "What others published about yield, moved by your own years; on the screen of yield it stands beside your answer. "
    "Nothing else on this screen uses it."
)
STAYS, IS_SOLD = "It stays for other crops", "It is sold or not replaced"


def _difference(found: MoneyReview, net_ac: float) -> None:
    comparison = found.net_return
    headings.of_part("Where does the difference come from?", hint=HELP["partial budget"])
    shown_picture.show_kept_picture(
        lambda: money_charts.budget_lines(found.changes, net_ac=net_ac),
        key="budget_lines",
        alt=f"What standing gains or loses, line by line. {words.money_headline(found)}",
    )
    st.caption(shown_words.plain(f"{words.where_costs_come_from(found)} {words.not_counted(found)}"))
    for question in found.questions:
        st.warning(shown_words.plain(question))
    acres = money_reads.number_box("Acres a year to cut standing", "500", key="acres")
    if acres is None:
        return
    budget = money_reads.said_if_refused(lambda: partial_budget(found.changes, acres=acres))
    if budget is None:
        return
    st.markdown(shown_words.plain(words.for_acres(comparison, acres)))
    st.markdown(shown_words.plain(words.worst_year_words(comparison, acres)))
    one = partial_budget(found.changes)
    for column, (name, lines), (_, all_acres) in zip(
        (*st.columns(2, border=True), *st.columns(2, border=True)),
        words.budget_parts(one),
        words.budget_parts(budget),
        strict=True,
    ):
        column.markdown(f"**{name}**")
        shown = [
            f"{line}: {words.dollars(size, decimals=2)} an acre, {words.dollars(whole)} in all"
            for (line, size), (_, whole) in zip(lines, all_acres, strict=True)
        ]
        column.markdown(shown_words.plain("\n\n".join(shown)) or "nothing")


def _break_even(found: MoneyReview, newest: LatestPrice) -> None:
    headings.of_part("At which price and yield does it break even?")
    price = money_reads.number_box(
        "Price, $ a tonne", f"{newest.dollars_per_tonne:g}", key="price", help="The newest on record at first."
    )
    if price is None:
        return
    doubt = money_reads.said_if_refused(lambda: (price_doubt(price),))
    if doubt is None:
        return
    if doubt[0]:
        st.warning(shown_words.plain(doubt[0]))
    at, unit = outlook(found, price), on_file.state().settings.yield_unit
    lines = (
        words.break_even_yield_words(at, unit),
        words.break_even_price_words(at.break_even_price),
        words.is_it_decided(at, unit),
        words.why_they_differ(found, at),
        words.rests_on_words(found),
    )
    st.markdown(shown_words.plain(" ".join(line for line in lines if line)))
    if st.checkbox("Start from the published trials too", key="from_published", help=STARTS_FROM):
        st.markdown(shown_words.plain(words.pays_from_published(found, at, unit)))
    prices = [price, *found.prices.filter(pl.col("grade") == newest.grade)["dollars_per_tonne"]]
    shown_picture.show_kept_picture(
        lambda: money_charts.heat(at, prices=prices, unit=unit),
        price,
        key="heat",
        alt=f"Net difference over price and yield difference. {' '.join(lines)}",
    )
    st.caption(
        "Blue: standing leaves more; vermilion: less; dashed: break-even. The circle is this farm's yield difference "
        "at your price, the thick bar its range on these fields, the thin bar that for years to come. Costs and grades "
        "are those of the pairs on record; freight and drying go with every bushel where a rate says so."
    )
    st.caption(
        shown_words.plain(
            f"Difference in yield that matters: {words.yield_words(on_file.state().settings.margins['yield'], unit)}, "
            "fixed before looking; the break-even does not move it."
        ),
        help=HELP["margin"],
    )
    headings.of_part("What matters most?")
    moved = swings(found, at)
    shown_picture.show_kept_picture(
        lambda: money_charts.what_matters(moved, unit=unit),
        price,
        key="swings",
        alt="; ".join(
            f"{swing.assumption.label}, {words.range_words(swing.assumption, unit)}: net difference "
            f"{words.dollars(swing.at_low)} to {words.dollars(swing.at_high)} an acre"
            for swing in moved
        ),
    )
    st.caption("Each bar is the net difference when that one number alone goes from its low to its high.")
    headings.of_part("What is one grade step worth?")
    shown_words.bullets(
        (words.grade_step_words(name, step, unit) for name, step in grade_steps(found)),
        none="There are no prices for two grades in the newest year.",
    )


def _buying(net_return: Comparison) -> None:
    headings.of_part("Do the header parts pay for themselves?", hint=HELP["present value"])
    st.caption(EXAMPLES)
    left, right = st.columns(2)
    with left:
        outlay = money_reads.number_box("Outlay, $", "30000", key="outlay")
        life = money_reads.whole_number_box("Life, years", "10", key="life")
        salvage = money_reads.number_box("Salvage at its end, $", "5000", key="salvage")
    with right:
        interest = money_reads.number_box("Interest, % a year", "7", key="interest")
        acres = money_reads.number_box("Acres a year on it", "500", key="bought_acres")
        known = net_return.these_fields
        is_judged = known.estimate is not None and known.finding is not Finding.TOO_FEW
        gain = money_reads.number_box(
            "Gain, $ an acre",
            f"{known.estimate:.2f}" if is_judged else "",
            key="gain",
            help="Net return of standing less windrowed on these fields at first, where there are enough to judge by.",
            blank="What an acre gains is not known from these records yet. Type a gain to try one.",
        )
    money_reads.keep_typed("windrower_stays", STAYS)
    stays = st.radio("What becomes of the windrower?", [STAYS, IS_SOLD], key="windrower_stays")
    money_reads.note_typed("windrower_stays", STAYS)
    saved: float | None = 0.0
    if stays == STAYS:
        st.caption("Kept for other crops it saves only its running cost, and the gain an acre holds that already.")
    else:
        money_reads.keep_typed("windrower_sold", False)
        sure = st.checkbox("No other crop needs it any more", key="windrower_sold")
        money_reads.note_typed("windrower_sold", False)
        saved = money_reads.number_box("What it no longer costs to own, $ a year", "0", key="saved")
        if not sure:
            st.warning("Not credited until you confirm that no other crop needs the windrower.")
            saved = 0.0
    if outlay is None or life is None or salvage is None or interest is None or acres is None:
        return
    if gain is None or saved is None:
        return
    purchase = money_reads.said_if_refused(
        lambda: Purchase(outlay=outlay, life_years=life, salvage=salvage, interest_pct=interest, acres_a_year=acres)
    )
    if purchase is not None:
        money_reads.keep_for_the_sheet(TriedPurchase(purchase=purchase, gain_ac=gain, saved_a_year=saved))
        result = buy(purchase, gain_ac=gain, saved_a_year=saved)
        with st.container(key="buying_answer"):
            said = shown_words.plain(buying_wording.purchase_words(purchase, result, gain_ac=gain))
            if buying_wording.is_gain_settled(net_return):
                st.markdown(f"**{said}**")
            else:
                st.markdown(shown_words.plain(buying_wording.not_settled_words(net_return)))
                st.markdown(said)
            shown_words.bullets(buying_wording.purchase_ends_words(purchase, result, net_return, saved_a_year=saved))
            st.markdown(cautions.NOT_ADVICE)


def _windrower() -> None:
    headings.of_part("Will the windrower get done in time?")
    st.caption(EXAMPLES)
    left, right = st.columns(2)
    with left:
        canola = money_reads.number_box("Canola acres left to windrow", "900", key="canola_acres")
        typed = money_reads.lines_box(
            "Other crops that need the windrower, each with its acres",
            "oats 200\nwheat 100",
            key="other_crops",
            help="One crop a line: its name and its acres. Leave it blank when there is none.",
        )
        others = money_reads.other_crops(typed)
    with right:
        pace = money_reads.number_box("Acres an hour", "15", key="acres_per_hour")
        hours = money_reads.number_box("Hours a day", "8", key="hours_a_day")
        window = money_reads.whole_number_box("Days of the window", "10", key="window_days")
        lost = money_reads.number_box("Days lost to rain, %", "30", key="lost_day_pct")
    if canola is None or others is None or pace is None or hours is None or window is None or lost is None:
        return
    work = money_reads.said_if_refused(
        lambda: WindrowerWork(
            canola_acres=canola,
            other_crops=others,
            acres_per_hour=pace,
            hours_a_day=hours,
            window_days=window,
            lost_day_pct=lost,
        )
    )
    if work is not None:
        if question := long_day_question(hours):
            st.warning(question)
        with st.container(key="windrower_answer"):
            st.markdown(f"**{shown_words.plain(buying_wording.windrower_words(work, windrower_fit(work)))}**")
            st.markdown(shown_words.plain(cautions.LONG_DAYS))
        st.caption(
            "Days are taken to be lost one by one. Wet weather comes in spells, so the chance may be lower than this."
        )


def _combine() -> None:
    found = money_reads.machines()
    headings.of_part("How many acres can one combine take?")
    if not found.paces:
        st.markdown("No hours of combining are on record yet. They are typed with the field work.")
        st.page_link("screens/enter_records.py", label="Type the field work", query_params={"paper": "operations"})
        return
    hours = money_reads.number_box("Hours of combining a day", f"{HOURS_A_DAY:g}", key="combining_hours")
    lines = []
    for pace in found.paces:
        days = money_reads.number_box(
            f"Suitable days, {pace.method}",
            f"{pace.first_days:.0f}",
            key=f"combining_days_{pace.method}",
            help="Begins with the days from first to last combining on record, without those with rain or snow.",
        )
        if hours is not None and days is not None:
            lines.append(money_reads.said_if_refused(partial(combine_line, pace, hours_a_day=hours, days=days)))
    if hours is not None and (question := long_day_question(hours)):
        st.warning(question)
    with st.container(key="combine_answer"):
        shown_words.bullets([*filter(None, lines), *filter(None, [windrower_free_words(found)])])
        st.markdown(shown_words.plain(f"{cautions.LONG_DAYS} {cautions.LEFT_STANDING}"))
    st.caption(shown_words.plain(PUBLISHED_PACE))


def _rates(found: MoneyReview) -> None:
    headings.of_part("Which costs fill in where no paper says?")
    for rate in found.rates.values():
        if part := folded.unfolded(
            shown_words.plain(f"{capital(rate.item)}: {words.rate_words(rate.middle, rate.unit)} ({rate.mark})"),
            key=f"rate {rate.item}",
        ):
            with part:
                low, high = (words.rate_words(end, rate.unit) for end in (rate.low, rate.high))
                st.markdown(shown_words.plain(f"Range {low} to {high}. Source: {rate.source}."))
                with st.form(f"rate form {rate.item}", border=False):
                    typed = {
                        "middle": st.text_input(f"Your rate, {rate.unit}", key=f"middle {rate.item}"),
                        "low": st.text_input("Lowest likely (may stay blank)", key=f"low {rate.item}"),
                        "high": st.text_input("Highest likely (may stay blank)", key=f"high {rate.item}"),
                        "year": st.text_input("Year", key=f"year {rate.item}"),
                        "source": st.text_input("Where it comes from", key=f"source {rate.item}", max_chars=2000),
                    }
                    pressed = st.form_submit_button("Keep this rate", key=f"keep {rate.item}")
                if pressed:
                    money_reads.keep_rate(rate.item, typed)
                if rate.is_own and st.button("Back to the default", key=f"drop {rate.item}"):
                    money_reads.drop_rate(rate.item)
    st.caption("A cost on record always counts before a rate. All amounts are in the dollars of the records.")


headings.of_screen("Does it pay?")
money_reads.say_done()
found = money_reads.read_money()
with st.container(key="finding"):
    st.markdown(f"**{shown_words.plain(words.money_headline(found))}**")
    shown_words.bullets(words.how_sure(found))
st.markdown(cautions.NOT_ADVICE)
net_ac, newest = found.net_return.these_fields.estimate, found.price
if found.changes and net_ac is not None and newest is not None:
    _difference(found, net_ac)
    rest_of_screen.leave_the_rest_for_later()
    _break_even(found, newest)
else:
    st.markdown("This is what is missing for a net return:")
    lacking = on_file.left_out_pairs("net_return").sort("crop_year", descending=True, maintain_order=True)
    shown_words.bullets(
        [
            *(f"Pair {pair}, {year}, {field}: {why}." for year, pair, field, why in lacking.head(MOST_LACKING).rows()),
            *(caution.text for caution in found.net_return.cautions if caution.code == "planned"),
        ],
        none="There is no pair on record yet.",
    )
    if lacking.height > MOST_LACKING:
        st.markdown(f"And {count(lacking.height - MOST_LACKING, 'pair')} more.")
        links.gaps_link()
_buying(found.net_return)
_windrower()
_combine()
_rates(found)

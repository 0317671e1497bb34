"""The parts of the sheet: each a heading with lines, bullets, a table or a picture."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

from analytics.answer import depends_words, wording
from analytics.answer.difference_words import base_decimals, measure_words, words_for
from analytics.answer.money_review import MoneyReview, grade_steps, outlook
from analytics.answer.money_wording import (
    break_even_price_words,
    break_even_yield_words,
    dollars,
    is_it_decided,
    no_break_even,
    not_counted,
    rate_words,
    where_costs_come_from,
    why_they_differ,
    worst_year_words,
)
from analytics.answer.next_steps import next_steps
from analytics.answer.review import asked_in_unit, depends_on_of
from analytics.money.buying import TriedPurchase
from analytics.money.chances import worst_year
from analytics.pairs.compared_pairs import pair_facts
from analytics.settings import Settings, setting_changes
from analytics.sheet import numbers, printed_tables
from analytics.sheet.parts import Picture, Section
from analytics.sheet.picture import by_year_svg, by_year_words
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Comparison
from analytics.storage.database import read_table
from analytics.trade import cautions
from analytics.trade.measures import IF_NOTED, MEASURES
from analytics.trade.numbers_as_text import amount, count
from analytics.trade.units import BUSHELS_PER_TONNE

ACRES = 100  # what a year's result is told for, beside the acre
MOST_MISSING = 3  # pairs whose missing paper is named


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetGround:
    """What every part of the sheet is written from.

    rows : the view pair_measures, read once
    found : all measures, in the yield unit of the settings
    """

    connection: duckdb.DuckDBPyConnection
    made_on: date
    settings: Settings
    rows: pl.DataFrame
    found: Mapping[str, Comparison]
    money: MoneyReview
    tried: TriedPurchase | None

    @property
    def net(self) -> Comparison:
        """Net return."""
        return self.found["net_return"]

    @property
    def grain(self) -> Comparison:
        """Yield at one moisture."""
        return self.found["yield"]


def by_year(main: Comparison) -> tuple[Section, ...]:
    """The main measure year by year, as a picture."""
    if not main.by_year:
        return ()
    label = MEASURES[main.measure].label
    caption = (
        "Thick bar: these fields; thin bar: years to come. Blue circle: standing did better; vermilion square: "
        "windrowed did; hollow and grey: not settled. Grey dots: field-years; upright stroke: mean of a year. Grey "
        "band: too small to matter. The word on: the range goes on."
    )
    picture = Picture(svg=by_year_svg(main), alt=by_year_words(main), caption=caption)
    return (Section(heading=f"{label} by crop year, {main.unit}", picture=picture),)


def carried(main: Comparison) -> tuple[Section, ...]:
    """What carries the answer, a row a kind of pair."""
    if not main.all_pairs.pairs:
        return ()
    return (Section(heading=f"What carries it, {main.unit}", table=printed_tables.printed_carried(main)),)


def every_measure(known: Mapping[str, Comparison]) -> tuple[Section, ...]:
    """All measures that are known, but for machines and volunteers."""
    if not known:
        return ()
    crop = {name: comparison for name, comparison in known.items() if name not in IF_NOTED}
    table = printed_tables.measures(crop)
    return (Section(heading="Every measure, standing less windrowed", table=table),)


def what_differs(ground: SheetGround) -> tuple[Section, ...]:
    """What makes the difference in net return, line by line."""
    lines = ground.money.changes
    if not lines:
        return ()
    return (Section(heading="What makes the difference, $/ac", table=printed_tables.budget(lines)),)


def break_even(ground: SheetGround) -> Section:
    """At the newest price on record, grades counted; and what a step of grade costs."""
    found = ground.money
    if found.price is None or found.difference is None:
        return Section(heading="Break-even", lines=(no_break_even(found),))
    per_tonne = found.price.dollars_per_tonne
    at = outlook(found, per_tonne)
    lines = [
        f"Newest price on record: {dollars(per_tonne)} a tonne, or "
        f"{dollars(per_tonne / BUSHELS_PER_TONNE, decimals=2)} a bushel, in {found.price.crop_year}.",
        break_even_yield_words(at, ground.settings.yield_unit),
        break_even_price_words(at.break_even_price),
        is_it_decided(at, ground.settings.yield_unit),
        why_they_differ(found, at),
    ]
    steps = [f"from {step} {amount(size.dollars_ac, '$/ac', 0)}" for step, size in grade_steps(found)]
    if steps:
        lines.append(f"Falling a grade costs, at this farm's yield: {', '.join(steps)}.")
    return Section(heading="Break-even", lines=tuple(line for line in lines if line))


def worst_year_here(main: Comparison) -> tuple[Section, ...]:
    """The worst year for standing on record; from two years on."""
    worst = worst_year(main.by_year)
    if worst is None or main.years < 2:
        return ()
    if main.measure == "net_return":
        return (Section(heading="Worst year", lines=(worst_year_words(main, ACRES),)),)
    did = words_for(main, main.these_fields).clause(worst.estimate)
    field_years = count(worst.field_years, "field-year")
    line = f"In {worst.crop_year}, the worst of {count(main.years, 'year')} for standing, {did} ({field_years})."
    return (Section(heading="Worst year", lines=(line,)),)


def what_is_assumed(ground: SheetGround, main: Comparison) -> Section:
    """Level, margin, moisture, prices, settings that the farm changed, and costs."""
    moisture = amount(ground.settings.one_moisture_pct, "%", 1)
    bullets = [
        wording.level_and_margin(main),
        f"Yields are compared at {moisture} moisture; money goes by the weight as sold.",
    ]
    prices = ground.money.prices
    if prices.height:
        years = sorted(set(prices["crop_year"].to_list()))
        span = " to ".join(str(year) for year in dict.fromkeys((years[0], years[-1])))
        bullets.append(f"Canola is priced by its grade, with the prices on record for {span}.")
    bullets.extend(f"Changed by the farm: {change.words}." for change in setting_changes(ground.connection))
    bullets.extend((where_costs_come_from(ground.money), not_counted(ground.money)))
    bullets.extend(ground.money.questions)
    return Section(heading="What is assumed", bullets=tuple(bullet for bullet in bullets if bullet))


def _defaults_used(found: MoneyReview) -> list[str]:
    """Each rate that filled in for a cost that is not on record, with its year and source."""
    used = {item for items in found.sources["default_items"].drop_nulls() for item in re.split("[;,] ", items)}
    return [
        f"{rate.item[0].upper()}{rate.item[1:]}: {rate_words(rate.middle, rate.unit)} ({rate.mark}; {rate.source})."
        for rate in found.rates.values()
        if rate.item in used
    ]


def what_is_not_known(ground: SheetGround, main: Comparison) -> Section:
    """What is unknown, with what would make it known."""
    bullets = []
    if not ground.net.pairs:
        bullets.append(no_net_return())
        bullets.extend(_missing(ground))
    seen = wording.what_could_be_seen(main)
    if seen:
        bullets.append(seen)
    bullets.extend(next_steps(main))
    asked = [comparison for name, comparison in ground.found.items() if name not in IF_NOTED]
    without = [measure_words(comparison) for comparison in asked if not comparison.all_pairs.pairs]
    if without:
        bullets.append(f"No pair is complete for {', '.join(without)}.")
    if ground.tried is None:
        bullets.append("Whether an outlay for header parts pays; no outlay is in these costs.")
    return Section(heading="What is not known, and what would tell", bullets=tuple(bullets))


def what_it_may_go_with(ground: SheetGround, main: Comparison) -> Section:
    """Exploration: what the difference may go with."""
    return Section(
        heading=f"Does {measure_words(main)} depend on something?",
        lines=(depends_words.CAUTION,),
        bullets=tuple(depends_words.depends_lines(main, asked_of(ground, main))),
    )


def asked_of(ground: SheetGround, main: Comparison) -> tuple[DependsOn, ...]:
    """What the difference of a measure may go with, in its unit."""
    rows = ground.rows.filter(measure=main.measure)
    asked = depends_on_of(rows, pair_facts(ground.connection), level=ground.settings.level)
    return asked_in_unit(asked, MEASURES[main.measure], main.unit)


def _missing(ground: SheetGround) -> list[str]:
    """The papers that would make net return known, for the first few pairs."""
    rows = ground.rows.filter(pl.col("measure") == "net_return")
    named = [
        f"Pair {row['pair']}, {row['crop_year']}: it lacks {row['missing']}."
        for row in rows.head(MOST_MISSING).iter_rows(named=True)
    ]
    more = rows.height - MOST_MISSING
    return [*named, f"And {count(more, 'pair')} more."] if more > 0 else named


def cautions_met(main: Comparison) -> tuple[Section, ...]:
    """The cautions of the main measure, a short interval first."""
    if not main.cautions:
        return ()
    said = [caution.text for caution in main.cautions]
    if main.cautions[0].code == "interval_short":
        said.insert(1, cautions.LABEL)
    return (Section(heading="Cautions", bullets=tuple(said)),)


def green_seed(ground: SheetGround) -> Section:
    """Green seed of both ways as counted."""
    green = ground.found["green_seed"]
    return Section(
        heading="Green seed",
        lines=(
            wording.these_fields_sentence(green),
            *printed_tables.green_lines(numbers.green_counts(ground.connection), ground.settings.level),
            cautions.HEATING,
        ),
    )


def seed_losses(ground: SheetGround) -> Section:
    """Losses of both ways by place."""
    loss = ground.found["loss"]
    means = numbers.loss_means(ground.connection, ground.settings, loss)
    table = printed_tables.loss_table(means, loss.unit, base_decimals(loss) + 1) if means.height else None
    return Section(
        heading=f"Losses, {loss.unit}", lines=(wording.these_fields_sentence(loss), cautions.PANS), table=table
    )


def where_from(ground: SheetGround, main: Comparison) -> Section:
    """Records, methods and sources behind the numbers."""
    held = (("loads", "load"), ("samples", "sample"), ("loss_checks", "loss check"), ("operations", "operation"))
    counts = [count(read_table(ground.connection, table).height, noun) for table, noun in held]
    lines = [f"This farm's own records: {wording.rests_on(main)} On record are {', '.join(counts)}."]
    methods = (("These fields", main.these_fields.method), ("Years to come", main.years_to_come.method))
    computed = [f"{question}: {method}." for question, method in methods if method != "none"]
    if main.measure == "net_return" and ground.money.chance_here is not None:
        computed.append("Odds: the same t distribution, with nothing believed beforehand.")
    if computed:
        lines.append(" ".join(computed))
    if defaults := _defaults_used(ground.money):
        lines.append(" ".join(defaults))
    return Section(heading="Where the numbers come from", lines=tuple(lines))


def no_net_return() -> str:
    """Why net return is not known."""
    return "Net return is not known: no pair has the weight, the grade, its price and the costs of both sides."

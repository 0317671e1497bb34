"""The sheet for the table: every word and figure on it, ready to be set, for a banker (a sheet, both sides) or an
agronomist (three pages, one more where machine hours or bins are on record, and three of what others found).

PDF, page and workbook all show the same Sheet; nothing is worked out after it is read. What is unknown is said to be
unknown, with what would make it known.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

from analytics.answer import depends_words, wording
from analytics.answer.difference_words import base_decimals, measure_words, words_for
from analytics.answer.money_review import MoneyReview, grade_steps, money_review, outlook
from analytics.answer.money_wording import (
    break_even_price_words,
    break_even_yield_words,
    dollars,
    is_it_decided,
    no_break_even,
    not_counted,
    odds_words,
    where_costs_come_from,
    why_they_differ,
    worst_year_words,
)
from analytics.answer.next_steps import next_steps
from analytics.answer.review import asked_in_unit, depends_on_of, in_yield_unit, looked_at_together, reviewed
from analytics.money.buying import TriedPurchase
from analytics.money.chances import worst_year
from analytics.pairs.compared_pairs import interval_cautions, pair_facts
from analytics.settings import Settings, read_settings, setting_changes
from analytics.sheet import machines_and_bins, numbers, printed_tables, published_page, whole_farm
from analytics.sheet.grown import grown_table
from analytics.sheet.parts import Page, Picture, Section
from analytics.sheet.picture import by_year_svg, by_year_words
from analytics.sheet.reader import Reader
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Comparison, Question
from analytics.storage.database import read_table
from analytics.trade import cautions
from analytics.trade.measures import IF_NOTED, MEASURES
from analytics.trade.numbers_as_text import amount, count, number
from analytics.trade.units import BUSHELS_PER_TONNE

ACRES = 100  # what a year's result is told for, beside the acre
MOST_MISSING = 3  # pairs whose missing paper is named
USUAL_WORDS = f"{cautions.NOT_ADVICE} Labels, local rules and contracts come first."
TITLE = "Canola cut standing or windrowed: what this farm's records say"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSheet:
    """A sheet as it is handed over. `tables` are not on it: they are the numbers behind it, for the workbook."""

    title: str
    farm_name: str
    made_on: date
    reader: str
    answer: tuple[str, ...]
    pages: tuple[Page, ...]
    usual_words: str
    tables: numbers.Tables


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
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


def read_sheet(
    connection: duckdb.DuckDBPyConnection,
    reader: Reader,
    made_on: date,
    *,
    tried: TriedPurchase | None = None,
    compared: Mapping[str, Comparison] | None = None,
) -> PrintedSheet:
    """The sheet of the records as they are; the same records and date give the same sheet.

    tried : a purchase as typed on the screen for money, for the banker
    compared : as from review_all, where that was asked already
    """
    settings = read_settings(connection)
    rows, facts = read_table(connection, "pair_measures").sort("crop_year", "pair"), pair_facts(connection)
    intervals = interval_cautions(connection)
    recorded = looked_at_together(
        {
            name: (compared or {}).get(name)
            or reviewed(rows.filter(measure=name), facts, intervals, measure=measure, settings=settings)
            for name, measure in MEASURES.items()
        },
        settings,
    )
    every = {name: in_yield_unit(comparison, settings.yield_unit) for name, comparison in recorded.items()}
    money = money_review(connection, recorded)
    ground = _Ground(
        connection=connection, made_on=made_on, settings=settings, rows=rows, found=every, money=money, tried=tried
    )
    known = {name: comparison for name, comparison in every.items() if comparison.all_pairs.pairs}
    is_banker = reader is Reader.BANKER
    return PrintedSheet(
        title=TITLE,
        farm_name=settings.farm_name,
        made_on=made_on,
        reader=reader,
        answer=_money_answer(ground) if is_banker else _grain_answer(ground),
        pages=_banker_pages(ground) if is_banker else _agronomist_pages(ground, known),
        usual_words=USUAL_WORDS,
        tables=numbers.all_tables(connection, rows, settings, known),
    )


# --- the answer


def _money_answer(ground: _Ground) -> tuple[str, ...]:
    """Three sentences about net return; about yield, and why, where net return is not known."""
    if not ground.net.pairs:
        return _grain_answer(ground)
    odds = odds_words(ground.money)
    return (*_both(ground.net), odds or "The odds that standing pays are not known: the records are too few to tell.")


def _grain_answer(ground: _Ground) -> tuple[str, ...]:
    """Yield, and what net return says on these fields."""
    money_words = wording.these_fields_sentence(ground.net) if ground.net.pairs else _no_net_return()
    if not ground.grain.pairs:
        return (wording.these_fields_sentence(ground.grain), money_words)
    return (*_both(ground.grain), money_words)


def _both(main: Comparison) -> tuple[str, ...]:
    """Both answers of a measure with how firm they are, and what the other pairs say."""
    these = (wording.these_fields_sentence(main), wording.firm_sentence(main, Question.THESE_FIELDS))
    ahead = (wording.years_to_come_sentence(main), wording.firm_sentence(main, Question.YEARS_TO_COME))
    lines = (" ".join(these), " ".join(ahead), wording.carries_sentence(main))
    return tuple(line.strip() for line in lines if line.strip())


def _no_net_return() -> str:
    return "Net return is not known: no pair has the weight, the grade, its price and the costs of both sides."


# --- the pages


def _banker_pages(ground: _Ground) -> tuple[Page, ...]:
    main = ground.net if ground.net.pairs else ground.grain
    front = Page(
        top=_picture(main),
        left=(*_carried(main), *_budget(ground), *_worst_year(main)),
        right=(_break_even(ground), _assumed(ground, main), _not_known(ground, main)),
        bottom=(*_cautions(main), _sources(ground, main)),
    )
    return (front, *whole_farm.whole_farm_page(ground.connection, ground.rows, ground.net, ground.tried))


def _agronomist_pages(ground: _Ground, known: Mapping[str, Comparison]) -> tuple[Page, ...]:
    main = ground.grain if ground.grain.pairs else ground.net
    first = Page(
        top=(*_picture(main), *_measures(known)),
        left=(*_carried(main), *_worst_year(main)),
        right=(_assumed(ground, main), _not_known(ground, main)),
        bottom=(_depends_on(ground, main),) if known else _cautions(main),
    )
    if not known:
        return (first,)
    rows = numbers.pair_numbers(ground.connection, ground.rows, ground.settings)
    decimals = base_decimals(ground.grain)
    second = Page(
        top=(
            Section(
                heading=f"Every pair, and how it was made; yield and loss in {ground.settings.yield_unit}",
                table=printed_tables.pair_table(rows, decimals),
                lines=printed_tables.pair_notes(rows, ground.settings.one_moisture_pct),
            ),
        ),
        left=(_green(ground),),
        right=(_losses(ground),),
        bottom=(
            Section(
                heading="Statistics in full, standing less windrowed",
                table=printed_tables.statistics(_shown_in_full(known)),
            ),
            *_cautions(main),
            _sources(ground, main),
        ),
    )
    table, note = grown_table(ground.connection)
    third = Page(
        top=(Section(heading="How every pair was grown and cut", table=table, lines=(note,)),),
        left=(),
        right=(),
        bottom=(),
    )
    return (
        first,
        second,
        third,
        *machines_and_bins.machines_and_bins_page(ground.connection, known, ground.made_on),
        *published_page.pages(ground.found, _asked(ground, ground.grain)),
    )


def _shown_in_full(known: Mapping[str, Comparison]) -> list[Comparison]:
    """Yield and net return; where neither is known, the first measures that are."""
    main = [known[name] for name in ("yield", "net_return") if name in known]
    return main or list(known.values())[:2]


# --- the parts


def _picture(main: Comparison) -> tuple[Section, ...]:
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


def _carried(main: Comparison) -> tuple[Section, ...]:
    """What carries the answer, a row a kind of pair."""
    if not main.all_pairs.pairs:
        return ()
    return (Section(heading=f"What carries it, {main.unit}", table=printed_tables.printed_carried(main)),)


def _measures(known: Mapping[str, Comparison]) -> tuple[Section, ...]:
    if not known:
        return ()
    crop = {name: comparison for name, comparison in known.items() if name not in IF_NOTED}
    table = printed_tables.measures(crop)
    return (Section(heading="Every measure, standing less windrowed", table=table),)


def _budget(ground: _Ground) -> tuple[Section, ...]:
    """What makes the difference in net return, line by line."""
    lines = ground.money.changes
    if not lines:
        return ()
    return (Section(heading="What makes the difference, $/ac", table=printed_tables.budget(lines)),)


def _break_even(ground: _Ground) -> Section:
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


def _worst_year(main: Comparison) -> tuple[Section, ...]:
    worst = worst_year(main.by_year)
    if worst is None or main.years < 2:
        return ()
    if main.measure == "net_return":
        return (Section(heading="Worst year", lines=(worst_year_words(main, ACRES),)),)
    did = words_for(main, main.these_fields).clause(worst.estimate)
    field_years = count(worst.field_years, "field-year")
    line = f"In {worst.crop_year}, the worst of {count(main.years, 'year')} for standing, {did} ({field_years})."
    return (Section(heading="Worst year", lines=(line,)),)


def _assumed(ground: _Ground, main: Comparison) -> Section:
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
        f"{rate.item[0].upper()}{rate.item[1:]}: {number(rate.middle, 2)} {rate.unit} ({rate.mark}; {rate.source})."
        for rate in found.rates.values()
        if rate.item in used
    ]


def _not_known(ground: _Ground, main: Comparison) -> Section:
    bullets = []
    if not ground.net.pairs:
        bullets.append(_no_net_return())
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


def _depends_on(ground: _Ground, main: Comparison) -> Section:
    """Exploration: what the difference may go with."""
    return Section(
        heading=f"Does {measure_words(main)} depend on something?",
        lines=(depends_words.CAUTION,),
        bullets=tuple(depends_words.depends_lines(main, _asked(ground, main))),
    )


def _asked(ground: _Ground, main: Comparison) -> tuple[DependsOn, ...]:
    rows = ground.rows.filter(measure=main.measure)
    asked = depends_on_of(rows, pair_facts(ground.connection), level=ground.settings.level)
    return asked_in_unit(asked, MEASURES[main.measure], main.unit)


def _missing(ground: _Ground) -> list[str]:
    """The papers that would make net return known, for the first few pairs."""
    rows = ground.rows.filter(pl.col("measure") == "net_return")
    named = [
        f"Pair {row['pair']}, {row['crop_year']}: missing is {row['missing']}."
        for row in rows.head(MOST_MISSING).iter_rows(named=True)
    ]
    more = rows.height - MOST_MISSING
    return [*named, f"And {count(more, 'pair')} more."] if more > 0 else named


def _cautions(main: Comparison) -> tuple[Section, ...]:
    if not main.cautions:
        return ()
    said = [caution.text for caution in main.cautions]
    if main.cautions[0].code == "interval_short":
        said.insert(1, cautions.LABEL)
    return (Section(heading="Cautions", bullets=tuple(said)),)


def _green(ground: _Ground) -> Section:
    green = ground.found["green_seed"]
    return Section(
        heading="Green seed",
        lines=(
            wording.these_fields_sentence(green),
            *printed_tables.green_lines(numbers.green_counts(ground.connection), ground.settings.level),
            cautions.HEATING,
        ),
    )


def _losses(ground: _Ground) -> Section:
    loss = ground.found["loss"]
    means = numbers.loss_means(ground.connection, ground.settings, loss)
    table = printed_tables.loss_table(means, loss.unit, base_decimals(loss) + 1) if means.height else None
    return Section(
        heading=f"Losses, {loss.unit}", lines=(wording.these_fields_sentence(loss), cautions.PANS), table=table
    )


def _sources(ground: _Ground, main: Comparison) -> Section:
    held = (("loads", "load"), ("samples", "sample"), ("loss_checks", "loss check"), ("operations", "operation"))
    counts = [count(read_table(ground.connection, table).height, noun) for table, noun in held]
    lines = [
        f"This farm's own records: {wording.rests_on(main)} On record are {', '.join(counts)}. Defaults are marked as "
        "such above, with region, year and basis."
    ]
    methods = (("These fields", main.these_fields.method), ("Years to come", main.years_to_come.method))
    computed = [f"{question}: {method}." for question, method in methods if method != "none"]
    if ground.money.chance_here is not None:
        computed.append("Chances: the same t distribution, with nothing believed beforehand.")
    if computed:
        lines.append(" ".join(computed))
    if defaults := _defaults_used(ground.money):
        lines.append(" ".join(defaults))
    return Section(heading="Where the numbers come from", lines=tuple(lines))

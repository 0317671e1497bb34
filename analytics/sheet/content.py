"""The sheet for the table: every word and figure on it, ready to be set, for a banker (a sheet, both sides) or an
agronomist (three pages, one more where machine hours or bins are on record, and three of what others found).

PDF, page and workbook all show the same Sheet; nothing is worked out after it is read. What is unknown is said to be
unknown, with what would make it known.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

from analytics.answer import wording
from analytics.answer.difference_words import base_decimals
from analytics.answer.money_review import MoneyReview, money_review
from analytics.answer.money_wording import (
    odds_words,
)
from analytics.answer.review import in_yield_unit, looked_at_together, reviewed
from analytics.money.buying import TriedPurchase
from analytics.pairs.compared_pairs import interval_cautions, pair_facts
from analytics.settings import read_settings
from analytics.sheet import machines_and_bins, numbers, printed_tables, published_page, sections, whole_farm
from analytics.sheet.grown import grown_table
from analytics.sheet.parts import Page, Section
from analytics.sheet.reader import Reader
from analytics.sheet.sections import SheetGround
from analytics.statistics.results import Comparison, Question
from analytics.storage.database import read_table
from analytics.trade import cautions
from analytics.trade.measures import MEASURES

USUAL_WORDS = f"{cautions.NOT_ADVICE} Labels, local rules and contracts come first."
TITLE = "Canola cut standing or windrowed: what this farm's records say"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSheet:
    """A sheet as it is handed over. `tables` are not on it: they are the numbers behind it, for the workbook alone."""

    title: str
    farm_name: str
    made_on: date
    reader: str
    answer: tuple[str, ...]
    pages: tuple[Page, ...]
    usual_words: str
    tables: numbers.Tables


def read_sheet(
    connection: duckdb.DuckDBPyConnection,
    reader: Reader,
    made_on: date,
    *,
    tried: TriedPurchase | None = None,
    compared: Mapping[str, Comparison] | None = None,
    rows: pl.DataFrame | None = None,
    facts: pl.DataFrame | None = None,
    money: MoneyReview | None = None,
    is_for_workbook: bool = True,
) -> PrintedSheet:
    """The sheet of the records as they are; the same records and date give the same sheet.

    tried : a purchase as typed on the screen for money, for the banker
    compared, rows, facts, money : as from review_all, the view pair_measures, as from pair_facts and money_review,
        where known already
    is_for_workbook : read the tables behind it too
    """
    settings = read_settings(connection)
    rows = (read_table(connection, "pair_measures") if rows is None else rows).sort("crop_year", "pair")
    facts = pair_facts(connection) if facts is None else facts
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
    if money is None:
        money = money_review(connection, recorded, rows.filter(measure="yield_as_sold"), facts)
    ground = SheetGround(
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
        tables=numbers.all_tables(connection, rows, settings, known) if is_for_workbook else {},
    )


# --- the answer


def _money_answer(ground: SheetGround) -> tuple[str, ...]:
    """Three sentences about net return; about yield, and why, where net return is not known."""
    if not ground.net.pairs:
        return _grain_answer(ground)
    odds = odds_words(ground.money)
    return (*_both(ground.net), odds or "The odds that standing pays are not known: the records are too few to tell.")


def _grain_answer(ground: SheetGround) -> tuple[str, ...]:
    """Yield, and what net return says on these fields."""
    money_words = wording.these_fields_sentence(ground.net) if ground.net.pairs else sections.no_net_return()
    if not ground.grain.pairs:
        return (wording.these_fields_sentence(ground.grain), money_words)
    return (*_both(ground.grain), money_words)


def _both(main: Comparison) -> tuple[str, ...]:
    """Both answers of a measure with how firm they are, and what the other pairs say."""
    these = (wording.these_fields_sentence(main), wording.firm_sentence(main, Question.THESE_FIELDS))
    ahead = (wording.years_to_come_sentence(main), wording.firm_sentence(main, Question.YEARS_TO_COME))
    lines = (" ".join(these), " ".join(ahead), wording.carries_sentence(main))
    return tuple(line.strip() for line in lines if line.strip())


# --- the pages


def _banker_pages(ground: SheetGround) -> tuple[Page, ...]:
    main = ground.net if ground.net.pairs else ground.grain
    front = Page(
        top=sections.by_year(main),
        left=(*sections.carried(main), *sections.what_differs(ground), *sections.worst_year_here(main)),
        right=(
            sections.break_even(ground),
            sections.what_is_assumed(ground, main),
            sections.what_is_not_known(ground, main),
        ),
        bottom=(*sections.cautions_met(main), sections.where_from(ground, main)),
    )
    back = whole_farm.whole_farm_page(ground.connection, ground.rows, ground.money.plots, ground.net, ground.tried)
    return (front, *back)


def _agronomist_pages(ground: SheetGround, known: Mapping[str, Comparison]) -> tuple[Page, ...]:
    main = ground.grain if ground.grain.pairs else ground.net
    first = Page(
        top=(*sections.by_year(main), *sections.every_measure(known)),
        left=(*sections.carried(main), *sections.worst_year_here(main)),
        right=(sections.what_is_assumed(ground, main), sections.what_is_not_known(ground, main)),
        bottom=(sections.what_it_may_go_with(ground, main),) if known else sections.cautions_met(main),
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
        left=(sections.green_seed(ground),),
        right=(sections.seed_losses(ground),),
        bottom=(
            Section(
                heading="Statistics in full, standing less windrowed",
                table=printed_tables.statistics(_shown_in_full(known)),
            ),
            *sections.cautions_met(main),
            sections.where_from(ground, main),
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
        *published_page.pages(ground.found, sections.asked_of(ground, ground.grain)),
    )


def _shown_in_full(known: Mapping[str, Comparison]) -> list[Comparison]:
    """Yield and net return; where neither is known, the first measures that are."""
    main = [known[name] for name in ("yield", "net_return") if name in known]
    return main or list(known.values())[:2]

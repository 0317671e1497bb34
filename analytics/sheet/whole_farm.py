"""The back of the banker's sheet: acres and dollars of the whole farm, every pair, and the purchase as typed."""

import duckdb
import polars as pl

from analytics.answer.buying_wording import (
    is_gain_settled,
    not_settled_words,
    purchase_ends_words,
    purchase_terms_words,
    purchase_words,
)
from analytics.answer.marks import finding_words
from analytics.answer.money_wording import dollars, ends_words, rough
from analytics.money.buying import TriedPurchase, buy
from analytics.sheet.parts import Page, Section
from analytics.sheet.printed_tables import BLANK, MOST_PAIRS, PrintedTable
from analytics.statistics.results import Comparison
from analytics.storage.database import read_table
from analytics.trade.numbers_as_text import count, number

BUYING = "Buying the header parts, by the figures typed on the money screen"


def whole_farm_page(
    connection: duckdb.DuckDBPyConnection,
    rows: pl.DataFrame,
    sold: pl.DataFrame,
    net: Comparison,
    tried: TriedPurchase | None,
) -> tuple[Page, ...]:
    """The page, or none where there is no plot on record.

    rows : the view pair_measures; sold : the view plot_money; net : net return
    """
    plots = read_table(connection, "plots").join(sold, on=["crop_year", "field", "plot"], how="left")
    if plots.is_empty():
        return ()
    pairs = _pairs(rows)
    top = (Section(heading="The whole farm", lines=tuple(_farm(connection, plots, net))), *pairs)
    return (Page(top=top, left=(), right=(), bottom=_buying(net, tried)),)


def _farm(connection: duckdb.DuckDBPyConnection, plots: pl.DataFrame, net: Comparison) -> list[str]:
    """Acres and dollars of the newest crop year with a plot that was sold, and the range on all of its acres."""
    sold_plots = plots.drop_nulls("revenue_dollars_ac")
    year = int(str((sold_plots if sold_plots.height else plots)["crop_year"].max()))
    here = plots.filter(pl.col("crop_year") == year)
    by_method = {method: float(here.filter(method=method)["acres"].sum()) for method in ("standing", "windrowed")}
    acres = sum(by_method.values())
    each = ", ".join(f"{number(size, 0)} {method}" for method, size in by_method.items())
    unknown = here["acres"].null_count()
    without = f", and {count(unknown, 'plot')} of unknown size" if unknown else ""
    fields = read_table(connection, "fields")["acres"]
    farm = f" All fields on record have {number(float(fields.sum()), 0)} acres." if fields.count() else ""
    lines = [
        f"{year}: {count(here.height, 'plot')} of canola with {number(acres, 0)} acres ({each}){without}.{farm}",
    ]
    known = here.drop_nulls(["acres", "net_return_dollars_ac"])
    if known.height:
        sold, left = (
            float((known["acres"] * known[name]).sum()) for name in ("revenue_dollars_ac", "net_return_dollars_ac")
        )
        part = "They" if known.height == here.height else f"{known.height} of them, whose papers are complete,"
        lines.append(
            f"{part} were sold for {dollars(sold)} and left {dollars(left)} after the costs of harvest that are "
            "counted here; land, seed and fertilizer are not among them."
        )
    ahead = net.years_to_come
    if ahead.told_low is not None and ahead.told_high is not None and acres:
        low, high = (ends_words(rough(end * acres)) for end in (ahead.told_low, ahead.told_high))
        lines.append(
            f"All {number(acres, 0)} acres cut standing instead of windrowed would, in an average year to come, leave "
            f"{low} to {high} ({finding_words(net, ahead)})."
        )
    return lines


def _pairs(rows: pl.DataFrame) -> tuple[Section, ...]:
    """Every pair in dollars, newest year first."""
    found = rows.filter(measure="net_return").sort("crop_year", "pair", descending=[True, False])
    if found.is_empty():
        return ()
    cells = tuple(
        (
            row["field"] or "",
            str(row["crop_year"]),
            row["pair"],
            *(BLANK if row[side] is None else number(row[side], 0) for side in ("standing", "windrowed")),
            BLANK if row["difference"] is None else number(row["difference"], 0, sign=True),
        )
        for row in found.head(MOST_PAIRS).iter_rows(named=True)
    )
    note = f"{BLANK}: unknown, a paper is missing; never zero."
    if found.height > MOST_PAIRS:
        note = f"{note} The newest {MOST_PAIRS} of {count(found.height, 'pair')}; the workbook holds them all."
    table = PrintedTable(
        columns=("field", "year", "pair", "standing", "windrowed", "difference"), rows=cells, text_columns=3
    )
    return (Section(heading="Net return of every pair, $/ac", table=table, lines=(note,)),)


def _buying(net: Comparison, tried: TriedPurchase | None) -> tuple[Section, ...]:
    if tried is None:
        return ()
    result = buy(tried.purchase, gain_ac=tried.gain_ac, saved_a_year=tried.saved_a_year)
    said = purchase_words(tried.purchase, result, gain_ac=tried.gain_ac)
    first = () if is_gain_settled(net) else (not_settled_words(net),)
    lines = (purchase_terms_words(tried.purchase), *first, said)
    ends = purchase_ends_words(tried.purchase, result, net, saved_a_year=tried.saved_a_year)
    return (Section(heading=BUYING, lines=lines, bullets=tuple(ends)),)

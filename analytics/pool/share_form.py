"""What a share file holds: its columns, what may stand in them, and how large it may be.

A row is one pair in one measure. Codes are drawn by lot: they name a farm and its places and say nothing of them. One
form, as CSV or as Parquet; the words are the same in both.
"""

import re
from importlib.metadata import version

import polars as pl

from analytics.statistics.given_pairs import Allocation, Kind
from analytics.trade.measures import MEASURES

VERSION = 1  # of the form; a file of a newer one is refused
PROGRAM = f"standrow {version('standrow')}"
CODE_LETTERS = "23456789BCDFGHJKLMNPQRSTVWXZ"  # no vowels, so that no lot makes a word; none that looks like another
FARM_CODE = re.compile(rf"[{CODE_LETTERS}]{{4}}-[{CODE_LETTERS}]{{4}}")
KINDS = (Kind.ONE_FIELD, Kind.TWO_FIELDS, Kind.MATCHED)
FACTS = ("early_cut", "shatter_tolerant", "preharvest_product", "same_variety")  # what a difference may depend on
ENDINGS = (".csv", ".parquet")
RECORDS_ENDING = ".duckdb"  # a farm's whole records, for whoever has them anyway
LARGEST_RECORDS = 200_000_000  # bytes of such a file; our choice, no source
LARGEST_BYTES = 20_000_000  # of one file, and of what it unpacks to times five; our choice, no source
MOST_PLACES = 2_000  # codes of places in one file; our choice, no source
MOST_ROWS = 100_000  # of one file: 60 fields cut both ways in 20 seasons are 12,000; our choice, no source
FIRST_YEAR, LAST_YEAR, MOST_PAIRS, LARGEST_VALUE = 1980, 2100, 10_000, 1_000_000

VALUE = f"a number from -{LARGEST_VALUE:,} to {LARGEST_VALUE:,}"

# Each column: its type in Parquet, and what is allowed, in words.
COLUMNS: dict[str, tuple[type[pl.DataType], str]] = {
    "share_version": (pl.Int64, f"{VERSION}, the form of the file"),
    "program": (pl.String, "standrow and its version"),
    "shared_at": (pl.String, "a day and time such as 2026-11-27T14:03:11Z, not one to come by this machine's clock"),
    "farm": (pl.String, "a farm's code such as B2C3-D4F5, one in a file"),
    "crop_year": (pl.Int64, f"a year from {FIRST_YEAR} to {LAST_YEAR}"),
    "place": (pl.String, "a place's code of four letters"),
    "pair": (pl.Int64, f"a number from 1 to {MOST_PAIRS:,}, each once in a crop year and measure"),
    "kind": (pl.String, ", ".join(KINDS)),
    "allocation": (pl.String, ", ".join(Allocation)),
    **dict.fromkeys(FACTS, (pl.String, "yes, no or blank")),
    "measure": (pl.String, ", ".join(MEASURES)),
    "standing": (pl.Float64, VALUE),
    "windrowed": (pl.Float64, VALUE),
}
# What sql/queries/share_rows.sql holds each cell against.
ALLOWED = {
    "version": str(VERSION),
    "program": r"standrow [0-9A-Za-z.+-]{1,30}",
    "moment": r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z",
    "number": r"-?[0-9]+([.][0-9]+)?([eE][-+]?[0-9]{1,3})?",  # the engine alone would take 1_000 too
    "farm": FARM_CODE.pattern,
    "place": f"[{CODE_LETTERS}]{{4}}",
    "first_year": FIRST_YEAR,
    "last_year": LAST_YEAR,
    "most_pairs": MOST_PAIRS,
    "kinds": [kind.value for kind in KINDS],
    "allocations": [allocation.value for allocation in Allocation],
    "measures": list(MEASURES),
    "largest": LARGEST_VALUE,
}
SAME_IN_ALL = ("share_version", "program", "shared_at", "farm")  # columns that say one thing in the whole file

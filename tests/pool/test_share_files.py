"""A share file from another farm is believed in nothing: every fault is told, and a faulty file gives no row."""

import io
import re

import polars as pl
import pytest

from analytics.pool import share_files
from analytics.pool.share_files import checked_path, checked_share
from analytics.pool.share_form import CODE_LETTERS, COLUMNS
from sample_records.make_demo_group import shares

ROWS = next(iter(shares(farms=1, years=2).values()))
FARM = ROWS["farm"][0]


def csv(rows):
    return rows.write_csv().encode()


def packed(rows):
    out = io.BytesIO()
    rows.write_parquet(out)
    return out.getvalue()


def told(share):
    assert share.rows.is_empty()
    assert share.faults.total == len(share.faults.worded) or share.faults.total > 200
    return [str(fault) for fault in share.faults.worded]


@pytest.mark.parametrize(("name", "content"), [("a.csv", csv(ROWS)), ("a.parquet", packed(ROWS))])
def test_a_sound_file_gives_its_rows(name, content):
    share = checked_share(name, content)
    assert (share.faults.total, share.farm, share.label) == (0, FARM, f"{FARM} ({name})")
    assert share.rows.height == ROWS.height
    assert share.rows["standing"].equals(ROWS["standing"])
    assert share.rows["same_variety"].dtype == pl.Boolean


CELLS = [
    ("farm", "../../etc/passwd"),
    ("farm", "=HYPERLINK(1)"),
    ("farm", ""),
    ("farm", "A2A2-A2A2"),
    ("place", "../x"),
    ("place", "=1+1"),
    ("place", "North half"),
    ("crop_year", "1914"),
    ("crop_year", "2021.4"),
    ("pair", "0"),
    ("pair", "-1"),
    ("pair", "1e9"),
    ("kind", "mixed"),
    ("allocation", "fair"),
    ("early_cut", "maybe"),
    ("shatter_tolerant", "true"),
    ("preharvest_product", "-"),
    ("same_variety", "1"),
    ("measure", "oil"),
    ("standing", "nan"),
    ("standing", "inf"),
    ("standing", "1e300"),
    ("standing", "1_000"),
    ("standing", "DROP TABLE farms"),
    ("windrowed", ""),
    ("shared_at", "yesterday"),
    ("shared_at", "2025-13-45T12:00:00Z"),
    ("shared_at", "2099-01-01T00:00:00Z"),  # of a clock that is ahead; it would win over every correction
    ("share_version", "0"),
    ("program", "another\x07program"),
]


@pytest.mark.parametrize(("column", "cell"), CELLS)
def test_a_cell_that_is_not_allowed_is_told_with_its_row_and_nothing_is_read(column, cell):
    text = ROWS.select(pl.all().cast(pl.String))
    faulty = text.with_columns(pl.when(pl.int_range(pl.len()) == 4).then(pl.lit(cell)).otherwise(column).alias(column))
    said = told(checked_share("a.csv", csv(faulty)))
    assert len(said) == 1
    assert f"row 6, {column}: " in said[0]
    assert f"allowed {COLUMNS[column][1]}." in said[0]
    assert "\x07" not in said[0]


def test_every_fault_of_a_file_is_told():
    faulty = ROWS.with_columns(place=pl.lit("zz"), standing=pl.lit(float("nan")))
    share = checked_share("a.csv", csv(faulty))
    assert share.faults.total == ROWS.height


def test_one_pair_twice_is_told():
    said = told(checked_share("a.csv", csv(pl.concat([ROWS, ROWS.head(1)]))))
    assert len(said) == 2
    assert all("each once in a crop year and measure" in line for line in said)


def test_two_farms_or_two_moments_in_one_file_are_told():
    letters = CODE_LETTERS[:4]
    other = ROWS.with_columns(farm=pl.lit(f"{letters}-{letters}"), crop_year=pl.lit(2050, dtype=pl.Int64))
    assert len(told(checked_share("a.csv", csv(pl.concat([ROWS, other.head(1)]))))) == 1
    later = ROWS.with_columns(shared_at=pl.lit("2026-01-01T00:00:00Z"), crop_year=pl.lit(2050, dtype=pl.Int64))
    assert len(told(checked_share("a.csv", csv(pl.concat([ROWS, later.head(1)]))))) == 1


@pytest.mark.parametrize("make", [csv, packed])
def test_a_newer_form_is_refused_clearly_whatever_its_columns(make):
    newer = ROWS.with_columns(share_version=pl.lit(2, dtype=pl.Int64), oil=pl.lit(44.0))
    (said,) = told(checked_share(f"a.{'csv' if make is csv else 'parquet'}", make(newer)))
    assert "a file of form 2, written by a newer version of standrow given; allowed form 1. Update standrow." in said


@pytest.mark.parametrize("make", [csv, packed])
def test_other_columns_are_refused(make):
    ending = "csv" if make is csv else "parquet"
    for other in (ROWS.with_columns(notes=pl.lit("by the creek")), ROWS.drop("kind")):
        (said,) = told(checked_share(f"a.{ending}", make(other)))
        assert "the columns share_version" in said


@pytest.mark.parametrize(
    "column", [pl.col("standing").cast(pl.String), pl.col("crop_year").cast(pl.Float64), pl.col("early_cut") == "yes"]
)
def test_other_types_in_parquet_are_refused(column):
    (said,) = told(checked_share("a.parquet", packed(ROWS.with_columns(column))))
    assert "values of type" in said


def test_a_list_where_text_should_be_is_refused():
    nested = ROWS.with_columns(place=pl.concat_list("place"))
    (said,) = told(checked_share("a.parquet", packed(nested)))
    assert re.search("place: values of type (large_)?list", said)


def test_a_million_codes_are_refused_by_their_number(monkeypatch):
    monkeypatch.setattr(share_files, "MOST_PLACES", 50)
    codes = [a + b + c + d for a in "2345" for b in "2345" for c in "2345" for d in "2"]
    many = pl.concat([ROWS.head(1)] * 64).with_columns(place=pl.Series(codes), pair=pl.int_range(1, 65, dtype=pl.Int64))
    (said,) = told(checked_share("a.csv", csv(many)))
    assert "64 places given; allowed up to" in said


def test_more_rows_than_any_farm_has_are_refused_before_they_are_read():
    many = ROWS[[0] * 200_000]
    (said,) = told(checked_share("a.parquet", packed(many)))
    assert "200,000 rows" in said


def test_what_unpacks_to_far_more_is_refused_before_it_is_read(monkeypatch):
    monkeypatch.setattr(share_files, "LARGEST_BYTES", 500_000)
    bomb = ROWS[[0] * 11].with_columns(program=pl.lit("a" * 250_000))
    content = packed(bomb.with_columns(program=pl.col("program") + pl.int_range(pl.len()).cast(pl.String)))
    assert len(content) < share_files.LARGEST_BYTES
    (said,) = told(checked_share("a.parquet", content))
    assert "MB unpacked" in said


def test_a_file_that_is_too_large_is_not_opened(tmp_path):
    file = tmp_path / "large.parquet"
    with file.open("wb") as opened:
        opened.truncate(share_files.LARGEST_BYTES + 1)
    (said,) = told(checked_path(str(file)))
    assert "20 MB given; allowed up to 20 MB" in said


@pytest.mark.parametrize(
    "content", [b"", b"\x00" * 500, b"PAR1" + b"x" * 100 + b"PAR1", packed(ROWS)[:-20], b"\xff\xfe"]
)
@pytest.mark.parametrize("name", ["a.csv", "a.parquet"])
def test_what_is_no_share_file_is_refused(name, content):
    assert len(told(checked_share(name, content))) == 1


@pytest.mark.parametrize("places", [12, pytest.param(50, marks=pytest.mark.slow)])
def test_bytes_changed_anywhere_are_refused_or_read_as_numbers_that_may_stand_there(places):
    """Files with one byte changed, so many of each form; whatever comes of it, it is a message or a row like any."""
    sound = {"a.csv": csv(ROWS), "a.parquet": packed(ROWS)}
    refused = 0
    for name, content in sound.items():
        for place in range(0, len(content), len(content) // places):
            changed = bytearray(content)
            changed[place] ^= 0x15
            share = checked_share(name, bytes(changed))
            refused += share.faults.total > 0
            assert share.rows.is_empty() == (share.faults.total > 0)
    assert refused > 0.6 * places


def test_a_file_that_is_gone_is_a_fault(tmp_path):
    (said,) = told(checked_path(str(tmp_path / "gone.csv")))
    assert "a file that cannot be read" in said

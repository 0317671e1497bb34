"""A folder of share files: all of them or none, and of a farm and crop year the newest."""

import polars as pl
import pytest

from analytics.errors import BadInput, Refused
from analytics.pool.group_files import read_group, read_group_uploads
from sample_records.make_demo_group import shares

FARMS = shares(farms=3, years=3)


def csv(rows):
    return rows.write_csv().encode()


@pytest.fixture
def folder(tmp_path):
    for code, rows in FARMS.items():
        rows.write_csv(tmp_path / f"{code}.csv")
    return tmp_path


def test_all_farms_are_read_and_other_files_passed_over(folder):
    (folder / "README.txt").write_text("of the group")
    (folder / "older.csv").mkdir()
    got = read_group(folder)
    assert (got.farms, got.files, got.replaced) == (tuple(sorted(FARMS)), 3, 0)
    assert got.newest == "2025-12-01T12:00:00Z"
    assert got.rows.height == sum(rows.height for rows in FARMS.values())


def test_of_a_farm_and_year_the_newest_counts_as_a_whole(folder):
    """The correction holds yield alone, so what the farm sent of that year before is out, other years stay."""
    code, rows = next(iter(FARMS.items()))
    correction = rows.filter(crop_year=2021, measure="yield").with_columns(
        standing=pl.lit(1.0), shared_at=pl.lit("2026-01-05T08:00:00Z")
    )
    correction.write_parquet(folder / "a correction.parquet")
    got = read_group(folder)
    own = got.rows.filter(farm=code)
    assert set(own.filter(crop_year=2021)["measure"]) == {"yield"}
    assert set(own.filter(crop_year=2021)["standing"]) == {1.0}
    assert own.filter(pl.col("crop_year") != 2021).height == rows.filter(pl.col("crop_year") != 2021).height
    assert (got.replaced, got.newest) == (1, "2026-01-05T08:00:00Z")


def test_the_same_file_twice_counts_once(folder):
    code, rows = next(iter(FARMS.items()))
    rows.write_csv(folder / "again.csv")
    assert read_group(folder).rows.filter(farm=code).height == rows.height


def test_two_different_shares_of_one_moment_are_refused(folder):
    code, rows = next(iter(FARMS.items()))
    rows.with_columns(pl.col("standing") + 1).write_csv(folder / "other.csv")
    with pytest.raises(BadInput, match=f"{code} .*two different shares of one farm and one moment"):
        read_group(folder)


def test_one_fault_in_one_file_and_nothing_is_pooled(folder):
    files = sorted(folder.glob("*.csv"))
    for file in files[:2]:
        text = file.read_text().replace("one_field", "one field", 1)
        file.write_text(text)
    with pytest.raises(BadInput) as told:
        read_group(folder)
    lines = str(told.value).splitlines()
    assert lines[0] == "Nothing was pooled, because of 2 faults:"
    assert [line.split()[0] for line in lines[1:]] == [file.stem for file in files[:2]]


def test_files_handed_over_are_read_alike(folder):
    given = [(file.name, file.read_bytes()) for file in folder.iterdir()]
    assert read_group_uploads(given).rows.equals(read_group(folder).rows)


def test_a_folder_without_a_share_file_is_told(tmp_path):
    with pytest.raises(BadInput, match=r"no share file is in it; allowed files that end in .csv or .parquet"):
        read_group(tmp_path)
    with pytest.raises(BadInput, match="there is no such folder"):
        read_group(tmp_path / "none")
    (tmp_path / "shut").mkdir()


def test_a_name_that_a_library_would_take_for_many_files_is_one_file(tmp_path):
    for number, rows in enumerate(FARMS.values()):
        rows.write_csv(tmp_path / ("*.csv", "[ab].csv", "{a,b}?.csv")[number])
    assert len(read_group(tmp_path).farms) == 3


def test_workers_out_of_range_are_refused(folder):
    for workers in (0, 1000):
        with pytest.raises(BadInput, match="workers: "):
            list(read_group(folder, workers=workers).farms)
    with pytest.raises(BadInput, match="given beside a cluster"):
        read_group(folder, workers=2, cluster="tcp://127.0.0.1:1")


def test_a_cluster_that_does_not_answer_is_refused(folder, monkeypatch):
    monkeypatch.setattr("analytics.pool.workers.ANSWERS_WITHIN", 0.5)
    with pytest.raises(Refused, match=r"nothing answers at tcp://127\.0\.0\.1:9"):
        read_group(folder, cluster="tcp://127.0.0.1:9")

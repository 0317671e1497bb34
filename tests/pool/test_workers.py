"""Farm by farm in this process, in several, or on a cluster: the same digits, also where a worker is killed."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from distributed import LocalCluster

from analytics.errors import Refused
from analytics.pool import workers
from analytics.pool.group_files import read_group
from analytics.pool.group_json import group_json
from analytics.pool.group_review import review_group
from analytics.pool.workers import for_each
from sample_records.make_demo_group import shares
from tests.pool import jobs

NUMBERS = list(range(20))


@pytest.fixture(scope="module")
def small_cluster() -> Iterator[str]:
    """The address of a scheduler with one worker, both in this process; what they say goes over the network."""
    with LocalCluster(
        n_workers=1,
        threads_per_worker=1,
        processes=False,
        protocol="tcp://",
        host="127.0.0.1",
        dashboard_address=None,
        silence_logs=50,
    ) as one:
        yield one.scheduler_address


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("group")
    for code, rows in shares(farms=3).items():
        rows.write_csv(folder / f"{code}.csv")
    return folder


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """The address of a scheduler on this machine with two workers, each a process."""
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as one:
        yield one.scheduler_address


def answer(folder: Path, **where) -> str:
    group = read_group(folder, **where)
    return group_json(group, review_group(group, measures=["yield"]), own=None)


def test_the_digits_are_the_same_where_a_cluster_reads_the_farms(folder, small_cluster):
    assert answer(folder, cluster=small_cluster) == answer(folder)


@pytest.mark.slow
def test_the_digits_are_the_same_where_two_processes_read_the_farms(folder):
    """By default the cluster shows that a farm goes there and back unchanged, and a killed worker the processes."""
    assert answer(folder, workers=2) == answer(folder)


def test_results_come_in_the_order_of_the_items():
    assert list(for_each(jobs.doubled, NUMBERS)) == [2 * number for number in NUMBERS]


def test_a_worker_that_is_killed_changes_nothing(tmp_path):
    items = [(number, str(tmp_path / "killed")) for number in NUMBERS]
    assert list(for_each(jobs.ended_the_first_time, items, workers=2)) == [2 * number for number in NUMBERS]
    assert (tmp_path / "killed").exists()


@pytest.mark.slow
def test_a_worker_of_a_cluster_that_is_killed_changes_nothing(tmp_path, cluster):
    items = [(number, str(tmp_path / "killed")) for number in NUMBERS]
    assert list(for_each(jobs.ended_the_first_time, items, cluster=cluster)) == [2 * number for number in NUMBERS]
    assert (tmp_path / "killed").exists()


@pytest.mark.slow
def test_workers_that_are_killed_again_and_again_are_given_up(monkeypatch):
    monkeypatch.setattr(workers, "MOST_BROKEN", 1)
    with pytest.raises(Refused, match="Workers were ended 1 times"):
        list(for_each(jobs.ended_every_time, [1, 2], workers=2))


@pytest.mark.slow
def test_two_thousand_farms_are_read_alike_and_no_worker_holds_300_mb(tmp_path, cluster):
    """The generated group of 2,000 farms and 6 years."""
    for code, rows in shares(farms=2000).items():
        rows.write_csv(tmp_path / f"{code}.csv")
    here = read_group(tmp_path)
    for where in ({"workers": 2}, {"cluster": cluster}):
        there = read_group(tmp_path, **where)
        assert there.rows.equals(here.rows)
        assert there.farms == here.farms
    paths = [str(file) for file in sorted(tmp_path.glob("*.csv"))]
    most = max(for_each(jobs.most_memory, paths, workers=2))
    print(f"a worker held {most} MB at most")
    assert most < 300

"""Files of pairs of many farms: the cost grows no faster than the pairs, and pairs beyond 10,000 are not listed."""

import json
import sys
import time

import pytest

from analytics import cli
from tests.benchmarks.group_sizes import write_pairs

PAIRS, TIMES = 11_000, 5


@pytest.fixture
def compared(tmp_path, monkeypatch, capsys):
    """Call with a number of pairs for the JSON and the processor time that it took."""

    def run(pairs):
        file = tmp_path / f"{pairs}.csv"
        write_pairs(file, pairs)
        monkeypatch.setattr(sys, "argv", ["standrow", "compare", "--pairs", str(file), "--json"])
        start = time.process_time()
        with pytest.raises(SystemExit) as end:
            cli.run_command()
        took = time.process_time() - start
        assert not end.value.code
        return capsys.readouterr().out, took

    return run


def test_cost_grows_no_faster_than_the_pairs_and_the_json_stays_small(compared):
    compared(1000)  # loads what is loaded once
    few, little = compared(PAIRS)
    many, more = compared(TIMES * PAIRS)
    assert more < 1.5 * TIMES * little
    assert (json.loads(many)["pairs"], json.loads(few)["pairs"]) == ([], [])
    assert len(many) < 200_000
    assert json.loads(many)["counts"]["pairs"] == TIMES * PAIRS
    assert len(json.loads(many)["farms"]) == TIMES * PAIRS // 250

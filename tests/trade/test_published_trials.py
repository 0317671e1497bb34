"""The table of published trials: the same as the copy of its sources, row by row, and what is read from it."""

import csv
import re
from pathlib import Path

import pytest

from analytics.errors import BadInput
from analytics.trade.published_trials import FILE, findings_about, published_findings

COPY = Path(__file__).resolve().parents[1] / "published" / "trade" / "harvest_method_trials.csv"
VERBATIM = ("id", "years", "design", "measure", "value", "unit", "note", "source", "read_or_memory")


def rows_of(file):
    with file.open(encoding="utf-8", newline="") as opened:
        return list(csv.DictReader(opened))


def test_every_published_value_stands_in_the_table_as_it_was_copied():
    """Sources are named row by row; sites are in our own words, without places' names."""
    ours, theirs = rows_of(FILE), rows_of(COPY)
    assert [{key: row[key] for key in VERBATIM} for row in ours] == [
        {key: row[key] for key in VERBATIM} for row in theirs
    ]


def test_every_number_is_one_that_was_published():
    """In value, note or measure of the same row; 197 is 162 + 35, and a range that is only "up to" begins at 0."""
    for row in rows_of(FILE):
        printed = {float(text) for text in re.findall(r"\d+\.?\d*", " ".join([row["value"], row["note"]]))}
        for end in (row["low"], row["high"]):
            if end and float(end) not in (0.0, 197.0):
                assert abs(float(end)) in printed, row["id"]


def test_ranges_run_upwards_and_have_a_unit():
    for finding in published_findings():
        assert (finding.low is None) == (finding.high is None) == (finding.unit == "")
        if finding.low is not None:
            assert finding.low <= finding.high
        assert finding.in_words or finding.low is not None
        assert finding.cannot_tell
        assert finding.edition
        assert finding.entered_on == "2026-11-27"


def test_a_survey_is_never_a_difference_with_a_figure_but_the_one_that_is_set_apart():
    """Six standing growers against 55: unlike growers, kept because it is often quoted."""
    told = {
        finding.source_id for finding in published_findings() if finding.is_survey and finding.told_of == "difference"
    }
    assert told == {"HAILE2010", "LIU2014"}


def test_bushels_come_from_the_units_of_the_trade():
    """142 to 370 kg/ha are 2.5 to 6.6 bu/ac, 276 to 413 less are 4.9 to 7.4 less, as the source's note says."""
    ranges = {finding.in_words: finding.in_bu_ac() for finding in findings_about("yield")}
    assert ranges["standing gave more at favourable sites"] == pytest.approx((2.5, 6.6), abs=0.05)
    assert ranges["standing gave less where weather delayed harvest"] == pytest.approx((-7.4, -4.9), abs=0.05)
    assert ranges["windrowed gave more"] is None


def test_a_share_of_the_yield_needs_the_farms_own():
    spring = next(finding for finding in findings_about("loss") if finding.crop == "spring rape")
    assert spring.in_bu_ac() is None
    assert spring.in_bu_ac(yield_bu_ac=50) == pytest.approx((0.85, 2.45))


def test_an_unknown_topic_names_the_allowed_ones():
    with pytest.raises(
        BadInput, match=r"'colour' given; allowed dockage, early_cutting, green_seed, loss, net_return, yield"
    ):
        findings_about("colour")

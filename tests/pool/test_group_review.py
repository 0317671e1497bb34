"""A group's three questions, its farms beside it, and nothing that tells of fewer than three farms."""

import json
import re
from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from analytics.commands import common
from analytics.errors import BadInput, Refused
from analytics.pool.group_files import read_group_uploads
from analytics.pool.group_json import group_json
from analytics.pool.group_review import pairs_of_group, review_group
from analytics.pool.group_words import group_sentence, own_farm
from analytics.pool.model import pooled_contrast, pooled_mean
from analytics.statistics.results import Basis, CarriedBy, Finding
from sample_records.make_demo_group import TRUTHS, shares
from tests.command import command


def changed(group, rows):
    """The same group with other rows."""
    return replace(group, rows=rows, farms=tuple(rows["farm"].unique().sort()))


def group_of(farms):
    return read_group_uploads((f"{code}.csv", rows.write_csv().encode()) for code, rows in farms.items())


@pytest.fixture(scope="module")
def demo_group():
    return shares()


def test_the_known_truth_of_the_demo_group_lies_in_its_ranges(reviewed_group):
    """The mean over all farms of the kind; one seed, so this shows plumbing, tests/calibration/pool.md how often."""
    for name, one in reviewed_group[1].items():
        assert one.answers.mean_low < TRUTHS[name].mean < one.answers.mean_high
        assert one.farms == 12


def test_each_question_is_wider_than_the_one_before(reviewed_group):
    for one in reviewed_group[1].values():
        here, these, other = one.comparison.these_fields, one.answers.these_farms, one.answers.another_farm
        widths = [answer.high - answer.low for answer in (here, these, other)]
        assert widths == sorted(widths)
        assert other.prediction_high - other.prediction_low > widths[2]


def test_it_rests_on_fields_cut_both_ways_where_three_farms_have_them(reviewed_group):
    group, found = reviewed_group
    assert found["yield"].comparison.these_fields.basis is Basis.ONE_FIELD
    is_of_two = pl.col("farm").is_in(group.farms[:2])
    turned = group.rows.with_columns(kind=pl.when(is_of_two).then("kind").otherwise(pl.lit("two_fields")))
    assert review_group(changed(group, turned), measures=["yield"])["yield"].comparison.these_fields.basis is Basis.ALL


def test_the_model_is_that_of_the_field_years_of_the_basis(reviewed_group, demo_group):
    rows = pl.concat(demo_group.values()).filter(measure="yield", kind="one_field")
    d = (rows["standing"] - rows["windrowed"]).to_numpy()
    model = pooled_mean(d, rows["farm"].to_list(), rows["crop_year"].to_list(), rows["place"].to_list())
    got = reviewed_group[1]["yield"].answers
    assert got.model.estimate == pytest.approx(model.estimate, rel=1e-9)
    assert got.model.another_farm_sd == pytest.approx(model.another_farm_sd, rel=1e-6)
    assert [farm.raw for farm in got.farms] == pytest.approx([farm.raw for farm in model.farms])


def test_a_farm_taken_out_moves_the_answer_as_it_must(reviewed_group):
    """The farm furthest above the group is taken out: the mean falls, the rest is as if it had never been sent."""
    group, before = reviewed_group[0], reviewed_group[1]["yield"].answers
    highest = max(before.farms, key=lambda farm: farm.shrunken)
    left = group.rows.filter(pl.col("farm") != highest.name)
    after = review_group(changed(group, left), measures=["yield"])["yield"]
    assert after.farms == 11
    assert after.answers.model.estimate < before.model.estimate
    assert after.comparison.these_fields.estimate == pytest.approx(
        (before_sum(reviewed_group) - highest.raw * highest.field_years)
        / (reviewed_group[1]["yield"].comparison.field_years - highest.field_years)
    )
    assert highest.name not in {farm.name for farm in after.answers.farms}
    other = after.answers.another_farm
    assert other.high - other.low < 30, "farms alike leave nothing to judge by, and once the range was 170 wide"
    assert {farm.name: farm.raw for farm in after.answers.farms} == {
        farm.name: farm.raw for farm in before.farms if farm.name != highest.name
    }


def before_sum(reviewed_group):
    comparison = reviewed_group[1]["yield"].comparison
    return comparison.these_fields.estimate * comparison.field_years


def test_four_farms_that_differ_say_so_of_another(demo_group):
    """True effects +3, -3, +2, -2, equal field names: once "a single new field between 1 less and 1 more"."""
    random = np.random.default_rng(5)
    farms = {}
    for code, effect in zip(list(demo_group)[:4], (3, -3, 2, -2), strict=True):
        rows = demo_group[code].head(1)
        d = effect + 0.2 * random.normal(size=6)
        farms[code] = pl.concat([rows] * 6).with_columns(
            measure=pl.lit("yield"),
            kind=pl.lit("one_field"),
            crop_year=pl.Series([2021, 2021, 2022, 2022, 2023, 2023]),
            pair=pl.Series([1, 2] * 3),
            place=pl.Series(["2222", "3333"] * 3),
            standing=40 + d,
            windrowed=pl.lit(40.0),
        )
    got = review_group(group_of(farms))["yield"]
    other = got.answers.another_farm
    assert other.finding is Finding.NOT_SETTLED
    assert other.low < -5
    assert other.high > 5
    assert [round(farm.shrunken) for farm in got.answers.farms] == [
        effect for _, effect in sorted(zip(farms, (3, -3, 2, -2), strict=True))
    ]


@pytest.mark.parametrize("seed", [0, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (1, 2))])
def test_no_cell_of_fewer_than_three_farms_is_shown(seed):
    farms = shares(farms=7, years=5, seed=seed)
    two = list(farms)[:2]
    farms = {
        code: rows if code in two else rows.with_columns(allocation=pl.lit("chosen")).filter(pl.col("crop_year") > 2020)
        for code, rows in farms.items()
    }
    got = review_group(group_of(farms), measures=["yield"])["yield"]
    rows = {row.row: row for row in got.carries}
    assert rows[CarriedBy.DRAWN].is_hidden
    assert rows[CarriedBy.DRAWN].field_years is None
    assert rows[CarriedBy.CHOSEN].is_hidden, "all less chosen would tell of drawn"
    assert 2020 not in [year.crop_year for year in got.comparison.by_year]
    assert got.hidden_years >= 2, "the mean of all years less the others would tell of 2020"
    assert isinstance(next(line for line in got.depends_on if line.name == "drawn_by_lot").found, str)


def test_nothing_of_a_single_field_year_is_left_in_a_groups_answer(reviewed_group):
    for one in reviewed_group[1].values():
        comparison = one.comparison
        assert (comparison.places, comparison.places_to_come, comparison.pair_differences) == ((), (), ())
        assert comparison.firm.leave_one_out == ()
    group, found = reviewed_group
    text = group_json(group, found, own=None)
    places = set(group.rows["place"])
    assert len(places) > 30
    assert [place for place in places if place in text] == []


def test_the_other_measures_are_looked_at_together_and_yield_by_itself(reviewed_group):
    marks = {name: one.holm for name, one in reviewed_group[1].items()}
    assert marks["yield"] is None
    p = {name: one.answers.another_farm.p_value for name, one in reviewed_group[1].items()}
    assert marks["days_to_harvest"].of == 2
    assert marks["days_to_harvest"].p == pytest.approx(min(2 * p["days_to_harvest"], 1), rel=1e-9)
    assert marks["green_seed"].p == pytest.approx(max(p["green_seed"], 2 * p["days_to_harvest"]), rel=1e-9)


def test_fewer_than_three_farms_are_refused(reviewed_group, demo_group):
    two = dict(list(demo_group.items())[:2])
    with pytest.raises(Refused, match="A group takes 3 farms; here are 2"):
        review_group(group_of(two))
    third, rows = list(demo_group.items())[2]
    with pytest.raises(Refused, match="No measure asked for was sent by 3 farms"):
        review_group(group_of(two | {third: rows.filter(measure="yield")}), measures=["green_seed"])
    with pytest.raises(BadInput, match="measure: 'oil' given"):
        review_group(reviewed_group[0], measures=["oil"])


def test_two_years_cannot_speak_of_years_to_come():
    got = review_group(group_of(shares(farms=4, years=2)), measures=["yield"])["yield"]
    assert got.answers.these_farms.finding is Finding.TOO_FEW
    assert "There are 2 years; at least 3 are needed" in group_sentence(got)
    assert got.answers.model is None


def test_this_farm_is_told_where_it_stands(reviewed_group, demo_group):
    code = next(iter(demo_group))
    one = reviewed_group[1]["yield"]
    farm = next(farm for farm in one.answers.farms if farm.name == code)
    assert own_farm(one, code).startswith(f"Farm {code} by itself: {abs(farm.raw):.1f} bu/ac")
    assert own_farm(one, "2222-2222") == ""
    assert own_farm(one, None) == ""


def test_what_depends_is_asked_over_farms(reviewed_group, demo_group):
    rows = pl.concat(demo_group.values()).filter(measure="yield")
    d = (rows["standing"] - rows["windrowed"]).to_numpy()
    x = (rows["shatter_tolerant"] == "yes").to_numpy()
    expected = pooled_contrast(d, rows["farm"].to_list(), rows["crop_year"].to_list(), x)
    line = next(line for line in reviewed_group[1]["yield"].depends_on if line.name == "shatter_tolerant")
    assert line.found.difference == pytest.approx(expected.difference, rel=1e-6)
    assert line.low < line.found.difference < line.high
    assert sum(line.field_years) == rows.height


def test_pairs_keep_how_they_were_made(reviewed_group):
    rows = reviewed_group[0].rows.filter(measure="yield")
    pairs = pairs_of_group(rows)
    assert pairs.farms == rows["farm"].unique(maintain_order=True).to_list()
    assert pairs.standing.size == rows.height
    assert int(pairs.is_early.sum()) == rows["early_cut"].sum()


@pytest.fixture
def standrow(monkeypatch, capsys, tmp_path):
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))
    monkeypatch.setattr(common.out, "width", 150)
    return command(monkeypatch, capsys)


def test_the_command_prints_the_three_questions_and_the_farms(standrow, tmp_path):
    folder = tmp_path / "group"
    folder.mkdir()
    farms = {code: rows.filter(pl.col("measure") != "green_seed") for code, rows in shares(farms=4).items()}
    for code, rows in farms.items():
        rows.write_csv(folder / f"{code}.csv")
    code, out, _ = standrow("pool", folder, "--measure", "yield")
    assert code == 0
    assert out.startswith("4 farms, crop years 2020 to 2025, newest share 2025-12-01, standrow ")
    assert all(words in out for words in ("these records", "On these farms in years to come", "On another farm"))
    assert all(f"\n {farm} " in out for farm in farms)
    code, out, _ = standrow("pool", folder, "--json")
    got = json.loads(out)
    assert (code, got["farms"], got["this_farm"]) == (0, 4, None)
    assert [one["measure"] for one in got["measures"]] == ["yield", "days_to_harvest"]
    one = got["measures"][0]
    assert {"these_records", "these_farms", "another_farm", "farms", "carries", "depends_on", "by_year"} <= set(one)
    assert one["another_farm"]["farm_low"] < one["another_farm"]["low"] < one["another_farm"]["estimate"]


def test_the_command_tells_faults_and_ends_with_2(standrow, tmp_path, demo_group):
    for code, rows in list(demo_group.items())[:3]:
        rows.with_columns(place=pl.lit("x")).head(1).write_csv(tmp_path / f"{code}.csv")
    code, _, said = standrow("pool", tmp_path)
    assert code == 2
    assert "Nothing was pooled, because of 3 faults:" in said
    assert "Traceback" not in said


def test_years_that_may_not_be_shown_are_not_named_though_they_disagree():
    """Three farms, one of them with one year: no year may be shown, and the sentence still reads."""
    found = review_group(group_of(shares(farms=3)), measures=["yield"])["yield"]
    assert not found.comparison.by_year
    assert re.search(r"\b20[0-9]{2}\b", group_sentence(found)) is None

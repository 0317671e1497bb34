"""Grades and green seed: limits as the law prints them, rounding at the edge and past it, counts and interval."""

import csv
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import duckdb
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.pairs import grading
from analytics.pairs.one_pair import one_pair
from analytics.storage.database import read_table
from analytics.trade import grade_limits
from analytics.trade.grade_limits import Limit

TRADE = Path(__file__).resolve().parents[1] / "published" / "trade"
REGULATION = "Canada Grain Regulations, Schedule 3, Table 19"


def limit(factor: str, no1: str, no2: str, no3: str, decimals: int) -> Limit:
    maxima = (Decimal(no1), Decimal(no2), Decimal(no3))
    return Limit(factor=factor, maxima=maxima, decimals=decimals, source=REGULATION)


GREEN = limit("distinctly_green", "2", "6", "20", 0)
HEATED = limit("heated", "0.1", "0.5", "2.0", 1)
DAMAGE = limit("total_damage", "5", "12", "25", 0)


def read_green(green: int, crushed: int) -> grade_limits.Reading:
    return grade_limits.read_against({"green_pct": grade_limits.percent_of(green, crushed)}, [GREEN])


def test_the_table_of_limits_is_the_published_one(demo: duckdb.DuckDBPyConnection) -> None:
    """grade_limits.csv: Canada Grain Regulations, Schedule 3, Table 19; 7 CFR 810.304; what a sample here can hold."""
    with (TRADE / "grade_limits.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    published = [row for row in rows if row["status"] == "current" and row["factor"] in grade_limits.COUNTED_AS]
    numbers = ("max_no1", "max_no2", "max_no3")
    words = ("jurisdiction", "edition", "factor", "source")
    expected = {
        tuple(row[name] for name in words)
        + tuple(Decimal(row[name]) for name in numbers)
        + (int(row["decimals_as_written"]),)
        for row in published
    }
    got = read_table(demo, "grade_limits").select(*words, *numbers, "decimals_as_written")
    assert got.height == len(published)
    assert set(got.iter_rows()) == expected


@pytest.mark.parametrize("jurisdiction", ["CA", "US"])
@pytest.mark.parametrize("crop_year", [1980, 2021, 2100])
def test_one_limit_a_factor_holds_in_any_crop_year(
    demo: duckdb.DuckDBPyConnection, jurisdiction: str, crop_year: int
) -> None:
    limits = grading.limits_in_force(demo, jurisdiction, crop_year=crop_year)
    assert [one.counted_as for one in limits] == list(grade_limits.FACTOR_WORDS)


NEW_EDITION = """
create table of_today as from grade_limits;
create or replace view grade_limits as
select * replace (2026 as last_crop_year) from of_today
union all
select * replace ('new' as edition, 2027 as first_crop_year, (max_no1 / 2)::decimal(5, 2) as max_no1) from of_today;
"""


def test_a_new_edition_holds_from_its_first_crop_year_and_the_one_before_until_then(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    connection.execute(NEW_EDITION)
    green = {year: grading.limits_in_force(connection, "CA", crop_year=year)[0] for year in (2025, 2026, 2027, 2028)}
    assert {year: limit.maxima[0] for year, limit in green.items()} == {2025: 2, 2026: 2, 2027: 1, 2028: 1}


def test_a_pair_is_read_against_the_limits_of_its_own_crop_year(
    tiny: Callable[[dict[str, list[dict[str, object]]]], duckdb.DuckDBPyConnection],
) -> None:
    """8 of 500 are 1.6 %, rounded 2: inside today's 2 % for No. 1, beyond the 1 % of the edition made up for 2027."""
    pair = {"pair": "A", "standing_field": "Home", "standing_plot": "east", "layout": "split field"}
    plot = {"field": "Home", "plot": "east"}
    years = (2026, 2027)
    connection = tiny(
        {
            "fields": [{"field": "Home"}],
            "plots": [{**plot, "crop_year": year, "method": "standing"} for year in years],
            "pairs": [{**pair, "crop_year": year} for year in years],
            "samples": [{**plot, "crop_year": y, "sample": "1", "seeds_crushed": 500, "green_seeds": 8} for y in years],
        }
    )
    connection.execute(NEW_EDITION)
    said = {}
    for year in years:
        facts = [fact for group in one_pair(connection, year, "A").groups for fact in group.facts]
        said[year] = next(fact.standing for fact in facts if fact.label.startswith("within the limits"))
    assert (said[2026][:5], said[2027][:5]) == ("No. 1", "No. 2")


def test_the_moisture_classes_are_the_published_ones(demo: duckdb.DuckDBPyConnection) -> None:
    """moisture_classes.csv: Off Grades of Grain and Grades of Screenings Order, C.R.C. c. 890, Schedules I and II."""
    with (TRADE / "moisture_classes.csv").open(encoding="utf-8", newline="") as file:
        (published,) = [row for row in csv.DictReader(file) if row["crop"] == "canola"]
    (got,) = read_table(demo, "constants").iter_rows(named=True)
    assert got["max_dry_pct"] == Decimal(published["max_dry_pct"])
    assert got["max_tough_pct"] == Decimal(published["max_tough_pct"])


def test_the_limits_of_each_jurisdiction_are_held_against_a_sample(demo: duckdb.DuckDBPyConnection) -> None:
    canada = {one.factor: one for one in grading.limits_in_force(demo, "CA", crop_year=2025)}
    assert [one.counted_as for one in canada.values()] == list(grade_limits.FACTOR_WORDS)
    assert canada["total_damage"].maxima == (5, 12, 25)
    assert canada["distinctly_green"].decimals == 0
    united_states = {one.factor: one for one in grading.limits_in_force(demo, "US", crop_year=2025)}
    assert united_states["total_damage"].maxima == (3, 10, 20)
    assert united_states["distinctly_green"].decimals == 1


@pytest.mark.parametrize(
    ("green", "crushed", "as_rounded", "strictly"),
    [
        (10, 500, "1", "1"),
        (12, 500, "1", "2"),
        (13, 500, "2", "2"),
        (5, 200, "2", "2"),  # exactly 2.5 %: a half goes up
        (32, 500, "2", "3"),
        (33, 500, "3", "3"),
        (102, 500, "3", "Sample"),
        (103, 500, "Sample", "Sample"),
        (0, 500, "1", "1"),
    ],
)
def test_green_count_at_each_limit_and_just_past_it(green: int, crushed: int, as_rounded: str, strictly: str) -> None:
    """GREEN_ROUND and its neighbours: Canada Grain Regulations, Schedule 3, section 1."""
    reading = read_green(green, crushed)
    assert (reading.grade, reading.strict_grade) == (as_rounded, strictly)


@pytest.mark.parametrize(
    ("given", "against", "as_rounded", "strictly"),
    [
        ({"heated_pct": Decimal("0.14")}, HEATED, "1", "2"),
        ({"heated_pct": Decimal("0.15")}, HEATED, "2", "2"),
        ({"total_damage_pct": Decimal("5.4")}, DAMAGE, "1", "2"),
        ({"total_damage_pct": Decimal("5.5")}, DAMAGE, "2", "2"),
    ],
)
def test_heated_and_damage_round_to_the_decimals_as_written(
    given: dict[str, Decimal], against: Limit, as_rounded: str, strictly: str
) -> None:
    """Canada Grain Regulations, Schedule 3, section 1: limits in tenths round to tenths, whole ones to whole."""
    reading = grade_limits.read_against(given, [against])
    assert (reading.grade, reading.strict_grade) == (as_rounded, strictly)


def test_the_united_states_write_green_in_tenths_so_the_same_count_reads_otherwise() -> None:
    """7 CFR 810.304 writes 2.0; 12 in 500 is 2.4 and stays beyond it."""
    reading = grade_limits.read_against(
        {"green_pct": Decimal("2.4")}, [limit("distinctly_green", "2.0", "6.0", "20.0", 1)]
    )
    assert (reading.grade, reading.strict_grade) == ("2", "2")


def test_the_worst_factor_limits_and_is_named() -> None:
    reading = grade_limits.read_against(
        {"green_pct": Decimal("1.0"), "heated_pct": Decimal("0.6"), "total_damage_pct": Decimal("6.0")},
        [GREEN, HEATED, DAMAGE],
    )
    assert reading.grade == "3"
    assert [factor.limit.factor for factor in reading.limiting] == ["heated"]
    assert grade_limits.reading_words(reading) == (
        "Within the limits for No. 3 as counted (heated seed 0.6\u202f%, No. 2 allows 0.5\u202f%), rounded as the law "
        "rounds and read strictly."
    )


def test_a_count_that_the_rounding_decides_is_said_both_ways() -> None:
    assert grade_limits.reading_words(read_green(12, 500)) == (
        "Within the limits for No. 1 as counted, rounded as the law rounds; read strictly within the limits for No. 2 "
        "(green seed 2.4\u202f%, No. 1 allows 2\u202f%)."
    )


def test_what_was_not_counted_is_named_and_nothing_counted_has_no_grade() -> None:
    partly = grade_limits.read_against({"green_pct": Decimal(1)}, [GREEN, HEATED])
    assert grade_limits.reading_words(partly).endswith("Not counted: heated seed.")
    nothing = grade_limits.read_against({}, [GREEN, HEATED])
    assert nothing.grade is None
    assert grade_limits.reading_words(nothing) == "Nothing was counted that a limit could be held against."


def test_the_ticket_wins_and_disagreement_is_pointed_out_both_ways() -> None:
    fewer = grade_limits.ticket_disagreement("2", read_green(9, 500))
    assert fewer == (
        "The ticket says No. 2, the counts are within the limits for No. 1 as counted. Ask what lowered it."
    )
    more = grade_limits.ticket_disagreement("1", read_green(13, 500))
    assert more == (
        "The ticket says No. 1, the counts are within the limits for No. 2 as counted (green seed 2.6\u202f%, No. 1 "
        "allows 2\u202f%). The ticket holds."
    )


@pytest.mark.parametrize("grade", ["1", "2"])
def test_a_ticket_that_agrees_with_either_reading_is_no_disagreement(grade: str) -> None:
    assert grade_limits.ticket_disagreement(grade, read_green(12, 500)) is None


def test_no_ticket_no_disagreement() -> None:
    assert grade_limits.ticket_disagreement(None, read_green(103, 500)) is None


@pytest.mark.parametrize(
    ("green", "crushed", "low", "high"),
    [(5, 500, 0.33, 2.32), (10, 500, 0.96, 3.65), (13, 500, 1.39, 4.41), (30, 500, 4.08, 8.45), (20, 1000, 1.23, 3.07)],
)
def test_interval_of_a_crush_count(green: int, crushed: int, low: float, high: float) -> None:
    """GREEN_CI and its neighbours: exact binomial (Clopper-Pearson), 95 %, derived."""
    count = grading.green_count(green, crushed)
    assert (round(count.low, 2), round(count.high, 2)) == (low, high)


@pytest.mark.parametrize(
    ("green", "crushed", "strictly", "expected"),
    [
        (9, 500, False, 0.776879760159),  # 0.88 when the share is taken as known
        (9, 500, True, 0.633709960437),
        (12, 500, False, 0.540593397775),
        (0, 500, True, 0.99989479674),
        (20, 1000, False, 0.738398512925),
    ],
)
def test_the_chance_of_a_recount_knows_that_the_share_was_only_counted(
    green: int, crushed: int, strictly: bool, expected: float
) -> None:
    """R 4.2.2: integrate(function(p) pbinom(most, 500, p) * dbeta(p, green + .5, crushed - green + .5), 0, 1)."""
    count = grading.green_count(green, crushed)
    assert grading.recount_chance(count, GREEN, strictly=strictly) == pytest.approx(expected, abs=1e-9)


def test_a_recount_may_keep_the_limit_more_easily_when_rounded() -> None:
    count = grading.green_count(12, 500)
    assert grade_limits.most_green_allowed(GREEN, strictly=False) == 12
    assert grade_limits.most_green_allowed(GREEN, strictly=True) == 10
    assert grading.recount_chance(count, GREEN, strictly=False) > grading.recount_chance(count, GREEN, strictly=True)


def test_more_green_than_crushed_is_refused() -> None:
    with pytest.raises(ValueError, match="13 of 12"):
        grading.green_count(13, 12)


@pytest.mark.parametrize(
    ("moisture", "expected"),
    [(10.0, "dry"), (10.04, "dry"), (10.05, "tough"), (10.1, "tough"), (12.5, "tough"), (12.55, "damp")],
)
def test_moisture_class_at_each_limit_and_just_past_it(
    demo: duckdb.DuckDBPyConnection, moisture: float, expected: str
) -> None:
    """C.R.C. c. 890, Schedule I: dry to 10.0, tough 10.1 to 12.5, damp above."""
    assert grading.moisture_class(demo, moisture) == expected


@given(st.integers(1, 1000), st.data())
def test_rounding_never_makes_a_count_stricter(crushed: int, data: st.DataObject) -> None:
    reading = read_green(data.draw(st.integers(0, crushed)), crushed)
    assert reading.grade is not None
    assert reading.strict_grade is not None
    assert grade_limits.GRADES.index(reading.grade) <= grade_limits.GRADES.index(reading.strict_grade)


@pytest.mark.parametrize(("jurisdiction", "grade"), [("CA", "1"), ("US", "2")])
def test_a_half_is_rounded_as_the_law_of_the_place_rounds(
    demo: duckdb.DuckDBPyConnection, jurisdiction: str, grade: str
) -> None:
    """Canada writes whole numbers (2.15 is 2), the United States tenths (2.05 to the even tenth is 2.0, 2.15 is 2.2).

    Canada Grain Regulations, Schedule 3, section 1; 7 CFR 810.104 (from memory).
    """
    green = grading.limits_in_force(demo, jurisdiction, crop_year=2025)[0]
    assert grade_limits.read_against({"green_pct": Decimal("2.05")}, [green]).grade == "1"
    assert grade_limits.read_against({"green_pct": Decimal("2.15")}, [green]).grade == grade
    assert grade_limits.read_against({"green_pct": Decimal("6.05")}, [green]).grade == "2"


def test_heated_at_an_exact_half_goes_up_in_canada_and_to_the_even_tenth_in_the_united_states(
    demo: duckdb.DuckDBPyConnection,
) -> None:
    grades = {}
    for jurisdiction in ("CA", "US"):
        limits = grading.limits_in_force(demo, jurisdiction, crop_year=2025)
        (heated,) = [one for one in limits if one.counted_as == "heated_pct"]
        found = [grade_limits.read_against({"heated_pct": Decimal(text)}, [heated]) for text in ("0.15", "0.45")]
        grades[jurisdiction] = [reading.factors[0].rounded for reading in found]
    assert grades == {"CA": [Decimal("0.2"), Decimal("0.5")], "US": [Decimal("0.2"), Decimal("0.4")]}


def test_the_edition_of_the_limits_is_told_with_what_was_not_read(demo: duckdb.DuckDBPyConnection) -> None:
    said = grade_limits.edition_words(grading.limits_in_force(demo, "CA", crop_year=2025))
    assert said.startswith("Limits: Canada Grain Regulations, C.R.C. c. 889, Schedule 3, Table 19 (Canola, Canada)")
    assert "consolidated to June 2021. A text consolidated to 19 August 2024 exists and was not read" in said


@given(st.integers(0, 2000), st.sampled_from([200, 500, 1000, 2000]), st.sampled_from(["up", "to even"]))
def test_the_most_green_allowed_is_where_the_reading_turns(green: int, crushed: int, halves: str) -> None:
    against = replace(GREEN, decimals=1, maxima=(Decimal("2.0"), Decimal("6.0"), Decimal("20.0")), halves=halves)
    for one in (GREEN, against):
        percent = grade_limits.percent_of(min(green, crushed), crushed)
        reading = grade_limits.read_against({"green_pct": percent}, [one])
        most = [grade_limits.most_green_allowed(one, strictly=strictly, seeds=crushed) for strictly in (False, True)]
        assert (min(green, crushed) <= most[0]) == (reading.grade == "1")
        assert (min(green, crushed) <= most[1]) == (reading.strict_grade == "1")


def demo_reading(demo: duckdb.DuckDBPyConnection, crop_year: int, field: str) -> tuple[str, grade_limits.Reading]:
    rows = read_table(demo, "samples").filter(
        pl.col("crop_year") == crop_year, pl.col("field") == field, pl.col("grade").is_not_null()
    )
    (sample,) = rows.iter_rows(named=True)
    limits = grading.limits_in_force(demo, "CA", crop_year=crop_year)
    return sample["grade"], grade_limits.read_against(grade_limits.sample_percents(sample), limits)


def test_the_demo_ticket_that_its_count_does_not_explain_is_pointed_out(demo: duckdb.DuckDBPyConnection) -> None:
    """sample_records/README: 2022, Bluff quarter, 9 green in 500, ticket says No. 2."""
    ticket, reading = demo_reading(demo, 2022, "Bluff quarter")
    assert (ticket, reading.grade) == ("2", "1")
    assert (grade_limits.ticket_disagreement(ticket, reading) or "").startswith("The ticket says No. 2")


def test_the_demo_count_that_the_rounding_decides(demo: duckdb.DuckDBPyConnection) -> None:
    """sample_records/README: 2024, Bluff quarter, 12 green in 500, No. 1 rounded, not read strictly."""
    ticket, reading = demo_reading(demo, 2024, "Bluff quarter")
    assert (ticket, reading.grade, reading.strict_grade) == ("1", "1", "2")
    assert grade_limits.ticket_disagreement(ticket, reading) is None


def test_a_count_without_what_was_crushed_is_held_against_nothing():
    blank = dict.fromkeys([*grade_limits.FACTOR_WORDS, "green_seeds", "seeds_crushed"])
    assert grade_limits.sample_percents(blank | {"green_seeds": 4}) == {}
    assert grade_limits.sample_percents(blank | {"seeds_crushed": 500}) == {}
    assert grade_limits.sample_percents(blank | {"green_seeds": 4, "seeds_crushed": 500}) == {
        "green_pct": Decimal("0.8")
    }

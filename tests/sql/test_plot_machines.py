"""Hours, fuel and stops of a plot against arithmetic by hand: one plot, several in one job, and what is missing."""

from datetime import date

import polars as pl
import pytest

from analytics.pairs.gaps import read_gaps, to_look_for
from analytics.pairs.one_pair import one_pair
from analytics.storage.database import read_table
from analytics.trade.measures import MACHINE_MEASURES
from tests.sql.two_halves import EAST, WEST, Row, Tables, Tiny, only, pair_of_plots

CUT, COMBINED = date(2024, 8, 20), date(2024, 9, 1)


def work(plot: Row, operation: str, *, on: date = COMBINED, **more: object) -> Row:
    return {**plot, "done_on": on, "operation": operation, **more}


def harvested(operations: list[Row]) -> Tables:
    """The pair of plots, both combined, so that it is no longer planned."""
    tables = pair_of_plots(operations=operations)
    for plot in tables["plots"]:
        plot["harvested_on"] = COMBINED
    return tables


WINDROWED = [
    work(WEST, "swathing", on=CUT, hours=2.5, fuel_l=60.0),
    work(WEST, "combining", hours=5.0, fuel_l=300.0, stops=2),
]
STANDING = [work(EAST, "straight cutting", hours=4.0, fuel_l=260.0, stops=1, machine="red", operator="A")]


def test_pace_hours_fuel_and_stops_of_50_acres_by_hand(tiny: Tiny) -> None:
    connection = tiny(harvested([*STANDING, *WINDROWED]))
    standing, windrowed = only(connection, "plot_machines"), only(connection, "plot_machines", WEST)
    names = ("pace_ac_h", "hours_per_100_ac", "fuel_l_ac", "stops_per_100_ac")
    assert [standing[name] for name in names] == [12.5, 8.0, 5.2, 2.0]  # 50 / 4; 100 x 4 / 50; 260 / 50; 100 x 1 / 50
    assert [windrowed[name] for name in names] == [10.0, 15.0, 7.2, 4.0]  # (2.5 + 5) h and (60 + 300) L on 50 acres
    pairs = read_table(connection, "pair_measures").filter(pl.col("measure").is_in(MACHINE_MEASURES))
    found = dict(pairs.select("measure", "difference").iter_rows())
    assert found == {"combining_pace": 2.5, "machine_hours": -7.0, "fuel": pytest.approx(-2.0), "stops": -2.0}


def test_one_job_over_plots_of_one_method_is_split_by_their_acres(tiny: Tiny) -> None:
    other = EAST | {"plot": "middle"}
    tables = pair_of_plots(
        operations=[
            work(EAST, "combining", hours=6.0, fuel_l=390.0, stops=3, job="standing"),
            work(other, "combining", job="standing"),
        ]
    )
    tables["plots"].append(other | {"method": "standing", "acres": 25.0})
    connection = tiny(tables)
    for plot, acres in ((EAST, 50.0), (other, 25.0)):
        found = only(connection, "plot_machines", plot)
        assert found["combining_hours"] == pytest.approx(6.0 * acres / 75.0)
        assert found["pace_ac_h"] == pytest.approx(12.5)
        assert (found["fuel_l_ac"], found["stops_per_100_ac"]) == (pytest.approx(5.2), pytest.approx(4.0))


def test_one_job_with_both_methods_says_nothing_of_either(tiny: Tiny) -> None:
    both = [work(EAST, "combining", hours=9.0, stops=3, job="all"), work(WEST, "combining", job="all")]
    found = only(tiny(pair_of_plots(operations=both)), "plot_machines")
    assert (found["pace_ac_h"], found["hours_per_100_ac"], found["stops_per_100_ac"]) == (None, None, None)
    assert found["missing_pace"] == "the hours of combining by method, in one job with both"


def test_a_job_with_an_unknown_area_is_not_split(tiny: Tiny) -> None:
    other = EAST | {"plot": "middle"}
    tables = pair_of_plots(operations=[work(EAST, "combining", hours=6.0, job="j"), work(other, "combining", job="j")])
    tables["plots"].append(other | {"method": "standing"})
    assert only(tiny(tables), "plot_machines")["combining_hours"] is None


@pytest.mark.parametrize(
    ("left_out", "missing"), [(0, "the hours of windrowing"), (1, "the hours of combining")], ids=["cut", "combined"]
)
def test_hours_without_a_needed_job_are_unknown_and_name_it(tiny: Tiny, left_out: int, missing: str) -> None:
    rows = [row for at, row in enumerate(WINDROWED) if at != left_out]
    found = only(tiny(pair_of_plots(operations=rows)), "plot_machines", WEST)
    assert (found["hours_per_100_ac"], found["missing_hours"]) == (None, missing)


def test_a_product_needs_its_application_and_is_no_machine_itself(tiny: Tiny) -> None:
    tables = pair_of_plots(operations=[*STANDING, work(EAST, "pre-harvest product", on=CUT)])
    tables["plots"][0] |= {"preharvest_on": CUT, "harvested_on": COMBINED}
    assert only(tiny(tables), "plot_machines")["missing_hours"] == "the hours of application"


def test_an_earlier_spraying_is_no_job_of_the_harvest(tiny: Tiny) -> None:
    early = work(EAST, "spraying", on=date(2024, 6, 10), hours=9.0)
    late = work(EAST, "spraying", on=CUT, hours=1.0)
    tables = pair_of_plots(operations=[*STANDING, early, late])
    tables["plots"][0] |= {"preharvest_on": CUT, "harvested_on": COMBINED}
    assert only(tiny(tables), "plot_machines")["hours_per_100_ac"] == 10.0  # 4 + 1 hours


def test_rolling_on_record_needs_its_hours_too(tiny: Tiny) -> None:
    rows = [*WINDROWED, work(WEST, "rolling", on=CUT)]
    assert only(tiny(pair_of_plots(operations=rows)), "plot_machines", WEST)["missing_hours"] == "the hours of rolling"


def test_hours_are_asked_for_only_in_a_year_in_which_somebody_noted_them(tiny: Tiny) -> None:
    (row,) = read_gaps(tiny(harvested([work(EAST, "combining"), work(WEST, "combining")])))
    assert {row.cells[name].state for name in MACHINE_MEASURES} == {"not noted that year"}
    assert not any(set(thing.measures) & set(MACHINE_MEASURES) for thing in to_look_for([row]))


def test_hours_noted_for_one_side_are_asked_for_on_the_other(tiny: Tiny) -> None:
    (row,) = read_gaps(tiny(harvested(STANDING)))
    assert row.cells["combining_pace"].state == "one side"
    lack = row.cells["combining_pace"].lacks[0]
    assert (lack.paper, lack.column, lack.plot) == ("operations", "hours", "west")


def test_who_was_at_the_wheel_and_with_what_is_a_difference_besides_the_method(tiny: Tiny) -> None:
    other = [WINDROWED[0], WINDROWED[1] | {"machine": "green", "operator": "B"}]
    said = one_pair(tiny(pair_of_plots(operations=[*STANDING, *other])), 2024, "A").cautions
    assert "The sides were combined with different machines." in said
    assert "Different people were at the wheel of the combine." in said

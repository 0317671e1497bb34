"""How many acres one combine can take: the farm's own pace by method, its days, and the rate by the hour."""

from dataclasses import replace
from datetime import date

import pytest

from analytics.answer.machine_wording import combine_line, windrower_free_words
from analytics.errors import BadInput
from analytics.money import costs
from analytics.money.combine_capacity import MachinesOnRecord, machines_on_record, one_combine
from analytics.storage.database import read_table
from analytics.trade.field_capacity import acres_taken, effective_field_capacity
from tests.conftest import small_records

FIRST, LAST = date(2024, 9, 1), date(2024, 9, 10)


def plots_of(year: int, hours: float) -> dict[str, list[dict[str, object]]]:
    """A standing plot of 50 acres combined over ten days with one rainy day, and a windrowed one."""
    east, west = ({"crop_year": year, "field": "Home", "plot": plot} for plot in ("east", "west"))
    later = east | {"plot": "later"}
    day = {"harvested_on": date(year, 9, 1)}
    return {
        "plots": [
            east | {"method": "standing", "acres": 50.0} | day,
            later | {"method": "standing", "acres": 30.0, "harvested_on": date(year, 9, 10)},
            west | {"method": "windrowed", "acres": 50.0} | day,
        ],
        "operations": [
            east | {"done_on": date(year, 9, 1), "operation": "combining", "hours": hours},
            west | {"done_on": date(year, 8, 20), "operation": "windrowing", "hours": 2.5},
            west | {"done_on": date(year, 9, 1), "operation": "combining", "hours": 5.0},
        ],
        "weather": [{"happened_on": date(year, 9, 5), "event": "rain", "reading": 4.0, "unit": "mm"}],
    }


def two_years() -> dict[str, list[dict[str, object]]]:
    one, other = plots_of(2023, 5.0), plots_of(2024, 4.0)
    return {"fields": [{"field": "Home"}], **{name: [*one[name], *other[name]] for name in one}}


@pytest.fixture(scope="module")
def machines(tmp_path_factory) -> MachinesOnRecord:
    """What the machines of the two years did."""
    with small_records(tmp_path_factory.mktemp("farm") / "records.duckdb", two_years()) as connection:
        return machines_on_record(connection)


def test_field_capacity_is_that_of_the_extension_formula():
    """Iowa State University Extension, PM 696 (A3-24): acres an hour = mph x width in ft / 8.25 x field efficiency;
    and effective capacity is acres over hours in the field. 8.25 is 43,560 sq ft of an acre over 5,280 ft of a mile.
    """
    assert 43_560 / 5_280 == 8.25
    assert effective_field_capacity(speed_mph=4.0, width_ft=30.0, field_efficiency=0.7) == pytest.approx(
        10.1818, abs=1e-4
    )
    one_hour_acres = 4.0 * 5280 * 30.0 / 43_560 * 0.7
    assert effective_field_capacity(speed_mph=4.0, width_ft=30.0, field_efficiency=0.7) == pytest.approx(one_hour_acres)


@pytest.mark.parametrize("bad", [{"speed_mph": 0.0}, {"width_ft": -1.0}, {"field_efficiency": 1.1}])
def test_a_machine_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match="above 0"):
        effective_field_capacity(**({"speed_mph": 4.0, "width_ft": 30.0, "field_efficiency": 0.7} | bad))
    with pytest.raises(ValueError, match="0 or more"):
        acres_taken(acres_per_hour=-1.0, hours_a_day=9.0, days=1.0)


def test_the_farms_own_pace_by_method_with_its_years_and_days(machines):
    standing, windrowed = machines.paces
    assert (standing.method, standing.years) == ("standing", (2023, 2024))
    assert standing.acres_per_hour == pytest.approx(100 / 9)
    assert (standing.low, standing.high) == (10.0, 12.5)
    assert (standing.suitable_days, windrowed.suitable_days) == (9.0, 1.0)  # ten days less one of rain; one day
    assert (windrowed.low, windrowed.high) == (10.0, 10.0)


def test_acres_are_pace_times_hours_times_days_with_the_range_of_the_years(machines):
    standing, _ = machines.paces
    taken = one_combine(standing, hours_a_day=9.0, days=20.0)
    assert (taken.acres, taken.low, taken.high) == (pytest.approx(2000.0), 1800.0, 2250.0)
    assert combine_line(standing, hours_a_day=9.0, days=20.0) == (
        "Standing: one combine takes about 2,000 acres, at 11.1 ac/h (10.0 to 12.5 by year, 2 crop years on record), 9 "
        "hours a day and 20 suitable days; the slowest and the fastest year make it 1,800 to 2,250 acres."
    )
    assert "and 5.5 suitable days" in combine_line(standing, hours_a_day=9.0, days=5.5)


@pytest.mark.parametrize(("on_record", "days"), [(5.5, 6.0), (5.25, 5.0), (0.4, 1.0), (None, 10.0)])
def test_screen_and_sheet_begin_with_whole_days_so_that_pace_hours_and_days_give_the_acres(machines, on_record, days):
    standing, _ = machines.paces
    assert replace(standing, suitable_days=on_record).first_days == days


def test_what_the_windrower_is_free_for_comes_from_its_own_hours(machines):
    assert windrower_free_words(machines).startswith(
        "Every 100 acres left standing free the windrower and whoever runs it for about 5.0 hours"
    )


@pytest.mark.parametrize(("hours", "days"), [(0.0, 10.0), (25.0, 10.0), (9.0, 0.0), (9.0, 121.0)])
def test_hours_beyond_a_day_and_days_beyond_a_season_are_refused(machines, hours, days):
    with pytest.raises(BadInput, match="allowed above 0 to"):
        one_combine(machines.paces[0], hours_a_day=hours, days=days)


def combining_costs(connection) -> dict[tuple[int, str], tuple[float, str]]:
    rows = read_table(connection, "plot_costs").filter(item="combining")
    return {
        (year, plot): (dollars, item)
        for year, plot, dollars, item in rows.select("crop_year", "plot", "dollars_ac", "rate_item").iter_rows()
    }


def test_a_rate_by_the_hour_takes_the_place_of_the_rate_by_the_acre_and_never_stands_beside_it(tiny):
    farm = tiny(two_years())
    by_acre = costs.cost_rates(farm)["combining"].middle
    assert combining_costs(farm)[2024, "east"] == (by_acre, "combining")
    costs.keep_rates(farm, costs.own_rate("combining by the hour", middle="400"), done_by="test")
    found = combining_costs(farm)
    assert found[2024, "east"] == (400 * 4.0 / 50, "combining by the hour")
    assert found[2024, "west"] == (400 * 5.0 / 50, "combining by the hour")
    assert found[2024, "later"] == (by_acre, "combining")  # no hours are on record there

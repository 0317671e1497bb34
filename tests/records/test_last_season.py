"""Plots copied from the year before, and pairs that are offered."""

from datetime import date

import polars as pl
import pytest

from analytics.records.last_season import copied_plots, offered_pairs
from analytics.records.tables import TABLES


def records(**tables):
    return {name: pl.DataFrame(tables.get(name, []), schema=table.polars_schema()) for name, table in TABLES.items()}


def plot(field, name, method, year=2026, acres=40.0):
    return {"crop_year": year, "field": field, "plot": name, "method": method, "acres": acres}


def planting(field, variety, day):
    return {"crop_year": 2026, "field": field, "variety": variety, "seeded_on": date(2026, 5, day)}


def test_last_years_plots_come_without_dates_and_without_those_already_there():
    old = [
        plot("A", "east", "standing", 2024),
        plot("A", "west", "windrowed", 2024),
        plot("B", "all", "standing", 2020),
    ]
    year, rows = copied_plots(records(plots=[*old, plot("A", "west", "standing")]), crop_year=2026)
    assert year == 2024
    assert rows == [{"field": "A", "plot": "east", "method": "standing", "acres": "40"}]
    assert copied_plots(records(), crop_year=2026) == (None, [])


def test_two_plots_of_one_field_are_offered_before_fields_that_are_alike():
    plots = [plot("A", "east", "standing"), plot("A", "west", "windrowed"), plot("B", "all", "windrowed")]
    plantings = [planting("A", "Variety A", 4), planting("B", "Variety A", 4)]
    (offer,) = offered_pairs(records(plots=plots, plantings=plantings), crop_year=2026)
    assert offer.words == "A, east (standing) with A, west (windrowed): same field"
    assert (offer.typed["pair"], offer.typed["layout"]) == ("1", "split field")


def test_a_half_is_never_offered_with_a_strip_and_strips_go_with_their_neighbours():
    sized = {"east": 36.0, "west": 34.0, "s1": 6.0, "s2": 6.0, "s3": 6.0, "s4": 6.0}
    standing = {"east", "s2", "s3"}
    plots = [
        plot("A", name, "standing" if name in standing else "windrowed") | {"acres": acres}
        for name, acres in sized.items()
    ]
    offers = offered_pairs(records(plots=plots), crop_year=2026)
    found = {(one.typed["standing_plot"], one.typed["windrowed_plot"], one.typed["layout"]) for one in offers}
    assert found == {("east", "west", "split field"), ("s2", "s1", "strips"), ("s3", "s4", "strips")}
    big = [plot("A", "home", "standing") | {"acres": 70.0}, plot("A", "corner", "windrowed") | {"acres": 6.0}]
    assert offered_pairs(records(plots=big), crop_year=2026) == []


@pytest.mark.parametrize(
    ("day", "variety", "offered"), [(25, "Variety A", 1), (26, "Variety A", 0), (4, "Variety B", 0)]
)
def test_fields_are_offered_within_three_weeks_of_seeding_and_of_one_variety(day, variety, offered):
    plots = [plot("A", "all", "standing"), plot("B", "all", "windrowed")]
    plantings = [planting("A", "Variety A", 4), planting("B", variety, day)]
    assert len(offered_pairs(records(plots=plots, plantings=plantings), crop_year=2026)) == offered


def test_a_plot_in_a_pair_is_not_offered_and_a_name_in_use_is_not_given_again():
    plots = [plot(field, name, method) for field in "AB" for name, method in (("e", "standing"), ("w", "windrowed"))]
    pair = {"crop_year": 2026, "pair": "1", "standing_field": "A", "standing_plot": "e", "layout": "split field"}
    pair |= {"windrowed_field": "A", "windrowed_plot": "w"}
    (offer,) = offered_pairs(records(plots=plots, pairs=[pair]), crop_year=2026)
    assert (offer.typed["pair"], offer.typed["standing_field"]) == ("2", "B")

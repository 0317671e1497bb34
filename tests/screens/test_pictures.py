"""Each kind of picture is held against the schema of its language, which is left out while the program runs."""

import json
from collections.abc import Callable
from datetime import date

import altair
import duckdb
import polars as pl
import pytest
from altair.utils import schemapi

from analytics.answer import beside_published, depends_words
from analytics.answer.money_review import money_review, outlook, swings
from analytics.answer.review import depends_on_of
from analytics.bins.watched_bins import read_bins
from analytics.pairs.compared_pairs import pair_facts, pair_rows
from analytics.pairs.conditions import loss_conditions
from analytics.pairs.timing import calendar_bars, calendar_weather, exploration
from analytics.planning.drawing_lots import layout
from analytics.planning.season_plan import fields_at_first, plan_season, read_start
from analytics.statistics.results import Comparison
from analytics.trade.budget import Change
from dashboard.frame.shown_picture import specification
from dashboard.pictures import bin_trend, calendar_chart, charts, field_map, money_charts, published_chart
from dashboard.winter import exploring


def checked(picture: altair.LayerChart) -> dict[str, object]:
    """The picture as the browser gets it, its frames as rows; refused where the language does not know a part of it."""
    told = specification(picture)
    assert told["datasets"]
    assert {type(frame) for frame in told["datasets"].values()} == {pl.DataFrame}  # the framework sends others slowly
    rows = {name: frame.head(2).to_dicts() for name, frame in told["datasets"].items()}  # any row is allowed
    sent: dict[str, object] = json.loads(json.dumps(told | {"datasets": rows}, default=str))
    altair.LayerChart.validate(sent)
    return sent


def of_loss(connection: duckdb.DuckDBPyConnection, found: dict[str, Comparison]) -> list[altair.LayerChart]:
    rows, facts = pair_rows(connection, "loss"), pair_facts(connection)
    loss, asked = found["loss"], depends_on_of(rows, facts, level=0.95)
    beside = beside_published.beside_published(loss, grain=found["yield"], asked=asked)
    assert beside is not None
    return [
        charts.all_measures(found),
        charts.carries_chart(loss),
        charts.pairs_chart(loss, loss.pair_differences),
        charts.by_year_chart(loss),
        charts.left_out_chart(loss),
        charts.depends_on_chart(loss, depends_words.computed(asked)),
        published_chart.beside(loss, beside.differences),
        published_chart.one_way(beside.each_way, "seed lost, bu/ac"),
    ]


def of_money(connection: duckdb.DuckDBPyConnection, found: dict[str, Comparison]) -> list[altair.LayerChart]:
    money = money_review(connection, found)
    at, net = outlook(money, 600.0), money.net_return.these_fields.estimate
    assert net is not None
    return [
        money_charts.budget_lines(money.changes, net_ac=net),
        money_charts.heat(at, prices=[600.0], unit="t/ha"),
        money_charts.what_matters(swings(money, at), unit="t/ha"),
    ]


def of_days_and_places(connection: duckdb.DuckDBPyConnection, _: dict[str, Comparison]) -> list[altair.LayerChart]:
    start = read_start(connection, 2026)
    cells = pl.DataFrame({"plot": ["a", "b"], "east_m": [0.0, 9.0], "north_m": [0.0, 5.0], "kg_ha": [2000.0, 2100.0]})
    return [
        calendar_chart.calendar(calendar_bars(connection, 2025), calendar_weather(connection, 2025)),
        bin_trend.trend(read_bins(connection, date(2026, 11, 1))[0]),
        exploring.against_wind(exploration(connection), "loss_difference", "Loss"),
        exploring.against_condition(loss_conditions(connection), "air_c", "loss, bu/ac"),
        money_charts.strips_chart(layout(plan_season(start, fields_at_first(start), {}).pairs)),
        field_map.on_record_map(cells, [("a", "standing", 1.0), ("b", "windrowed", 1.0)]),
    ]


@pytest.mark.parametrize("drawn", [of_loss, of_money, of_days_and_places])
def test_the_language_knows_every_part_of_a_picture(
    demo: duckdb.DuckDBPyConnection,
    compared: dict[str, Comparison],
    drawn: Callable[[duckdb.DuckDBPyConnection, dict[str, Comparison]], list[altair.LayerChart]],
) -> None:
    for picture in drawn(demo, compared):
        sent = checked(picture)
        assert len(sent["layer"]) == len(picture.layer)  # type: ignore[arg-type]


def test_a_part_that_it_does_not_know_is_seen() -> None:
    rule, dot = (altair.Chart(pl.DataFrame({"a": [number]})) for number in (1, 2))
    broken = altair.layer(rule.mark_rule(colour="red"), dot.mark_point())
    with pytest.raises(schemapi.jsonschema.ValidationError):
        checked(broken)


def test_a_click_selects_the_measure_of_the_rows_that_take_it(compared: dict[str, Comparison]) -> None:
    params = specification(charts.all_measures(compared))["params"]
    (click,) = (param for param in params if "select" in param)
    assert click["name"] == "chosen"
    assert click["select"] == {"type": "point", "fields": ["measure"]}
    assert len(click["views"]) == 1


def test_what_costs_the_browser_and_shows_nothing_is_not_sent(compared: dict[str, Comparison]) -> None:
    """A layer without a row, and the rows' order or words once more with each layer."""
    told = specification(charts.by_year_chart(compared["yield"]))
    assert all(told["datasets"][layer["data"]["name"]].height for layer in told["layer"])
    axes = [layer["encoding"]["y"] for layer in told["layer"] if "y" in layer["encoding"]]
    assert len(axes) > 3
    assert not any("sort" in axis or "Each crop year" in json.dumps(axis) for axis in axes)
    (labels,) = (param["value"] for param in told["params"] if param["name"] == "labels")
    assert list(labels) == axes[0]["scale"]["domain"]
    assert "Each crop year" in labels.values()


def test_a_budget_of_few_lines_has_room_for_each_above_the_axis() -> None:
    """The height of a picture holds its axis too; in 30 pixels a line, three lines were written over each other."""
    changes = [Change(name="yield", kind="revenue", dollars_ac=3.0), Change(name="seed", kind="cost", dollars_ac=1.0)]
    axis_and_title = 66  # pixels, measured on the screen: 24 of 90 were left for the bars
    bars = specification(money_charts.budget_lines(changes, net_ac=2.0))["height"] - axis_and_title
    assert bars / 3 >= 15  # the height of a bar, and of a letter

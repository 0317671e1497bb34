"""What a pair must have to count is fixed beforehand: one that misses it is shown with why, and counts nowhere."""

from collections.abc import Callable, Iterator
from datetime import date

import duckdb
import pytest

from analytics.answer.review import review
from analytics.errors import BadInput
from analytics.pairs.compared_pairs import all_pair_rows
from analytics.records.setting_values import NO_REQUIREMENT, NOT_KNOWN_LEFT_OUT, REQUIREMENTS, checked
from analytics.settings import change_settings, read_settings, setting_changes
from tests.conftest import small_records
from tests.sql.two_halves import EAST, WEST, Row, Tables, Tiny, beside_each_other, check, load, pair_of_plots

HARVESTED = date(2024, 9, 1)
MISSED = "asked for beforehand and not so: "
NOT_KNOWN = "asked for beforehand and not known: "


def farm(**more: list[Row]) -> Tables:
    tables = pair_of_plots(loads=[load(EAST, "1"), load(WEST, "2")], **more)
    for plot in tables["plots"]:
        plot["harvested_on"] = HARVESTED
    return tables


def ask(connection, *requirements: str) -> None:
    change_settings(connection, {"requirements": ", ".join(requirements)}, done_by="A grower", why="before seeding")


SOWN = {"crop_year": 2024, "field": "Home", "variety": "A", "seeded_on": date(2024, 5, 5)}
GROUND = [check(plot, "ground behind header", "1", seeds=4) for plot in (EAST, WEST)]
PAN = {"cut_width_m": 2.0, "discharge_width_m": 1.0}
EAST_PAN, WEST_PAN = (check(plot, "pan behind combine", "1", seeds=4, **PAN) for plot in (EAST, WEST))
WEIGHED_PAN = check(WEST, "pan behind combine", "1", grams=1.0, **PAN)
CART = [load(EAST, "1", weighed_by="grain cart"), load(WEST, "2")]
MONITOR = [load(EAST, "1"), load(WEST, "2", weighed_by="yield monitor")]
OTHER = SOWN | {"field": "Away", "variety": "B", "seeded_on": date(2024, 5, 19)}
AWAY = {"crop_year": 2024, "field": "Away", "plot": "west"}


def two_fields() -> Tables:
    """A pair of two fields that grew two varieties, seeded two weeks apart."""
    tables = farm() | {"loads": [load(EAST, "1"), load(AWAY, "2")], "plantings": [SOWN, OTHER]}
    tables["fields"] = [*tables["fields"], {"field": "Away"}]
    tables["plots"][1] |= AWAY
    tables["pairs"][0]["windrowed_field"] = "Away"
    return tables


def given(allocation: str, drawn_at: str | None = None) -> Tables:
    """A pair of which it is on record how its methods were given."""
    sides = {"place": 1, "first_side": "east", "second_side": "west", "first_method": "standing"}
    draw = {"crop_year": 2024, "pair": "A", "drawn_at": drawn_at, "seed": 1, **sides}
    return farm(pairs=[farm()["pairs"][0] | {"allocation": allocation}], draws=[draw] if drawn_at else [])


FARMS = {
    "nothing noted": farm(),
    "a cart beside a scale": farm() | {"loads": CART},
    "sown alike": farm(plantings=[SOWN]),
    "two varieties, two weeks apart": two_fields(),
    "seeds counted": farm(loss_checks=[*GROUND, EAST_PAN, WEST_PAN]),
    "a pan weighed": farm(loss_checks=[*GROUND, EAST_PAN, WEIGHED_PAN]),
    "chosen": given("chosen"),
    "a lot on paper": given("drawn by lot"),
    "a lot on the day before the first cut": given("drawn by lot", "2024-08-31 08:00"),
    "a lot on the day of the first cut": given("drawn by lot", "2024-09-01 08:00"),
    "a monitor": farm() | {"loads": MONITOR},
    "a monitor scaled": farm() | {"loads": MONITOR, "plot_totals": [WEST | {"certified_kg": 19_000.0}]},
}
Barred = Callable[[str, str], str | None]


@pytest.fixture(scope="module")
def farms(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Barred, Barred]]:
    """For a farm of FARMS and a measure, why its pair is in no answer: if nothing is asked, and if everything is."""

    def barred(connection: duckdb.DuckDBPyConnection) -> Barred:
        rows = all_pair_rows(connection)
        return lambda name, measure: rows[measure].filter(pair=f"A {list(FARMS).index(name)}")["barred"].item()

    path = tmp_path_factory.mktemp("requirements") / "records.duckdb"
    with small_records(path, beside_each_other(list(FARMS.values()))) as connection:
        before = barred(connection)
        ask(connection, *REQUIREMENTS)
        yield before, barred(connection)


@pytest.mark.parametrize(
    ("name", "measure"),
    [
        ("nothing noted", "yield"),
        ("a cart beside a scale", "moisture"),
        ("sown alike", "yield"),
        ("seeds counted", "loss"),
        ("a pan weighed", "yield"),
        ("a lot on paper", "yield"),
        ("a lot on the day before the first cut", "yield"),
    ],
)
def test_a_pair_that_has_what_is_asked_counts(farms: tuple[Barred, Barred], name: str, measure: str) -> None:
    _, barred = farms
    assert barred(name, measure) is None


@pytest.mark.parametrize(
    ("name", "measure", "missed"),
    [
        ("a cart beside a scale", "yield", "weighed alike"),
        ("two varieties, two weeks apart", "yield", "same variety, seeded within 7 days"),
        ("two varieties, two weeks apart", "moisture", "same variety, seeded within 7 days"),
        ("a pan weighed", "loss", "loss counted alike"),
        ("chosen", "yield", "drawn before harvest"),
        ("a lot on the day of the first cut", "yield", "drawn before harvest"),
    ],
)
def test_a_pair_that_misses_it_is_in_no_answer(
    farms: tuple[Barred, Barred], name: str, measure: str, missed: str
) -> None:
    asked_nothing, barred = farms
    assert barred(name, measure) == f"{MISSED}{missed}"
    assert asked_nothing(name, measure) is None


def test_a_yield_that_only_a_monitor_weighed_is_in_no_answer_until_a_certified_scale_stands_behind_it(
    farms: tuple[Barred, Barred],
) -> None:
    barred, _ = farms
    assert barred("a monitor", "yield") == "weighed by a yield monitor, unscaled"
    assert barred("a monitor", "moisture") is None
    assert barred("a monitor scaled", "yield") is None


def test_one_fixed_for_a_season_holds_from_its_crop_year_on_and_the_pair_is_shown_with_its_reason(tiny: Tiny) -> None:
    connection = tiny(two_fields())
    ask(connection, "same variety from 2025", "seeded within 7 days from 2024")
    assert read_settings(connection).requirements == ("same variety from 2025", "seeded within 7 days from 2024")
    missed = f"{MISSED}seeded within 7 days"
    found = review(connection, "yield")
    assert (found.pairs, found.all_pairs.barred) == (0, ((missed, 1),))
    (pair,) = found.pair_differences
    assert (pair.barred, pair.difference is not None) == (missed, True)
    assert f"1 pair in no answer: {missed}." in {caution.text for caution in found.cautions}


def test_what_is_not_known_is_told_and_left_out_only_where_the_farm_decided_so(tiny: Tiny) -> None:
    connection = tiny(farm())
    ask(connection, "same variety", "drawn before harvest")
    said = "In 1 of 1 pair it is not known whether what was asked beforehand is so: drawn before harvest, same variety."
    counted = review(connection, "yield")
    assert [pair.barred for pair in counted.pair_differences] == [None]
    assert any(caution.text.startswith(said) for caution in counted.cautions)
    left_out = {"requirement_not_known": NOT_KNOWN_LEFT_OUT}
    change_settings(connection, left_out, done_by="A grower", why="before seeding")
    left = review(connection, "yield")
    assert [pair.barred for pair in left.pair_differences] == [f"{NOT_KNOWN}drawn before harvest, same variety"]
    assert not any("not known whether what was asked" in caution.text for caution in left.cautions)


def test_what_is_asked_is_changed_with_a_reason_that_is_kept(tiny: Tiny) -> None:
    connection = tiny(farm())
    assert read_settings(connection).requirements == ()
    with pytest.raises(BadInput, match="no reason given"):
        change_settings(connection, {"requirements": "same variety"}, done_by="A grower", why="")
    ask(connection, "weighed alike", "same variety")
    assert read_settings(connection).requirements == ("weighed alike", "same variety")
    (change,) = setting_changes(connection)
    assert change.words.startswith("requirements: weighed alike, same variety, was none (")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "same soil",
        "none, same variety",
        "same variety, same variety",
        "same variety from soon",
        "same variety from 27",
    ],
)
def test_a_requirement_that_does_not_exist_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="allowed none, or some of weighed alike"):
        checked("requirements", text)
    assert checked("requirements", ", ".join(reversed(REQUIREMENTS))) == ", ".join(REQUIREMENTS)
    assert checked("requirements", NO_REQUIREMENT) == NO_REQUIREMENT
    assert checked("requirements", "same variety  from 2027,weighed alike") == "weighed alike, same variety from 2027"

"""What a pair must have to count is fixed beforehand: one that misses it is shown with why, and counts nowhere."""

from datetime import date

import pytest

from analytics.answer.review import review
from analytics.errors import BadInput
from analytics.pairs.compared_pairs import pair_rows
from analytics.records.harvest_tables import PLOT_TOTALS
from analytics.records.own_tables import DRAWS
from analytics.records.setting_values import NO_REQUIREMENT, NOT_KNOWN_LEFT_OUT, REQUIREMENTS, checked
from analytics.settings import change_settings, read_settings, setting_changes
from tests.sql.two_halves import EAST, WEST, Row, Tables, Tiny, check, load, pair_of_plots

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


def barred(connection, measure: str = "yield") -> str | None:
    return pair_rows(connection, measure)["barred"].item()


SOWN = {"crop_year": 2024, "field": "Home", "variety": "A", "seeded_on": date(2024, 5, 5)}
GROUND = [check(plot, "ground behind header", "1", seeds=4) for plot in (EAST, WEST)]
PAN = {"cut_width_m": 2.0, "discharge_width_m": 1.0}
EAST_PAN, WEST_PAN = (check(plot, "pan behind combine", "1", seeds=4, **PAN) for plot in (EAST, WEST))
WEIGHED_PAN = check(WEST, "pan behind combine", "1", grams=1.0, **PAN)
CART = [load(EAST, "1", weighed_by="grain cart"), load(WEST, "2")]


@pytest.mark.parametrize(
    ("requirement", "measure", "more"),
    [
        ("weighed alike", "yield", {}),
        ("weighed alike", "moisture", {"loads": CART}),
        ("same variety", "yield", {"plantings": [SOWN]}),
        ("seeded within 7 days", "yield", {"plantings": [SOWN]}),
        ("loss counted alike", "loss", {"loss_checks": [*GROUND, EAST_PAN, WEST_PAN]}),
        ("loss counted alike", "yield", {"loss_checks": [*GROUND, EAST_PAN, WEIGHED_PAN]}),
    ],
)
def test_a_pair_that_has_what_is_asked_counts(tiny: Tiny, requirement: str, measure: str, more: Tables) -> None:
    connection = tiny(farm() | more)
    ask(connection, requirement)
    assert barred(connection, measure) is None


OTHER = SOWN | {"field": "Away", "variety": "B", "seeded_on": date(2024, 5, 19)}
AWAY = {"crop_year": 2024, "field": "Away", "plot": "west"}


def two_fields() -> Tables:
    """A pair of two fields that grew two varieties, seeded two weeks apart."""
    tables = farm() | {"loads": [load(EAST, "1"), load(AWAY, "2")], "plantings": [SOWN, OTHER]}
    tables["fields"] = [*tables["fields"], {"field": "Away"}]
    tables["plots"][1] |= AWAY
    tables["pairs"][0]["windrowed_field"] = "Away"
    return tables


@pytest.mark.parametrize(
    ("requirement", "measure", "tables"),
    [
        ("weighed alike", "yield", farm() | {"loads": CART}),
        ("same variety", "yield", two_fields()),
        ("seeded within 7 days", "moisture", two_fields()),
        ("loss counted alike", "loss", farm() | {"loss_checks": [*GROUND, EAST_PAN, WEIGHED_PAN]}),
        ("drawn before harvest", "yield", farm(pairs=[farm()["pairs"][0] | {"allocation": "chosen"}])),
    ],
)
def test_a_pair_that_misses_it_is_in_no_answer(tiny: Tiny, requirement: str, measure: str, tables: Tables) -> None:
    connection = tiny(tables)
    ask(connection, requirement)
    assert barred(connection, measure) == f"{MISSED}{requirement}"


def test_where_nothing_is_asked_the_same_pair_counts(tiny: Tiny) -> None:
    assert barred(tiny(two_fields() | {"loads": [load(EAST, "1", weighed_by="grain cart"), load(AWAY, "2")]})) is None


def test_one_fixed_for_a_season_holds_from_its_crop_year_on(tiny: Tiny) -> None:
    connection = tiny(two_fields())
    ask(connection, "same variety from 2025", "seeded within 7 days from 2024")
    assert barred(connection) == f"{MISSED}seeded within 7 days"
    assert read_settings(connection).requirements == ("same variety from 2025", "seeded within 7 days from 2024")


def test_what_is_not_known_is_told_and_left_out_only_where_the_farm_decided_so(tiny: Tiny) -> None:
    connection = tiny(farm())
    ask(connection, "same variety", "drawn before harvest")
    assert barred(connection) is None
    said = "In 1 of 1 pair it is not known whether what was asked beforehand is so: drawn before harvest, same variety."
    assert any(caution.text.startswith(said) for caution in review(connection, "yield").cautions)
    left_out = {"requirement_not_known": NOT_KNOWN_LEFT_OUT}
    change_settings(connection, left_out, done_by="A grower", why="before seeding")
    assert barred(connection) == f"{NOT_KNOWN}drawn before harvest, same variety"
    assert not any(
        "not known whether what was asked" in caution.text for caution in review(connection, "yield").cautions
    )


@pytest.mark.parametrize(("drawn_at", "counts"), [("2024-08-31 08:00", True), ("2024-09-01 08:00", False)])
def test_a_lot_drawn_on_the_day_of_the_first_cut_is_too_late(tiny: Tiny, add, drawn_at: str, counts: bool) -> None:
    tables = farm()
    tables["pairs"][0]["allocation"] = "drawn by lot"
    connection = tiny(tables)
    ask(connection, "drawn before harvest")
    assert barred(connection) is None  # drawn on paper, with no day of the draw on record
    sides = {"place": 1, "first_side": "east", "second_side": "west", "first_method": "standing"}
    add(connection, DRAWS, {"crop_year": 2024, "pair": "A", "drawn_at": drawn_at, "seed": 1, **sides})
    assert (barred(connection) is None) is counts


def test_it_is_shown_with_its_reason_and_counts_nowhere(tiny: Tiny) -> None:
    connection = tiny(two_fields())
    ask(connection, "same variety", "weighed alike")
    found = review(connection, "yield")
    assert (found.pairs, found.all_pairs.barred) == (0, ((f"{MISSED}same variety", 1),))
    (pair,) = found.pair_differences
    assert (pair.barred, pair.difference is not None) == (f"{MISSED}same variety", True)
    assert f"1 pair in no answer: {MISSED}same variety." in {caution.text for caution in found.cautions}


def test_a_yield_that_only_a_monitor_weighed_is_in_no_answer_until_a_certified_scale_stands_behind_it(
    tiny: Tiny, add
) -> None:
    monitor = [load(EAST, "1"), load(WEST, "2", weighed_by="yield monitor")]
    connection = tiny(farm() | {"loads": monitor})
    assert barred(connection) == "weighed by a yield monitor, unscaled"
    assert barred(connection, "moisture") is None
    add(connection, PLOT_TOTALS, WEST | {"certified_kg": 19_000.0})
    assert barred(connection) is None


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

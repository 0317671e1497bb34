"""One pair side by side: the first line, what is marked, and the papers behind each number, on the demo and by hand."""

from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from pathlib import Path

import duckdb
import pytest

from analytics.errors import BadInput
from analytics.pairs.facts import Fact
from analytics.pairs.one_pair import OnePair, one_pair
from analytics.pairs.sides import pair_names
from analytics.settings import change_settings
from analytics.storage.database import open_records, read_table
from analytics.trade.cautions import LABEL
from tests.conftest import small_records
from tests.prepared import copied
from tests.sql.two_halves import EAST, WEST, Tables, beside_each_other, pair_of_plots

Known = Callable[[int, str], OnePair]


@pytest.fixture(scope="module")
def of_demo(demo: duckdb.DuckDBPyConnection) -> Known:
    """of_demo(crop_year, name): a pair of the demo farm, read once for all who look at it."""
    return cache(lambda crop_year, name: one_pair(demo, crop_year, name))


def fact(pair: OnePair, label: str) -> Fact:
    """The row of that label, without what follows a comma (its unit)."""
    (found,) = [row for group in pair.groups for row in group.facts if row.label.split(",")[0] == label]
    return found


def marked(pair: OnePair) -> list[str]:
    return [row.label.split(",")[0] for group in pair.groups for row in group.facts if row.caution]


LOOKED_AT = ((2021, "S1"), (2022, "N1"), (2024, "N1"), (2025, "H2"))  # by other tests here too; S1 is alike


@pytest.mark.parametrize("few", [LOOKED_AT, pytest.param(None, marks=pytest.mark.slow)])
def test_every_pair_of_the_demo_is_shown_marked_or_said_to_be_alike_and_never_graded(
    demo: duckdb.DuckDBPyConnection, of_demo: Known, few: tuple[tuple[int, str], ...] | None
) -> None:
    names = pair_names(demo)
    assert names.height == 26
    for crop_year, name, field, is_planned in names.iter_rows():
        if few is not None and (crop_year, name) not in few:
            continue
        pair = of_demo(crop_year, name)
        assert pair.field == field
        assert not is_planned
        assert len(pair.groups) == 8
        alike = "Nothing else on record that should be alike differed." in pair.sentence
        assert alike == (marked(pair) == [])
        for row in _rows(pair):
            assert not any("None" in text for text in (row.standing, row.windrowed, row.difference))
            assert "is grade" not in f"{row.label} {row.standing} {row.windrowed} {row.caution}"


def _rows(pair: OnePair) -> list[Fact]:
    return [row for group in pair.groups for row in group.facts]


def test_the_first_line_says_who_gave_more_and_what_differed_besides(of_demo: Known) -> None:
    """sample_records/README: 2024, pair N1 grew two varieties."""
    assert of_demo(2024, "N1").sentence == (
        "Standing gave 7.1 bu/ac more: 50.5 against 43.4. Besides the method, look at: topography, variety, "
        "shatter tolerant, herbicide system, weeds."
    )


def test_the_first_line_of_a_pair_without_a_difference_says_why(of_demo: Known) -> None:
    """sample_records/README: 2025 N1 lacks a side's loads; 2022 H1 lacks a moisture; 2025 H1 is a tie."""
    assert of_demo(2025, "N1").sentence.startswith(
        "What the two ways gave is unknown: Slough eighty whole (windrowed) lacks a ticket."
    )
    assert "lacks moisture on ticket" in of_demo(2022, "H1").sentence
    assert of_demo(2025, "H1").sentence.startswith("Both sides gave ")


@pytest.mark.parametrize(
    ("crop_year", "name", "label"),
    [
        (2022, "N1", "seed colour change"),  # cut at 30 %
        (2022, "N1", "within the limits as counted"),  # a ticket that the count does not explain
        (2025, "H2", "weighed by"),  # yield monitor against certified scale
        (2025, "H2", "days from spraying to first cut (label asks)"),  # 12 of 14 days
        (2024, "M1", "seeded"),  # ten days apart
    ],
)
def test_the_oddities_of_the_demo_are_marked(of_demo: Known, crop_year: int, name: str, label: str) -> None:
    assert label in marked(of_demo(crop_year, name))


def test_a_short_interval_is_loud_and_defers_to_the_label(of_demo: Known) -> None:
    row = fact(of_demo(2025, "H2"), "days from spraying to first cut (label asks)")
    assert (row.standing, row.windrowed) == ("12 (14)", "–")
    assert row.caution.startswith("Willow quarter, east, 2025: only 12 days from the product to the first cut")
    assert row.caution.endswith(LABEL)


def test_yield_opens_to_every_ticket_and_their_sum_is_the_yield(of_demo: Known) -> None:
    row = fact(of_demo(2025, "H2"), "yield at 10.0\u202f% moisture")
    papers = row.standing_papers
    assert papers is not None
    at = papers.columns.index("dried to compare, kg")
    total = sum(float(ticket[at].replace(",", "")) for ticket in papers.rows)
    assert len(papers.rows) == 3
    assert total / 22.6796185 / 76.0 == pytest.approx(float(row.standing), abs=0.05)


def test_green_seed_shows_its_range_and_opens_to_its_counts(of_demo: Known) -> None:
    """2024, Bluff quarter: 21 green in 1500 over its samples; exact 95 % interval by R's binom.test 0.87 to 2.13."""
    row = fact(of_demo(2024, "N1"), "green seed")
    assert row.windrowed == "1.40 (0.87 to 2.13)"
    assert row.difference == "−1.00"
    papers = row.windrowed_papers
    assert papers is not None
    counts = [sample[papers.columns.index("green / crushed")] for sample in papers.rows]
    green, crushed = (sum(int(count.split(" / ")[place]) for count in counts) for place in (0, 1))
    assert (green, crushed) == (21, 1500)


def test_a_count_that_the_rounding_decides_is_read_both_ways(of_demo: Known) -> None:
    """sample_records/README: 2024, Bluff quarter, 12 green in 500."""
    assert "No. 1 rounded, No. 2 strictly" in fact(of_demo(2024, "N1"), "within the limits as counted").windrowed


def test_losses_show_bushels_percent_and_dollars_and_open_to_spots_with_their_factor(
    of_demo: Known,
) -> None:
    row = fact(of_demo(2021, "S1"), "total")
    assert row.standing == "7.29 (24.4\u202f%, $139.76)"
    papers = row.standing_papers
    assert papers is not None
    pans = [spot for spot in papers.rows if spot[0] == "pan behind combine"]
    assert pans[0][papers.columns.index("concentration factor")] == "7.1 = 10.7 m / 1.5 m"
    assert papers.rows[4][:3] == ("mean of 4 spots", "", "spread 1.00")


def test_a_total_without_the_count_behind_the_pick_up_is_at_least_what_was_found(
    demo: duckdb.DuckDBPyConnection,
    of_demo: Known,
) -> None:
    """sample_records/README: 2025 Willow quarter west has no count behind the pick-up."""
    row = fact(of_demo(2025, "H2"), "total")
    found = read_table(demo, "plot_loss").filter(crop_year=2025, field="Willow quarter", plot="west")
    assert row.windrowed == f"at least {found['at_least_bu_ac'].item():.2f}"
    assert row.difference == ""


def test_the_windrowers_part_has_no_standing_side_and_counts_as_nothing_there(of_demo: Known) -> None:
    row = fact(of_demo(2021, "S1"), "windrower")
    assert (row.standing, row.difference) == ("–", "−0.74")


def test_weather_says_where_the_crop_was(of_demo: Known) -> None:
    """sample_records/README: 27 August 2021, after the windrows were combined, before the standing canola was."""
    (row,) = [row for row in _rows(of_demo(2021, "S1")) if "wind 96 km/h" in row.label]
    assert (row.label, row.standing, row.windrowed) == ("27 Aug 2021, wind 96 km/h", "still standing", "already in")


def test_the_yield_unit_of_the_settings_is_the_one_shown(demo_records: Path, tmp_path: Path) -> None:
    copy = copied(demo_records, tmp_path / "records.duckdb")
    with open_records(Path(copy)) as connection:
        change_settings(connection, {"yield_unit": "t/ha"}, done_by="test", why=None)
        pair = one_pair(connection, 2024, "N1")
    assert pair.sentence.startswith("Standing gave 0.40 t/ha more: 2.83 against 2.43.")
    assert fact(pair, "total").label == "total, t/ha"


def test_a_pair_that_is_not_on_record_is_refused(of_demo: Known) -> None:
    with pytest.raises(BadInput, match="pair Z9, 2024: not on record"):
        of_demo(2024, "Z9")


def by_hand(certified_kg: float | None = None, *, pan_grams: float = 3.0) -> Tables:
    """Two halves by yield monitor, 50 t in all, a pan of one square foot at factor 6 on the standing one."""
    load = {"weight_kg": 25_000.0, "moisture_pct": 9.0, "dockage_pct": 1.0, "weighed_by": "yield monitor"}
    pan = {"checked_on": date(2024, 9, 1), "place": "pan behind combine", "spot": "1", "grams": pan_grams}
    return pair_of_plots(
        loads=[EAST | {"ticket": "1"} | load, WEST | {"ticket": "2"} | load],
        field_totals=[{"crop_year": 2024, "field": "Home", "certified_kg": certified_kg}] if certified_kg else [],
        loss_checks=[EAST | pan | {"area_m2": 0.09290304, "cut_width_m": 9.0, "discharge_width_m": 1.5}],
    )


FARMS = {
    "4 % off": by_hand(48_000.0),
    "6 % off": by_hand(47_000.0),
    "no certified total": by_hand(pan_grams=100.0),
    "planned": pair_of_plots(),
}
Made = Callable[[str], OnePair]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    """The pair of one of FARMS."""
    path = tmp_path_factory.mktemp("one pair") / "records.duckdb"
    with small_records(path, beside_each_other(list(FARMS.values()))) as connection:
        yield cache(lambda name: one_pair(connection, 2024, f"A {list(FARMS).index(name)}"))


def test_a_scaled_yield_monitor_is_said_beside_the_weight(made: Made) -> None:
    row = fact(made("4 % off"), "scaled to the certified total")
    assert (row.standing, row.windrowed, row.caution) == ("× 0.960", "× 0.960", "")


def test_a_monitor_far_off_its_certified_total_is_marked(made: Made) -> None:
    row = fact(made("6 % off"), "scaled to the certified total")
    assert row.caution == ("The yield monitor was more than 5\u202f% off its certified total; ask why.")


def test_without_a_certified_total_nothing_is_said_of_scaling(made: Made) -> None:
    assert not any(row.label.startswith("scaled") for row in _rows(made("no certified total")))


def test_a_pan_that_holds_more_than_the_yield_is_marked_on_the_losses(made: Made) -> None:
    row = fact(made("no certified total"), "total")
    assert "the pan behind the combine says 32.0 bu/ac lost, more than the 21.8 that were harvested" in row.caution
    assert "the pan behind" not in fact(made("4 % off"), "total").caution


def test_a_planned_pair_is_said_to_wait_and_not_to_lack_papers(made: Made) -> None:
    assert made("planned").sentence == "This pair is planned and not harvested yet."

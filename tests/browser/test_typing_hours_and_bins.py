"""Machine hours, conditions of a loss check, bins and volunteers by keyboard alone; then the file is looked at."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from playwright.sync_api import Browser

from tests.browser.at_the_keyboard import (
    choose,
    entry_screen,
    first_field,
    new_farm,
    save_by_key,
    stored,
    tab_to,
    type_row,
)
from tests.browser.server import Server

HALF = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "bins"}
# Paper, what a row of it is called, and the row in the order of the fields.
TYPED = (
    ("Bins", "bin", ["Bin 3", "20 Sep", "", "by the yard"]),
    ("What went into", "bin filling", ["Bin 3", "14 Sep", "18.6 t", "9,1", "24"]),
    ("Bin checks", "bin check", ["Bin 3", "1 Oct", "core", "14,5", "8.2", "-3", "none"]),
    ("Field work", "operation", ["14 Sep", "combining", "", "2.5", "110", "3", "the old one", "R", "east side"]),
    (
        "Loss",
        "loss check",
        ["14 Sep", "ground behind header", "1", "9", "", "1", "", "", "", "", "15", "5,5", "22", "40", "slow fan"],
    ),
    ("Volunteers", "spring count", ["20 May 2027", "1", "31", "0.25"]),
)


def test_hours_conditions_bins_and_volunteers_by_keyboard_alone(
    browser: Browser, serve: Callable[[Path], Server], tmp_path: Path
) -> None:
    records = new_farm(tmp_path / "records.duckdb")
    with entry_screen(browser, serve(records).address, **HALF) as page:
        for paper, noun, cells in TYPED:
            choose(page, "What are you typing in?", paper)
            tab_to(page, first_field(page))
            type_row(page, cells)
            save_by_key(page, f"1 {noun} added, 0 changed, 0 left.")
    assert stored(records, "bins", "crop_year", "bin", "conditioned_on", "notes") == [
        (2026, "Bin 3", date(2026, 9, 20), "by the yard")
    ]
    fills = stored(records, "bin_fills", "bin", "filled_on", "plot", "weight_kg", "moisture_pct", "temperature_c")
    assert fills == [("Bin 3", date(2026, 9, 14), "east", 18_600.0, 9.1, 24.0)]
    checks = stored(records, "bin_checks", "checked_on", "place", "temperature_c", "moisture_pct", "outside_c", "smell")
    assert checks == [(date(2026, 10, 1), "core", 14.5, 8.2, -3.0, "none")]
    work = stored(records, "operations", "done_on", "operation", "hours", "fuel_l", "stops", "operator", "job")
    assert work == [(date(2026, 9, 14), "combining", 2.5, 110.0, 3, "R", "east side")]
    loss = stored(
        records,
        "loss_checks",
        "place",
        "seeds",
        "hour_of_day",
        "ground_speed_kmh",
        "air_c",
        "humidity_pct",
        "machine_settings",
    )
    assert loss == [("ground behind header", 9, 15, 5.5, 22.0, 40.0, "slow fan")]
    counts = stored(records, "spring_counts", "crop_year", "plot", "counted_on", "plants", "area_m2")
    assert counts == [(2026, "east", date(2027, 5, 20), 31, 0.25)]

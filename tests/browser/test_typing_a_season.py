"""A part of a season typed by keyboard alone, and a block pasted; then the file is looked at, value by value."""

import time
from datetime import date
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from tests.browser.at_the_keyboard import (
    choose,
    entry_screen,
    first_field,
    new_farm,
    next_row,
    save_by_key,
    stored,
    tab_to,
    type_row,
)
from tests.browser.server import serving

# As a grower writes them: kilograms and tonnes, commas and points, days in words; in the order of the fields.
TICKETS = {
    "east": [
        ("1187", "14 Sep", "18620", "9,1", "2,5", "cert"),
        ("1188", "Sep 14 2026", "18.4 t", "9.3", "2", "cert"),
        ("1190", "15 Sep", "41000 lb", "9", "1.75", "cert"),
    ],
    "west": [
        ("2053", "17 Sep", "800 bu", "10", "2.9", "cert"),
        ("2054", "17 Sep", "18 050", "9,95", "3", "cert"),
    ],
}
LOADS = [
    ("1187", date(2026, 9, 14), 18_620.0, 9.1, 2.5, "certified scale"),
    ("1188", date(2026, 9, 14), 18_400.0, 9.3, 2.0, "certified scale"),
    ("1190", date(2026, 9, 15), 18_597.28717, 9.0, 1.75, "certified scale"),  # 41,000 x 0.45359237
    ("2053", date(2026, 9, 17), 18_143.6948, 10.0, 2.9, "certified scale"),  # 800 x 50 x 0.45359237
    ("2054", date(2026, 9, 17), 18_050.0, 9.95, 3.0, "certified scale"),
]
SLIPS = [
    ("1", "20 Sep", "elevator", "1", "500", "4"),
    ("3", "21 Sep", "", "2", "500", "11"),
]
SAMPLES = [
    ("east", "1", date(2026, 9, 20), "elevator", "1", 500, 4),
    ("east", "3", date(2026, 9, 21), None, "2", 500, 11),
]
PANS = [
    ("14 Sep", "pan", "2", "", "2.8", "1", "35 ft", "5 ft"),
    ("16 Sep", "pan", "3", "", "4 mL", "10 sq ft", "9", "1,5"),
    ("16 Sep", "pan", "4", "950", "", "1", "9", "1.5"),
]
FULL_SEASON = {"ticket": 40, "sample": 12, "loss check": 20}


def typed(page: Page, noun: str, rows: list[tuple[str, ...]]) -> list[float]:
    """The seconds that each row took, from its first key until the next one could be begun."""
    seconds = []
    tab_to(page, first_field(page))
    for cells in rows:
        began = time.monotonic()
        type_row(page, cells)
        next_row(page, noun)
        seconds.append(time.monotonic() - began)
    return seconds


def test_a_part_of_a_season_by_keyboard_alone(browser: Browser, tmp_path: Path) -> None:
    records = new_farm(tmp_path / "records.duckdb")
    seconds: dict[str, list[float]] = {noun: [] for noun in FULL_SEASON}
    began = time.monotonic()
    with serving(records) as server, entry_screen(browser, server.address) as page:
        for plot, paper, noun, rows in (
            ("east", "Grade", "sample", SLIPS),
            ("east", "Tickets", "ticket", TICKETS["east"]),
            ("west", "Tickets", "ticket", TICKETS["west"]),
            ("west", "Loss", "loss check", PANS),
        ):
            choose(page, "Plot", plot)
            choose(page, "What are you typing in?", paper)
            seconds[noun] += typed(page, noun, rows)
            save_by_key(page, f"{len(rows)} {noun}s added, 0 changed, 0 left.")
        everything = time.monotonic() - began
    means = {noun: sum(each) / len(each) for noun, each in seconds.items()}
    between = (everything - sum(map(sum, seconds.values()))) / 4
    season = sum(FULL_SEASON[noun] * mean for noun, mean in means.items()) + 8 * 3 * between
    each = ", ".join(f"{noun} {mean:.1f}" for noun, mean in means.items())
    print(f"\nseconds: {each}, to another paper or plot and saving {between:.1f}")
    print(f"40 tickets, 12 samples, 20 pan checks of 8 plots: {season / 60:.1f} minutes of the program's own time")
    columns = ("ticket", "delivered_on", "weight_kg", "moisture_pct", "dockage_pct", "weighed_by")
    found = stored(records, "loads", *columns)
    assert [(*row[:2], round(row[2], 5), *row[3:]) for row in found] == LOADS
    assert (
        stored(records, "samples", "plot", "sample", "taken_on", "graded_by", "grade", "seeds_crushed", "green_seeds")
        == SAMPLES
    )
    checks = stored(records, "loss_checks", "plot", "spot", "place", "seeds", "grams", "area_m2", "cut_width_m")
    assert [(*row[:4], *(None if value is None else round(value, 6) for value in row[4:])) for row in checks] == [
        ("west", "2", "pan behind combine", None, 2.8, 1.0, 10.668),  # 35 x 0.3048
        ("west", "3", "pan behind combine", None, 2.6, 0.92903, 9.0),  # 4 mL of 0.65 g; 10 x 0.3048 x 0.3048
        ("west", "4", "pan behind combine", 950, None, 1.0, 9.0),
    ]


def test_a_block_from_a_spreadsheet_is_pasted_into_the_grid(browser: Browser, tmp_path: Path) -> None:
    records = new_farm(tmp_path / "records.duckdb")
    rows = [(f"{3000 + at}", "2026-09-20", f"{18000 + at}", "9,1", "2.5", "certified scale") for at in range(40)]
    with serving(records) as server, entry_screen(browser, server.address) as page:
        page.get_by_text("One at a time, in large boxes").click()
        expect(page.locator(".pad table")).to_be_visible()
        began = time.monotonic()
        page.evaluate("text => navigator.clipboard.writeText(text)", "\n".join("\t".join(row) for row in rows))
        first_field(page).focus()
        page.keyboard.press("Control+V")
        expect(page.get_by_role("button", name="Save 40 tickets for North half, east, 2026")).to_be_enabled()
        page.get_by_role("button", name="Save 40 tickets").click()
        expect(page.get_by_text("40 tickets added, 0 changed, 0 left.")).to_be_visible()
        print(f"\na pasted block of 40 tickets, to the line after the save: {time.monotonic() - began:.1f} seconds")
    expected = [(ticket, float(weight), 9.1, 2.5) for ticket, _, weight, *_ in rows]
    assert stored(records, "loads", "ticket", "weight_kg", "moisture_pct", "dockage_pct") == expected

"""A part of a season typed by keyboard alone, and a block pasted; then the file is looked at, value by value."""

import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.entry.typed_rows import typed_columns
from analytics.records.papers import PAPERS
from analytics.storage.database import open_records, read_table
from analytics.trade.numbers_as_text import count
from dashboard.after_harvest import entry_pad
from tests.browser.at_the_keyboard import (
    choose,
    entry_screen,
    first_field,
    new_farm,
    next_row,
    save_by_key,
    settled,
    stored,
    tab_to,
    type_row,
)
from tests.browser.server import Server, serving
from tests.prepared import begun

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


def test_a_part_of_a_season_by_keyboard_alone(
    browser: Browser, serve: Callable[[Path], Server], tmp_path: Path
) -> None:
    records = new_farm(tmp_path / "records.duckdb")
    seconds: dict[str, list[float]] = {noun: [] for noun in FULL_SEASON}
    began = time.monotonic()
    with entry_screen(browser, serve(records).address) as page:
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


def test_a_block_from_a_spreadsheet_is_pasted_into_the_grid(
    browser: Browser, serve: Callable[[Path], Server], tmp_path: Path
) -> None:
    records = new_farm(tmp_path / "records.duckdb")
    rows = [(f"{3000 + at}", "2026-09-20", f"{18000 + at}", "9,1", "2.5", "certified scale") for at in range(40)]
    with entry_screen(browser, serve(records).address) as page:
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


KEYS_A_SECOND, THINKING_SECONDS = 12, 1.0  # of a person: between two keys, and before each field that is filled
MOST_MINUTES = 20
COUNT_KEYS = """
    addEventListener("keydown", event => {
        if (["Shift", "Control", "Alt", "Meta"].includes(event.key)) return;
        sessionStorage.keys = Number(sessionStorage.keys ?? 0) + 1;
    }, true);
"""
PLACES = [(field, side) for field in ("Home", "Mailbox", "Slough", "Twelve south") for side in ("e1", "e2", "w1", "w2")]
METHOD_OF = {"e1": "standing", "e2": "standing", "w1": "windrowed", "w2": "windrowed"}


def season() -> dict[str, list[dict[str, str]]]:
    """What is on the papers of a harvest that are not of one plot each: 4 fields, 16 plots, 8 pairs and more."""
    fields = ("Home", "Mailbox", "Slough", "Twelve south")
    return {
        "fields": [{"field": field, "acres": "160", "soil": "loam"} for field in fields],
        "plantings": [
            {"field": field, "crop": "canola", "variety": "early", "seeded_on": f"{8 + at} May"}
            for at, field in enumerate(fields)
        ],
        "plots": [
            {"field": field, "plot": side, "method": METHOD_OF[side][:1], "acres": "40", "harvested_on": "20 Sep"}
            | ({"seed_colour_change_pct": "60", "windrowed_on": "5 Sep"} if METHOD_OF[side] == "windrowed" else {})
            for field, side in PLACES
        ],
        "pairs": [
            {"pair": f"{field[0]}{half}", "standing_field": field, "standing_plot": f"e{half}", "layout": "split"}
            | {"windrowed_field": field, "windrowed_plot": f"w{half}", "allocation": "ch"}
            for field in fields
            for half in (1, 2)
        ],
        "operations": [
            {"field": field, "plot": side, "done_on": "20 Sep", "operation": "combining", "dollars_per_acre": "22.50"}
            for field, side in PLACES[:7]
        ],
        "weather": [
            {"happened_on": f"{day} Sep", "event": "wind", "reading": "72", "unit": "km/h"} for day in (2, 9, 14, 21)
        ],
        "prices": [{"crop": "canola", "grade": grade, "dollars_per_tonne": "640"} for grade in "12"],
    }


def papers_of_a_plot() -> dict[str, list[list[dict[str, str]]]]:
    """Tickets, slips and pan checks, a list of rows for each plot."""
    tickets = [2 + (at % 2) for at in range(16)]  # 40
    slips = [int(at % 4 != 3) for at in range(16)]  # 12
    pans = [1 + int(at % 4 == 0) for at in range(16)]  # 20
    return {
        "loads": [
            [
                {"ticket": f"7{at:02}{k}", "delivered_on": "20 Sep", "weight_kg": f"18{k}20", "moisture_pct": "9.1"}
                | {"dockage_pct": "2.5", "weighed_by": "cert"}
                for k in range(many)
            ]
            for at, many in enumerate(tickets)
        ],
        "samples": [
            [{"sample": "1", "taken_on": "21 Sep", "grade": "1", "seeds_crushed": "500", "green_seeds": "4"}] * many
            for many in slips
        ],
        "loss_checks": [
            [
                {"checked_on": "20 Sep", "place": "pan", "spot": f"{k + 1}", "seeds": "120", "area_m2": "0.25"}
                | {"cut_width_m": "35 ft", "discharge_width_m": "5 ft"}
                for k in range(many)
            ]
            for many in pans
        ],
    }


def type_rows(page: Page, paper: str, rows: list[dict[str, str]], *, of_plot: bool) -> int:
    """Rows one after the other by Enter, blank fields passed by it too; how many fields were filled.

    On a paper of a plot, what the first row carries over to the others is not typed again.
    """
    fixed = PAPERS[paper].place(2026, *(("a", "b") if of_plot else ()))
    names = [column.name for column in typed_columns(PAPERS[paper].table, fixed)]
    is_carried = [of_plot and at > 0 for at in range(len(rows))]
    typed = [
        {name: text for name, text in row.items() if not (carried and name in entry_pad.REPEATS)}
        for row, carried in zip(rows, is_carried, strict=True)
    ]
    for row in typed:
        type_row(page, [row.get(name, "") for name in names], key="Enter")
    return sum(map(len, typed))


@pytest.mark.slow
def test_a_whole_season_goes_in_by_keyboard_in_less_than_twenty_minutes_of_a_person(
    browser: Browser, tmp_path: Path
) -> None:
    """Counted: each key, a second's thought for each field, and all the time that this takes with keys at once."""
    records = tmp_path / "records.duckdb"
    with begun(records):
        pass
    filled, chosen = 0, 0
    with serving(records) as server, entry_screen(browser, server.address, paper="fields", crop_year="2026") as page:
        page.add_init_script(COUNT_KEYS)
        page.evaluate(COUNT_KEYS)
        began = time.monotonic()
        for paper, rows in season().items():
            if paper != "fields":
                choose(page, "What are you typing in?", PAPERS[paper].name)
                chosen += 1
            tab_to(page, first_field(page))
            if paper == "operations":  # of one plot each, typed from the list of all plots
                choose(page, "Plot", "All plots")
                tab_to(page, first_field(page))
            filled += type_rows(page, paper, rows, of_plot=False)
            save_by_key(page, f"{count(len(rows), PAPERS[paper].noun)} added, 0 changed, 0 left.")
        for paper, by_plot in papers_of_a_plot().items():
            choose(page, "What are you typing in?", PAPERS[paper].name)
            choose(page, "Plot", f"{PLACES[0][0]}, {PLACES[0][1]}")
            chosen += 2
            carry = page.locator(".pad .choices input[type=checkbox]")
            tab_to(page, carry, key="Shift+Tab")
            if not carry.is_checked():
                page.keyboard.press("Space")
            tab_to(page, first_field(page))
            for at, rows in enumerate(by_plot):
                filled += type_rows(page, paper, rows, of_plot=True)
                if rows:
                    save_by_key(page, f"{count(len(rows), PAPERS[paper].noun)} added, 0 changed, 0 left.")
                if at + 1 < len(by_plot):
                    expect(page.locator(".pad .onward")).to_be_visible()  # there once the plot before is Python's too
                    tab_to(page, page.locator(".pad .onward"))
                    page.keyboard.press("Enter")
            settled(page)
        program = time.monotonic() - began
        keys = int(page.evaluate("sessionStorage.keys"))
    human = keys / KEYS_A_SECOND + (filled + chosen) * THINKING_SECONDS + program
    print(f"\n{keys} keys, {filled} fields, {chosen} choices, {program:.0f} s of the program and of typing at once:")
    print(f"{human / 60:.1f} minutes of a person's time")
    with open_records(records) as connection:
        counts = {name: read_table(connection, name).height for name in (*season(), *papers_of_a_plot())}
    assert counts == {name: len(rows) for name, rows in season().items()} | {
        name: sum(map(len, rows)) for name, rows in papers_of_a_plot().items()
    }
    assert human < MOST_MINUTES * 60

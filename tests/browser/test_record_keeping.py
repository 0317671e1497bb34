"""A change undone, everything taken along and brought in again, a backup restored, and no script run."""

import re
from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.files.exporting import export_workbook, export_zip
from analytics.files.importing import bring_in, faults_text
from analytics.records.grown_tables import FIELDS
from analytics.settings import change_settings
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from tests.browser.at_the_keyboard import open_screen, settled
from tests.browser.server import Server
from tests.browser.window import follow
from tests.prepared import begun, copied

SCRIPT = "<script>window.ran=1</script><img src=x onerror='window.ran=1'> **b** :red[c] :smile:"


def keep(connection, *rows: dict[str, object]) -> None:
    frame = pl.DataFrame(list(rows), schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=frame, removed=frame.clear())], done_by="A grower", source="screen")


def typed_a_script(demo_records: Path, path: Path) -> Path:
    """The demo farm with a field named like a script, whose acres were changed."""
    with open_records(copied(demo_records, path)) as connection:
        change_settings(connection, {"farm_name": SCRIPT}, done_by=SCRIPT, why=SCRIPT)
        keep(connection, {"field": SCRIPT, "acres": 160.0, "notes": SCRIPT})
        keep(connection, {"field": SCRIPT, "acres": 158.5, "notes": SCRIPT})
    return path


@pytest.fixture
def records(tmp_path: Path, demo_records: Path) -> Path:
    return typed_a_script(demo_records, tmp_path / "records.duckdb")


@pytest.fixture
def farm(records: Path, serve: Callable[[Path], Server]) -> Server:
    return serve(records)


def acres(page: Page, path: Path) -> list[float]:
    settled(page)  # the server gives the file free between its runs
    with open_records(path) as connection:
        return read_table(connection, "fields").filter(field=SCRIPT)["acres"].to_list()


def press(page: Page, name: str | re.Pattern[str]) -> None:
    """By key, so that it cannot miss a button which still moves while the screen is drawn."""
    button = page.get_by_role("button", name=name)
    expect(button).to_be_visible()
    settled(page)
    button.press("Enter")
    settled(page)


def undo(page: Page, act: int) -> None:
    page.locator("summary").filter(has_text=re.compile(rf"Act {act},")).click()
    press(page, "What would undoing it touch?")
    expect(page.get_by_text("acres 158.5 → 160" if act == 4 else "acres 160 → 158.5")).to_be_visible()
    page.get_by_label("Why", exact=True).fill("typed twice")
    press(page, f"Undo act {act}")


def test_a_change_is_undone_a_backup_made_and_restored_on_a_phone(
    browser: Browser, farm: Server, records: Path
) -> None:
    with open_screen(browser, farm, "record_keeping", "Are the records safe?", width=390) as page:
        expect(page.get_by_text("Your records are safe: the last backup was made today")).to_be_visible()
        undo(page, 4)
        expect(page.get_by_text("Act 4 is undone, by act 5. Undo act 5 to take that back.")).to_be_visible()
        assert acres(page, records) == [160.0]
        press(page, "Make a backup now")
        expect(page.get_by_text("A backup was made and read")).to_be_visible()
        settled(page)
        with open_records(records) as connection:
            keep(connection, {"field": SCRIPT, "acres": 99.0})
        page.reload()
        settled(page)
        press(page, "What would restoring it change?")
        expect(page.get_by_text("fields: 0 rows would come, 1 change, 0 go")).to_be_visible()
        press(page, re.compile("^Restore the backup of"))
        expect(page.get_by_text("is restored, by act 7.")).to_be_visible()
        assert acres(page, records) == [160.0]
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert page.locator("[data-testid=stMain]").evaluate("part => part.scrollWidth <= part.clientWidth")


@pytest.mark.slow
def test_everything_taken_along_comes_back_and_goes_out_the_same(
    browser: Browser, farm: Server, tmp_path: Path
) -> None:
    with open_screen(browser, farm, "record_keeping", "Are the records safe?") as page:
        for words, ending, made in (
            ("CSV files in a ZIP", ".zip", export_zip),
            ("One workbook (XLSX)", ".xlsx", export_workbook),
        ):
            with page.expect_download() as loading:
                page.get_by_role("button", name=words).click()
            file = tmp_path / f"taken{ending}"
            loading.value.save_as(file)
            with begun(tmp_path / f"again{ending}.duckdb") as connection:
                assert faults_text(bring_in(connection, file, done_by="test")) == ""
                assert made(connection) == file.read_bytes()


def test_no_script_runs_that_was_typed(browser: Browser, farm: Server) -> None:
    with open_screen(browser, farm, "record_keeping", "Are the records safe?") as page:
        page.locator("summary").filter(has_text="Act 3,").click()
        shown = page.get_by_text(f"fields, {SCRIPT}: new, acres 160, notes {SCRIPT}")
        expect(shown).to_be_visible()
        for screen in ("enter_records", "gaps", "next_season", "settings"):
            follow(page, page.get_by_test_id("stSidebar").locator(f"a[href*={screen}]").last)
            assert page.evaluate("window.ran") is None, screen
            assert page.locator("img[src=x]").count() == 0, screen

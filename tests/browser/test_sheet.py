"""The sheet in a browser: made, taken along as a file, and its text read by a PDF reader of the system."""

import subprocess
from pathlib import Path

from playwright.sync_api import Page, expect


def test_the_sheet_is_made_taken_along_and_read(page: Page, tmp_path: Path) -> None:
    page.goto("/summary_sheet")
    expect(page.get_by_role("heading", level=1)).to_have_text("What do I take to the table?")
    expect(page.locator(".st-key-finding")).to_contain_text(
        "net return is not settled", timeout=120_000
    )  # made the first time
    first_line = page.locator(".st-key-finding").inner_text()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Take it as PDF").click()
    file = tmp_path / "sheet.pdf"
    taken.value.save_as(file)
    read = subprocess.run(["pdftotext", str(file), "-"], capture_output=True, text=True, check=True).stdout
    assert "".join(first_line.split()) in "".join(read.split())
    assert "not financial advice" in read
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")

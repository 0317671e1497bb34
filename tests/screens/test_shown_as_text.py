"""Whatever people type is shown letter by letter on every screen: no markup, no script."""

import html
import re
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from analytics.money.costs import keep_rates, own_rate
from analytics.records.tables import TABLES
from analytics.settings import change_settings
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from dashboard.frame import shown_words
from tests.prepared import begun
from tests.screens.unfolding import unfolded

APP = Path(__file__).resolve().parents[2] / "dashboard" / "app.py"
TYPED = "<script>x</script> **b** $y$ [a](b) :red[c] :smile: &lt;"
SIGN = "script>x"  # of what was typed, however it is escaped
# Fields of Streamlit's messages that it draws as Markdown; of the others only an HTML body is more than text.
MARKDOWN = {"body", "label", "help", "caption"}
MEANT = {"crop", "operation", "unit", "grade"}  # columns whose words the program understands
# What is worked out only once it is asked for.
PRESSED = {"screens/record_keeping.py": ["look 1", "look_restore"]}
MARKED = [
    *(
        "**b**",
        "_i_",
        "~~s~~",
        "`c`",
        "$x$",
        "[a](b)",
        "![a](b)",
        "<b>",
        "# a",
        "> a",
        "- a",
        "+ a",
        "1. a",
        "12) a",
        "3)",
    ),
    *(
        "---",
        "===",
        "    a",
        "| a",
        "a\\",
        "&lt;",
        ":red[a]",
        ":smile:",
        ":material/star:",
        ":streamlit:",
        "www.a_b.ca",
    ),
    *("a@b.ca", "  - a", "a\n# b", "https://a.ca/_b_", "::a[b]"),
]


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory, demo_records: Path) -> Path:
    """The demo farm with TYPED behind every name and note, and as the name of who typed it; nothing here changes it."""
    path = tmp_path_factory.mktemp("typed") / "records.duckdb"
    saves = []
    with open_records(demo_records) as connection:
        for name, table in TABLES.items():
            names = [one.name for one in table.columns if one.kind in ("text", "note") and one.name not in MEANT]
            rows = read_table(connection, name).select(table.column_names)
            rows = rows.with_columns(pl.format("{} {}", pl.col(one), pl.lit(TYPED)).alias(one) for one in names)
            saves.append(TableSave(table=table, saved=rows, removed=rows.clear()))
    with begun(path) as connection:
        save(connection, saves, done_by=TYPED, source="screen", why=TYPED)
        change_settings(connection, {"farm_name": TYPED, "margin.yield": "1"}, done_by=TYPED, why=TYPED)
        rate = own_rate("combining", low="", middle="30", high="", year="", source=TYPED)
        keep_rates(connection, rate, done_by=TYPED)
    return path


def screens() -> list[str]:
    return sorted(set(re.findall(r"screens/\w+\.py", APP.read_text(encoding="utf-8"))))


def messages(block: object) -> Iterator[tuple[str, object]]:
    """Every part of a screen, with its kind."""
    for part in block.children.values():
        yield part.type, part.proto
        if hasattr(part, "children"):
            yield from messages(part)


def texts(message: object) -> Iterator[tuple[str, str]]:
    """Every text of a message and of the messages in it, with the name of its field."""
    for field, value in message.ListFields():
        for one in value if field.is_repeated else [value]:
            if isinstance(one, str):
                yield field.name, one
            elif hasattr(one, "ListFields"):
                yield from texts(one)


@pytest.mark.parametrize("screen", screens())
def test_what_was_typed_is_shown_letter_by_letter(screen: str, farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STANDROW_RECORDS", str(farm))
    app = AppTest.from_file(str(APP), default_timeout=120).switch_page(screen).run()
    app = unfolded(app)
    for key in PRESSED.get(screen, ()):
        app.button(key=key).click().run()
    assert times_shown_as_text(app)  # the farm's name at least


def times_shown_as_text(app: AppTest) -> int:
    """How many parts of the screen hold what was typed; each has to show it letter by letter."""
    assert not app.exception
    found = 0
    for root in (app.main, app.sidebar):
        for kind, message in messages(root):
            for field, text in texts(message):
                if SIGN not in html.unescape(text.replace("\\", "")):
                    continue
                found += 1
                if kind == "html":
                    assert SIGN not in text.replace(html.escape(TYPED), ""), (kind, field, text)
                    assert html.escape(TYPED) in text
                elif field in MARKDOWN:
                    assert SIGN not in text.replace(shown_words.plain(TYPED), "").replace("\\", ""), (kind, field, text)
    return found


@pytest.mark.parametrize(
    "rows",
    [
        f"field,acres seeded,{TYPED}\n{TYPED},12,x\n",  # columns to be chosen
        f"field,acres\n{TYPED},twelve {TYPED}\n",  # a fault that quotes the cell
    ],
    ids=["columns", "fault"],
)
def test_what_a_file_holds_is_shown_letter_by_letter(rows: str, farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STANDROW_RECORDS", str(farm))
    app = AppTest.from_file(str(APP), default_timeout=120).switch_page("screens/bring_in_files.py").run()
    before = times_shown_as_text(app)
    app.file_uploader[0].upload("fields.csv", rows.encode(), "text/csv").run()
    assert times_shown_as_text(app) > before


@pytest.mark.parametrize("text", MARKED)
def test_every_mark_is_escaped_and_no_letter_lost(text: str) -> None:
    assert shown_words.plain(text) != text
    assert shown_words.plain(text).replace("\\", "").replace("\u2060", "") == text.replace("\\", "").lstrip()


@pytest.mark.parametrize("text", ["North half, 2025", "3.7 (0.4 to 2.2)", "1.3 bu/ac", "Why: wind", "a - b", "50 + 3"])
def test_plain_words_stay_as_they_are(text: str) -> None:
    assert shown_words.plain(text) == text

"""The usual cautions stand where the risk is met, in normal text: st.caption is the palest there is."""

from collections.abc import Callable, Iterator
from pathlib import Path

import fastexcel
import pytest
from streamlit.testing.v1 import AppTest

from analytics.files.templates import WORKBOOK, explanation, template_files
from analytics.trade import cautions
from tests.prepared import lent
from tests.screens.told_pad import ToldPad

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
Screens = Callable[..., AppTest]


@pytest.fixture
def pad(monkeypatch: pytest.MonkeyPatch) -> ToldPad:
    return ToldPad(monkeypatch)


def opened(name: str, **link: str) -> AppTest:
    app = AppTest.from_file(APP, default_timeout=60).switch_page(f"screens/{name}.py")
    app.query_params.update(link)
    app.run()
    assert not app.exception
    return app


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch, demo_records: Path) -> Iterator[Screens]:
    """A screen on the demo farm, to type on."""
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with lent(demo_records):
        yield opened


def said(app: AppTest) -> str:
    """What stands on the screen in normal text, without the backslashes that keep it from being read as markup."""
    return "\n".join(element.value for element in app.markdown).replace("\\", "")


@pytest.mark.parametrize("paper", ["plots", "operations"])
def test_the_label_comes_first_where_a_product_is_typed(as_opened: Screens, paper: str) -> None:
    assert cautions.LABEL in said(as_opened("enter_records", paper=paper, crop_year="2025"))


def test_machines_are_shut_down_where_a_loss_check_is_typed(as_opened: Screens) -> None:
    assert cautions.PANS in said(as_opened("enter_records", paper="loss_checks", crop_year="2025"))


def test_where_nobody_can_get_hurt_there_is_no_caution(as_opened: Screens) -> None:
    shown = said(as_opened("enter_records", paper="prices", crop_year="2025"))
    assert cautions.LABEL not in shown
    assert cautions.PANS not in shown


def test_a_pair_has_both_under_its_numbers(as_opened: Screens) -> None:
    shown = said(as_opened("one_pair"))
    assert cautions.LABEL in shown
    assert cautions.PANS in shown


def test_a_short_interval_stands_beside_records_that_are_safe(as_opened: Screens) -> None:
    shown = said(as_opened("record_keeping"))
    assert "Your records are safe" in shown
    assert "Willow quarter, east, 2025: only 12 days from the product to the first cut" in shown
    assert cautions.LABEL in shown


def test_the_files_to_fill_in_hold_the_cautions() -> None:
    meanings = fastexcel.read_excel(template_files()[WORKBOOK]).load_sheet("README").to_polars()
    for words in (cautions.LABEL, cautions.PANS):
        assert words in explanation()
        assert words in meanings["meaning"].to_list()


def test_a_moist_load_raises_the_bin(screen: Screens, pad: ToldPad) -> None:
    app = screen("enter_records", paper="loads", crop_year="2025", field="Willow quarter", plot="east")
    pad.type_in(app, ticket="9001", weight_kg="20000", moisture_pct="10", dockage_pct="1.5")
    assert cautions.HEATING not in said(app)
    pad.type_in(app, row=len(pad.data["rows"]) - 1, moisture_pct="10.1")
    assert cautions.HEATING in said(app)


def test_a_count_past_no_1_raises_the_bin(screen: Screens, pad: ToldPad) -> None:
    app = screen("enter_records", paper="samples", crop_year="2025", field="Willow quarter", plot="east")
    pad.type_in(app, sample="9001", seeds_crushed="500", green_seeds="10")
    assert cautions.HEATING not in said(app)
    pad.type_in(app, row=len(pad.data["rows"]) - 1, green_seeds="11")
    assert cautions.HEATING in said(app)


def test_machines_are_shut_down_where_a_missing_pan_sends_somebody_out(as_opened: Screens) -> None:
    shown = as_opened("gaps", crop_year="All crop years")
    assert any("pan behind the combine" in html.proto.body for html in shown.get("html"))
    assert cautions.PANS in said(shown)


@pytest.mark.parametrize(
    ("name", "link"), [("answer", {}), ("one_measure", {"measure": "net_return"}), ("money", {}), ("next_season", {})]
)
def test_money_is_no_advice(as_opened: Screens, name: str, link: dict[str, str]) -> None:
    assert cautions.NOT_ADVICE in said(as_opened(name, **link))


def test_a_measure_without_dollars_has_no_word_of_finance(as_opened: Screens) -> None:
    assert cautions.NOT_ADVICE not in said(as_opened("one_measure", measure="green_seed"))


def test_money_says_so_beside_the_buying_answer_too(as_opened: Screens) -> None:
    assert said(as_opened("money")).count(cautions.NOT_ADVICE) == 2


def test_the_stage_decides_and_tired_people_get_hurt_beside_the_windrower_days(screen: Screens) -> None:
    app = screen("money")
    assert cautions.LONG_DAYS in said(app)
    assert not any("sleep" in warning.value for warning in app.warning)
    app.text_input(key="hours_a_day").set_value("20").run()
    assert any(warning.value.startswith("20 hours a day leave little sleep") for warning in app.warning)


def test_what_standing_risks_comes_before_the_plan(as_opened: Screens) -> None:
    shown = said(as_opened("next_season"))
    for caution in (cautions.LEFT_STANDING, cautions.LABEL):
        assert caution in shown

"""What is typed is kept as a draft: it comes back, is named on every screen, and is never written over."""

from pathlib import Path

import pytest

from analytics.storage.checkpoints import log_of
from dashboard.after_harvest import entry_pad, entry_sheet
from tests.screens.entry.farm import Screens, lines, stored
from tests.screens.told_pad import ToldPad


def test_what_was_typed_comes_back_in_another_browser_and_says_from_when(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    pad.type_in(screen(farm), ticket="1187", weight_kg="18,62 t")
    again = screen(farm)
    assert "This is your draft of 20" in lines(again)
    assert pad.row == {"ticket": "1187", "weight_kg": "18,62 t"}
    assert stored(farm).is_empty()


def test_a_key_costs_no_rewriting_of_the_file_and_a_save_puts_all_of_it_in(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    at_first = farm.read_bytes()
    pad.type_in(app, ticket="1041")
    pad.type_in(app, weight_kg="18120")
    assert farm.read_bytes() == at_first
    pad.press(app)
    assert not log_of(farm).exists()
    assert stored(farm)["ticket"].to_list() == ["1041"]


def test_a_draft_is_thrown_away_when_asked_twice_and_can_be_brought_back(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1187")
    app.button(key="throw_away").click().run()
    assert "Throw away 1 ticket typed here and not saved?" in lines(app)
    app.button(key="throw_away_yes").click().run()
    assert pad.data["rows"] == []
    assert "wait" not in "".join(link.label for link in app.get("page_link"))
    app.button(key="bring_back").click().run()
    assert pad.row == {"ticket": "1187"}


def test_a_draft_that_a_broken_off_run_kept_goes_with_the_save(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1187", weight_kg="18620")
    assert stored(farm, "drafts").height == 1
    app.session_state["entry_sheet"].draft = None  # the run ended after the draft was written, before it was noted
    pad.press(app)
    assert stored(farm)["ticket"].to_list() == ["1187"]
    assert stored(farm, "drafts").is_empty()


def test_what_waits_is_named_on_every_screen_with_a_link_to_it(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm, who="Ann")
    app.selectbox(key="plot-2026").set_value("All plots").run()
    pad.type_in(app, field="North half", plot="east", ticket="1", weight_kg="18000")
    app.switch_page("screens/gaps.py").run()
    (link,) = [link for link in app.get("page_link") if "wait" in link.label]
    assert link.label == "1 ticket for 2026 waits to be saved, typed by Ann"
    again = screen(farm, link={"paper": "loads", "crop_year": "2026", "who": "Ann"})
    assert again.selectbox(key="plot-2026").value == "All plots"
    assert pad.row["ticket"] == "1"


def test_two_windows_without_a_name_keep_a_draft_each_and_both_are_offered(
    screen: Screens, farm: Path, pad: ToldPad, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = screen(farm)
    other_pad = ToldPad(monkeypatch)
    other = screen(farm)
    other_pad._show(data=[pad.data])
    pad.type_in(one, ticket="50001")
    number = other.session_state[entry_sheet.SHEET].number
    other_pad.data = other_pad.data | {"sheet": number, "rows": []}
    other.session_state[entry_pad.KEY] = {
        "draft": {"sheet": number, "pad": "phone", "seq": 1, "rows": [{"ticket": "50002"}], "units": {}}
    }
    other.run()
    assert stored(farm, "drafts").height == 2
    assert "Another window typed here as well: 1 ticket" in lines(other)
    other.button(key="take_in-0").click().run()
    assert {row["ticket"] for row in other_pad.data["rows"]} == {"50001", "50002"}
    assert stored(farm, "drafts").height == 1


def test_what_a_window_tells_that_is_no_text_of_a_row_is_passed_over(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    for told in ({"draft": 7}, {"draft": {"sheet": pad.data["sheet"], "seq": "x", "rows": [7, {"ticket": {}}]}}, 7):
        app.session_state[entry_pad.KEY] = told
        app.run()
        assert not app.exception
    assert stored(farm, "drafts").is_empty()


def test_a_name_typed_in_the_middle_takes_the_draft_along(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1")
    app.text_input(key="who").input("Ann").run()
    assert stored(farm, "drafts")["typed_by"].to_list() == ["Ann"]
    assert pad.row == {} or pad.data["rows"] == [{"ticket": "1"}]

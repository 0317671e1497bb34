"""Where the entry screen opens: by a link, by the address, at the last save."""

from pathlib import Path

import pytest

from analytics.records.papers import FORMER_KEYS
from dashboard.after_harvest import first_place
from tests.screens.entry.farm import EAST, EAST_BY_LINK, Screens, lines, put, stored
from tests.screens.told_pad import ToldPad


def test_a_year_without_plots_says_what_to_type_first_and_leads_there(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    app.selectbox(key="crop_year").set_value(2027).run()
    assert "There is no plot on record for 2027" in lines(app)
    links = [link.label for link in app.get("page_link")]
    assert "Or type or copy all plots of 2027" in links


def test_the_place_of_the_last_save_is_remembered(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm, who="A")
    app.selectbox(key="plot-2026").set_value("North half, west").run()
    pad.type_in(app, ticket="5", weight_kg="18620")
    pad.press(app)
    assert screen(farm).selectbox(key="plot-2026").value == "North half, west"


def test_the_address_names_the_place_so_that_a_page_loaded_anew_opens_it(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, "samples")
    app.selectbox(key="plot-2026").set_value("North half, west").run()
    address = {name: texts[0] if isinstance(texts, list) else texts for name, texts in app.query_params.items()}
    again = screen(farm, link=address)
    assert (again.selectbox(key="paper").value, again.selectbox(key="plot-2026").value) == (
        "samples",
        "North half, west",
    )


def test_a_link_opens_its_crop_year_plot_paper_and_ticket_and_makes_no_draft_and_another_plot_can_be_chosen(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    put(farm, loads=[EAST | {"plot": "west", "ticket": ticket, "weight_kg": 18_000.0} for ticket in ("1", "2", "3")])
    app = screen(farm, link=EAST_BY_LINK | {"plot": "west", "row": "2"})
    assert app.selectbox(key="plot-2026").value == "North half, west"
    assert pad.row["ticket"] == "2"
    assert stored(farm, "drafts").is_empty()
    pad.type_in(app, moisture_pct="9,1")
    assert pad.save_words == "Save 1 ticket for North half, west, 2026"
    pad.press(app)
    assert stored(farm).sort("ticket")["moisture_pct"].to_list() == [None, 9.1, None]
    app.selectbox(key="plot-2026").set_value("North half, east").run()
    assert app.selectbox(key="plot-2026").value == "North half, east"


def test_a_link_leads_to_a_plot_by_its_dates(screen: Screens, farm: Path, pad: ToldPad) -> None:
    screen(farm, link={"crop_year": "2026", "paper": "plots", "row": "North half / west"})
    assert (pad.row["field"], pad.row["plot"]) == ("North half", "west")


def test_an_address_with_the_name_of_a_paper_leads_to_it_as_before(screen: Screens, farm: Path, pad: ToldPad) -> None:
    assert {former: first_place.place_in_link({"paper": former})["paper"] for former in FORMER_KEYS} == FORMER_KEYS
    app = screen(farm, link={"crop_year": "2026", "paper": "Loss checks"})
    assert app.selectbox(key="paper").value == "loss_checks"


@pytest.mark.parametrize(
    ("box", "chosen", "opened"),
    [
        ("paper", "samples", ("samples", "North half, west")),
        ("plot-2026", "All plots", ("loads", "All plots")),
    ],
)
def test_what_is_chosen_while_the_next_plot_opens_stays_chosen(
    screen: Screens, farm: Path, pad: ToldPad, box: str, chosen: str, opened: tuple[str, str]
) -> None:
    """On a slow machine there is a second between the press and the next plot."""
    app = screen(farm)
    app.session_state[first_place.ONWARD] = {"field": "North half", "plot": "west"}
    app.selectbox(key=box).set_value(chosen).run()
    assert (app.selectbox(key="paper").value, app.selectbox(key="plot-2026").value) == opened


def test_a_garbled_link_opens_the_screen_all_the_same_and_says_what_is_wrong(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, link=EAST_BY_LINK | {"crop_year": "soon", "paper": "Napkins"})
    assert app.selectbox(key="paper").value == "loads"
    assert "Crop year soon given in the address; allowed 1990 to" in lines(app)
    assert pad.row == {}


def test_any_crop_year_back_to_1990_can_be_typed_and_opened_by_a_link(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, link={"crop_year": "1990", "paper": "fields"})
    assert app.selectbox(key="crop_year").value == 1990
    assert pad.data["noun"] == "field"

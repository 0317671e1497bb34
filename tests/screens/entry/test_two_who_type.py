"""Two who type at the same plot: both values are seen, and looking for conflicts and saving are one."""

import threading
from pathlib import Path

import pytest

from analytics.storage.database import open_records
from analytics.storage.transactions import transaction
from dashboard.after_harvest import entry_acts
from tests.screens.entry.farm import EAST, Screens, lines, put, stored
from tests.screens.told_pad import ToldPad


@pytest.mark.parametrize(("press", "weight"), [("mine-1", 19_000.0), ("theirs-1", 17_000.0)])
def test_the_second_of_two_sees_both_values_and_chooses(
    screen: Screens, farm: Path, pad: ToldPad, press: str, weight: float
) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1187", weight_kg="19000")
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 17_000.0}])
    app.run()
    assert "1187 was typed by Neighbour as well. weight, kg: 19000 here, 17000 by Neighbour." in lines(app)
    assert pad.is_save_off
    app.button(key=press).click().run()
    if not pad.is_save_off:
        pad.press(app)
    assert stored(farm)["weight_kg"].to_list() == [weight]


def test_a_row_typed_by_two_is_still_asked_about_after_the_others_were_saved(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 18_000.0}])
    app = screen(farm)
    pad.type_in(app, row=0, weight_kg="19000")
    pad.type_in(app, row=1, ticket="2", weight_kg="18500")
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 17_000.0}])
    pad.press(app)
    assert pad.data["done"] == "1 ticket added, 0 changed, 1 left (1187)."
    assert "1187 was typed by Neighbour as well. weight, kg: 19000 here, 17000 by Neighbour." in lines(app)
    assert pad.is_save_off
    assert stored(farm).sort("ticket")["weight_kg"].to_list() == [17_000.0, 18_500.0]


def test_a_transaction_inside_another_is_part_of_it(farm: Path) -> None:
    with open_records(farm) as connection:
        with pytest.raises(ZeroDivisionError), transaction(connection):
            with transaction(connection):
                connection.execute("delete from plots")
            raise ZeroDivisionError
        with transaction(connection):
            connection.execute("delete from fields")
    assert (stored(farm, "plots").height, stored(farm, "fields").height) == (2, 0)


def test_nobody_writes_between_the_look_for_conflicts_and_the_save(
    screen: Screens, farm: Path, pad: ToldPad, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved, theirs = entry_acts.save_entry, {"loads": [EAST | {"ticket": "1", "weight_kg": 17_000.0}]}
    other = threading.Thread(target=put, args=(farm,), kwargs=theirs)

    def save_while_another_tries(*given: object, **named: object) -> str:
        other.start()
        other.join(timeout=1)
        assert other.is_alive()
        return saved(*given, **named)

    app = screen(farm)
    pad.type_in(app, ticket="1", weight_kg="19000")
    monkeypatch.setattr(entry_acts, "save_entry", save_while_another_tries)
    pad.press(app)
    other.join()
    assert pad.data["done"] == "1 ticket added, 0 changed, 0 left."
    assert stored(farm, "acts").sort("act_id")["done_by"].to_list()[-2:] == ["at the screen", "Neighbour"]

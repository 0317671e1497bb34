"""The money and next-season screens, run without a browser: what the first line says, and what typing does."""

from datetime import datetime
from pathlib import Path

import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from analytics.answer.buying_wording import is_gain_settled
from analytics.answer.money_review import money_review
from analytics.answer.money_wording import money_headline
from analytics.planning.drawing_lots import keep_plan
from analytics.planning.field_rules import rules_in_force
from analytics.planning.pairing import strip_pairs
from analytics.records.grown_tables import FIELDS
from analytics.settings import change_settings
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.trade.budget import Change
from analytics.trade.typed_text import THOUSANDS
from dashboard.pictures import money_charts
from tests.prepared import begun, copied, lent, only_read
from tests.screens.unfolding import unfolded

APP = Path(__file__).resolve().parents[2] / "dashboard" / "app.py"
SECONDS = 120  # not a speed test: other work may share the machine


@pytest.fixture
def path(demo_records, monkeypatch):
    """The demo farm, which the dashboard opens, to be changed by acts."""
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with lent(demo_records) as path:
        yield path


@pytest.fixture
def without(demo_records, tmp_path, monkeypatch):
    """without(SQL): the money screen of a copy of the demo farm from which the SQL took something away."""

    def taken_away(change):
        copy = copied(demo_records, tmp_path / "records.duckdb")
        monkeypatch.setenv("STANDROW_RECORDS", str(copy))
        with open_records(copy) as connection:
            connection.execute(change)
        return opened("money")

    return taken_away


def test_each_bar_is_labelled_in_dollars_and_cents_as_the_sheet_has_them():
    changes = [
        Change(name="yield", kind="revenue", dollars_ac=0.8),
        Change(name="application", kind="cost", dollars_ac=7.75),
        Change(name="windrowing", kind="cost", dollars_ac=-13.67),
    ]
    bars, *_ = money_charts.budget_lines(changes, net_ac=6.72).layer
    assert bars.data["text"].to_list() == ["+$0.80", "−$7.75", "+$13.67", "+$6.72"]


@pytest.fixture
def looked_at(demo_records, monkeypatch):
    """The demo farm, which the dashboard opens and nobody changes."""
    monkeypatch.setenv("STANDROW_RECORDS", str(demo_records))
    with only_read(demo_records) as path:
        yield path


def opened(screen):
    app = AppTest.from_file(str(APP), default_timeout=SECONDS)
    app.switch_page(f"screens/{screen}.py")
    return healthy(app.run())


def healthy(app):
    assert not app.exception
    return app


def text(app):
    """All words of the screen, without the marks that keep dollar signs plain."""
    kinds = (app.title, app.header, app.markdown, app.caption, app.error, app.warning, app.success, app.info)
    return " ".join(item.value for kind in kinds for item in kind).replace("\\", "")


def folds(app):
    """What stands in the folds of plain text, with its tags."""
    return " ".join(
        part.proto.body for part in app.get("html") if part.proto.body.startswith("<div class='text-folds'")
    )


def test_money_answers_in_its_first_line(as_opened, demo_records, compared):
    with open_records(demo_records) as connection:
        said = money_headline(money_review(connection, compared))
    app = as_opened("money")
    assert app.title[0].value == "Does it pay?"
    assert said in app.main.markdown[0].value.replace("\\", "")
    assert not app.error


def test_published_trials_are_used_only_where_chosen_and_it_says_so(looked_at):
    app = opened("money")
    assert "published trials" not in text(app)
    said = text(healthy(app.checkbox(key="from_published").check().run()))
    assert "Starting from the published trials, as you chose: " in said
    assert "The first line of this screen does not use the published trials." in said


def test_another_price_draws_its_pictures_anew(looked_at, monkeypatch):
    drawn, heat, what_matters = [], money_charts.heat, money_charts.what_matters

    def noted_heat(at, *, prices, unit):
        drawn.append(("heat", prices[0]))
        return heat(at, prices=prices, unit=unit)

    def noted_swings(swings, *, unit):
        drawn.append(("swings", unit))
        return what_matters(swings, unit=unit)

    monkeypatch.setattr(money_charts, "heat", noted_heat)
    monkeypatch.setattr(money_charts, "what_matters", noted_swings)
    app = opened("money")
    drawn.clear()  # the first may have been kept since another test
    for typed in ("612.5", "613.5"):
        app.text_input(key="price").set_value(typed)
        healthy(app.run())
    assert drawn == [("heat", 612.5), ("swings", "bu/ac"), ("heat", 613.5), ("swings", "bu/ac")]


def test_what_cannot_be_is_said_in_plain_words_and_the_rest_stays(looked_at):
    app = opened("money")
    app.text_input(key="acres").set_value("0")
    app.text_input(key="life").set_value("0")
    app.text_input(key="price").set_value("14.5")
    app.text_input(key="window_days").set_value("a week")
    healthy(app.run())
    said = text(app)
    assert "acres: 0 acres given; allowed a number above 0" in said
    assert "life: 0 years given; allowed 1 to 50" in said
    assert "Is it a price per bushel?" in said
    assert "'a week' given; not a number" in said
    assert "Where does the difference come from?" in said
    for key, typed in (
        ("life", "10"),
        ("salvage", "-5"),
        ("window_days", "10"),
        ("acres_per_hour", "0"),
        ("price", "0"),
    ):
        app.text_input(key=key).set_value(typed)
    said = text(healthy(app.run()))
    assert "salvage: −5 $ given; allowed 0 to 30,000 $" in said
    assert "acres an hour: 0 given; allowed 0.1 to 500" in said
    assert "price: 0 $/t given; allowed above 0" in said


def test_no_interest_is_a_plain_division_and_no_error(looked_at):
    app = opened("money")
    app.text_input(key="interest").set_value("0")
    assert "over 10 years at 0 %" in text(healthy(app.run())).replace("\u202f", " ")
    assert not app.error


def test_a_windrower_is_credited_only_once_no_other_crop_needs_it(looked_at):
    app = opened("money")
    before = app.main.markdown
    app.radio(key="windrower_stays").set_value("It is sold or not replaced").run()
    app.text_input(key="saved").set_value("6000")
    healthy(app.run())
    assert "Not credited until you confirm" in text(app)
    unsure = next(item.value for item in app.markdown if "On these figures it" in item.value)
    app.checkbox(key="windrower_sold").check()
    healthy(app.run())
    sure = next(item.value for item in app.markdown if "On these figures it" in item.value)
    assert sure != unsure
    assert any(unsure == item.value for item in before)


def test_no_figure_of_a_purchase_is_bold_while_the_gain_is_not_settled(as_opened, compared):
    is_settled = is_gain_settled(compared["net_return"])
    app = as_opened("money")
    (said,) = [item.value for item in app.markdown if "On these figures it" in item.value]
    assert said.startswith("**") == is_settled
    assert ("is not settled" in text(app)) or is_settled


def test_other_crops_are_typed_by_name_and_acres(looked_at):
    app = opened("money")
    app.text_area(key="other_crops").set_value("flax 700\nrye 800")
    assert "The flax and rye alone are more than a usual window holds" in text(healthy(app.run()))
    app.text_area(key="other_crops").set_value("flax")
    assert "other crops, line 1: 'flax' given; allowed a name and its acres" in text(healthy(app.run()))


def test_what_was_typed_is_there_again_after_a_look_at_another_screen(looked_at):
    app = opened("money")
    app.text_input(key="bought_acres").set_value("640")
    app.text_area(key="other_crops").set_value("flax 70")
    app.radio(key="windrower_stays").set_value("It is sold or not replaced")
    healthy(app.run())
    app.switch_page("screens/gaps.py")
    healthy(app.run())
    app.switch_page("screens/money.py")
    healthy(app.run())
    assert app.text_input(key="bought_acres").value == "640"
    assert app.text_area(key="other_crops").value == "flax 70"
    assert app.radio(key="windrower_stays").value == "It is sold or not replaced"
    assert app.text_input(key="outlay").value == "30000"


def test_a_seed_that_is_no_number_draws_nothing(looked_at):
    app = opened("next_season")
    app.text_input(key="seed").set_value("heads")
    app.button(key="draw").click()
    healthy(app.run())
    assert "Draw number: 'heads' given; not a number" in text(app)
    with open_records(looked_at) as connection:
        assert read_table(connection, "draws").is_empty()


def test_a_box_asks_what_the_comma_is_while_nobody_said(looked_at):
    app = opened("money")
    healthy(app.text_input(key="acres").set_value("1,000").run())
    assert "Is 1,000 on your papers 1000, or is it 1.000?" in text(app)
    assert app.error[0].value.startswith("Acres")


def test_yields_on_both_screens_follow_the_chosen_unit(path):
    with open_records(path) as connection:
        change_settings(connection, {"yield_unit": "t/ha"}, done_by="test", why=None)
    said = text(opened("money"))
    assert "t/ha)" in said
    assert "bu/ac" not in said
    assert "t/ha in 8 of 10 such trials" in text(opened("next_season"))


def test_an_own_rate_is_kept_and_shown_as_such(path):
    app = unfolded(opened("money"), "rate freight")
    app.text_input(key="middle freight").set_value("9,5")
    app.text_input(key="year freight").set_value("2025")
    app.button(key="keep freight").click()
    healthy(app.run())
    assert "Your rate for freight counts from now on." in text(app)
    with open_records(path) as connection:
        assert read_table(connection, "cost_assumptions").select("item", "middle", "year").rows() == [
            ("freight", 9.5, 2025)
        ]


def test_what_was_chosen_in_a_fold_holds_when_it_is_folded_again(path):
    app = opened("next_season")
    app.multiselect(key="fields 2026").set_value(["Home quarter"])
    app = unfolded(healthy(app.run()), "strips")
    app.selectbox(key="strips Home quarter").set_value("4 pairs of strips").run()
    app.session_state["strips"] = False
    assert healthy(app.run()).selectbox(key="strips Home quarter").value == "4 pairs of strips"


def test_next_season_answers_first_draws_once_and_shows_how_the_lot_fell(path):
    app = opened("next_season")
    assert app.main.markdown[0].value.startswith("**For 2026: split")
    app.multiselect(key="fields 2026").set_value(["Home quarter", "Corner eighty", "Gate eighty"])
    healthy(app.run())
    assert app.main.markdown[0].value.startswith("**For 2026: split 1 field and pair 2 fields by likeness")
    app = unfolded(app, "strips")
    app.selectbox(key="strips Home quarter").set_value("4 pairs of strips")
    app.text_input(key="seed").set_value("1914")
    app.button(key="draw").click()
    healthy(app.run())
    said = text(app)
    assert "Drawn with draw number 1914 and kept as plots and pairs of 2026." in said
    assert "5 pairs drawn on" in said
    assert "drawing again gives the same" in said
    with open_records(path) as connection:
        pairs = read_table(connection, "pairs")
    assert pairs["crop_year"].to_list().count(2026) == 5


def test_next_season_says_how_far_partners_lie_and_where_to_type_what_is_unknown(path):
    app = unfolded(opened("next_season"))
    said = text(app) + folds(app)
    assert "1.0 km apart; not known: variety, seeding day." in said
    assert "Distance not on record for N1: type it under What came in?, Distances between fields." in said
    assert "9.5 km away" in said
    app.text_input(key="threshold distance").set_value("10")
    app.button(key="keep rule distance").click()
    healthy(app.run())
    assert "The rule on distance to a partner is changed." in text(app)
    with open_records(path) as connection:
        assert rules_in_force(connection)["distance"].threshold == 10.0


def test_a_plan_that_is_kept_stays_the_one_that_is_shown(path):
    with open_records(path) as connection:
        keep_plan(
            connection,
            strip_pairs("Home quarter", 4),
            crop_year=2026,
            seed=1914,
            drawn_at=datetime(2026, 4, 1, 9, 30),
            done_by="test",
            source="screen",
        )
    app = opened("next_season")
    assert app.text_input(key="crop_year").value == "2026"
    assert app.multiselect(key="fields 2026").value == []
    assert app.main.markdown[0].value.startswith("**For 2026 the draw is done for 4 pairs")
    app.selectbox(key="broken_pair").set_value("Home quarter 2")
    app.text_input(key="broken_reason").set_value("hail on strip 3")
    app.button(key="note_broken").click()
    healthy(app.run())
    assert "Not kept to: hail on strip 3" in text(app)


def test_without_prices_the_first_papers_are_named_and_the_rest_counted(without):
    said = text(without("delete from prices"))
    assert said.count("- Pair ") == 5
    assert "a price for canola grade 1 in 2025" in said
    assert "And 21 pairs more." in said
    assert "What an acre gains is not known from these records yet." in said


def test_one_pair_gives_no_verdict_on_a_purchase_and_work_that_may_be_charged_twice_is_asked_about(without):
    app = without(
        "delete from pairs where not (crop_year = 2023 and pair = 'M1');"
        "update operations set operation = 'custom spray job' where operation = 'application'"
    )
    assert '"custom spray job" counts as work of its own, besides application.' in text(app)
    assert app.text_input(key="gain").value == ""
    assert "On these figures" not in text(app)
    assert "Only one year is on record" in text(app)


def test_pairs_that_are_only_planned_are_said_to_wait(tmp_path, monkeypatch):
    records = tmp_path / "planned.duckdb"
    monkeypatch.setenv("STANDROW_RECORDS", str(records))
    with begun(records) as connection:
        fields = pl.DataFrame([{"field": "A", "acres": 160.0}], schema=FIELDS.polars_schema())
        save(connection, [TableSave(table=FIELDS, saved=fields, removed=fields.clear())], done_by="t", source="screen")
        rest = {"crop_year": 2026, "seed": 1, "drawn_at": datetime(2026, 4, 1), "done_by": "test", "source": "screen"}
        keep_plan(connection, strip_pairs("A", 2), **rest)
    assert "2 pairs are planned and not harvested yet" in text(opened("money"))
    assert "2 pairs are planned and not harvested yet" in text(opened("answer"))


def test_empty_records_are_said_in_plain_words_and_a_box_reads_the_comma_of_the_farm(tmp_path, monkeypatch):
    empty = tmp_path / "empty.duckdb"
    with begun(empty) as connection:
        monkeypatch.setenv("STANDROW_RECORDS", str(empty))
        change_settings(connection, {"comma": THOUSANDS}, done_by="test", why=None)
    assert "There is no field on record yet" in text(opened("next_season"))
    app = opened("money")
    assert "There is nothing to compare yet" in text(app)
    healthy(app.text_input(key="canola_acres").set_value("1,000").run())
    assert not app.error

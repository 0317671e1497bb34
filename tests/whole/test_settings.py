"""What governs every finding: defaults, what is allowed, and that a change of level or margin needs a reason."""

from datetime import date

import pytest

from analytics.answer.money_review import money_review, outlook
from analytics.answer.review import review
from analytics.errors import BadInput
from analytics.files.importing import bring_in, faults_text
from analytics.money.costs import keep_rates, own_rate
from analytics.settings import change_settings, read_settings, setting_changes
from analytics.storage.database import read_table
from analytics.trade.measures import MEASURES
from tests.conftest import small_records
from tests.prepared import begun


@pytest.fixture(scope="module")
def unchanged(tmp_path_factory):
    """A connection to records without a row, for changes that are refused."""
    with begun(tmp_path_factory.mktemp("unchanged") / "records.duckdb", thrown_away=True) as connection:
        yield connection
        assert read_table(connection, "settings").is_empty()


def test_a_new_file_has_the_designed_defaults(unchanged):
    settings = read_settings(unchanged)
    assert (settings.level, settings.yield_unit, settings.one_moisture_pct) == (0.95, "bu/ac", 10.0)
    assert settings.margins == {name: measure.margin for name, measure in MEASURES.items()}


def test_a_change_is_kept_with_its_reason(connection):
    change_settings(
        connection, {"level": "0,90", "margin.yield": "1.5"}, done_by="A grower", why="a wrong choice costs little"
    )
    settings = read_settings(connection)
    assert (settings.level, settings.margins["yield"]) == (0.90, 1.5)
    assert read_table(connection, "acts").select("source", "why").row(0) == ("setting", "a wrong choice costs little")


@pytest.mark.parametrize("why", [None, "", "  "])
@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("level", "0.9"),
        ("margin.loss", "0.9"),
        ("one_moisture_pct", "8.5"),
        ("basis", "all"),
        ("main_measure", "net_return"),
    ],
)
def test_what_is_fixed_before_looking_changes_only_with_a_reason(unchanged, name, value, why):
    with pytest.raises(BadInput, match="no reason given"):
        change_settings(unchanged, {name: value}, done_by="A grower", why=why)
    assert read_table(unchanged, "settings").is_empty()


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("level", "0.99", "allowed 0.95, 0.9, 0.8"),
        ("level", "high", "not a number"),
        ("margin.yield", "0", "above 0"),
        ("margin.colour", "1", "measure: 'colour' given"),
        ("one_moisture_pct", "4.9", "allowed 5 to 15"),
        ("one_moisture_pct", "15.1", "allowed 5 to 15"),
        ("basis", "strips", "allowed by design, all, one_field, drawn_by_lot"),
        ("main_measure", "colour", "allowed yield"),
        ("yield_unit", "bushels", "allowed bu/ac, t/ha"),
        ("farm_name", " ", "1 to 100 letters"),
        ("colour", "1", "no such setting"),
    ],
)
def test_what_is_not_allowed_is_refused_in_words(unchanged, name, text, words):
    with pytest.raises(BadInput, match=words):
        change_settings(unchanged, {name: text}, done_by="A grower", why="a test")


@pytest.mark.parametrize("name", ["farm_name", "level", "yield_unit", "requirements", "margin.yield"])
def test_a_long_text_is_not_repeated_whole(unchanged, name):
    with pytest.raises(BadInput) as refused:
        change_settings(unchanged, {name: 5000 * "x"}, done_by="A grower", why="a test")
    assert "xxx..." in str(refused.value)
    assert len(str(refused.value)) < 500


@pytest.mark.parametrize("text", ["5", "15", "8,5"])
def test_one_moisture_at_its_limits_governs_the_views(connection, text):
    change_settings(connection, {"one_moisture_pct": text}, done_by="A grower", why="the elevator pays at it")
    assert read_table(connection, "one_moisture").item() == float(text.replace(",", "."))


def test_name_unit_and_grade_limits_change_without_a_reason(connection):
    change_settings(connection, {"farm_name": "Hillside", "yield_unit": "t/ha", "grading": "US"}, done_by="A", why=None)
    assert setting_changes(connection) == ()


def test_every_change_of_what_is_fixed_is_told_with_its_reason_newest_first(connection):
    change_settings(connection, {"level": "0.8"}, done_by="A grower", why="a wrong choice costs little")
    change_settings(connection, {"level": "0.9", "basis": "all"}, done_by="A grower", why="second thoughts")
    told = [change.words for change in setting_changes(connection)]
    assert len(told) == 3
    assert sorted(told)[1].startswith("level: 0.8, was 0.95 (")
    assert sorted(told)[2].startswith("level: 0.9, was 0.8 (")
    assert sorted(told)[1].endswith("A grower: a wrong choice costs little)")
    assert "basis: all, was by design" in sorted(told)[0]


PLOT = {"crop_year": 2025, "field": "North", "plot": "whole"}
BEGUN = {
    "fields": [{"field": "North", "acres": 80.0}],
    "plots": [PLOT | {"method": "standing", "acres": 80.0}],
    "loads": [PLOT | {"ticket": "1", "weight_kg": 20_000.0}],
}


@pytest.fixture
def farm(tiny):
    """Records that are begun, so that a file of settings may come alone."""
    return tiny(BEGUN)


@pytest.fixture(scope="module")
def unchanged_farm(tmp_path_factory):
    """The same, for files that are refused."""
    with small_records(tmp_path_factory.mktemp("unchanged") / "records.duckdb", BEGUN) as connection:
        yield connection
        assert read_table(connection, "settings").is_empty()


def brought_in(farm, tmp_path, text, *, reason=""):
    file = tmp_path / "settings.csv"
    file.write_text(f"name,value\n{text}\n")
    return bring_in(farm, file, done_by="A grower", reason=reason)


def test_a_file_that_changes_what_is_fixed_is_refused_without_a_reason(unchanged_farm, tmp_path):
    """A level of 80 % came in by a file without a word, and the banker's sheet said that all was settled."""
    brought = brought_in(unchanged_farm, tmp_path, "level,0.8")
    assert "settings.csv, row 2, value: level 0.8, with no reason given" in faults_text(brought)
    assert "--reason" in faults_text(brought)
    assert read_settings(unchanged_farm).level == 0.95


def test_a_file_that_changes_what_is_fixed_keeps_the_reason_given(farm, tmp_path):
    assert faults_text(brought_in(farm, tmp_path, "level,0.8", reason="little is at stake")) == ""
    assert read_settings(farm).level == 0.8
    (change,) = setting_changes(farm)
    assert change.why == "from settings.csv; little is at stake"


@pytest.mark.parametrize(
    "text",
    [
        "margin.moisture,5.0",
        "margin.yield,0.55",
        "basis,all",
        "main_measure,loss",
        "one_moisture_pct,15.0",
        "wind_kmh,90.0",
        "requirements,same variety",
    ],
)
def test_no_setting_that_could_move_a_finding_comes_in_by_a_file_without_a_reason(unchanged_farm, tmp_path, text):
    before = read_settings(unchanged_farm)
    name, value = text.split(",")
    told = faults_text(brought_in(unchanged_farm, tmp_path, text))
    assert f"settings.csv, row 2, value: {name} {value}, with no reason" in told
    assert read_settings(unchanged_farm) == before
    assert setting_changes(unchanged_farm) == ()


def test_a_file_that_repeats_what_is_in_force_or_fixes_nothing_needs_no_reason(farm, tmp_path):
    assert faults_text(brought_in(farm, tmp_path, "level,0.95\nmargin.yield,1.0\nyield_unit,t/ha")) == ""
    settings = read_settings(farm)
    assert (settings.level, settings.margins["yield"], settings.yield_unit) == (0.95, 1.0, "t/ha")


@pytest.mark.parametrize(
    ("extra", "break_even"),  # bu/ac at 600 $/t: 600 x 0.0226796 is 13.608 $ a bushel, by hand
    [*(pytest.param(*few, marks=pytest.mark.slow) for few in ((6.50, 0.48), (7.50, 0.55))), (16.00, 1.18)],
)
def test_a_margin_never_moves_by_itself(tiny, extra, break_even):
    """Yield's margin went from 1.00 to 0.55 to 1.18 bu/ac as extra costs went from 6.50 to 7.50 to 16 $/ac, and turned
    "the same in practice" to "not settled" and back. Break-even moves with the costs, and stands beside the margin.
    """
    farm = tiny(one_price(extra))
    for item in ("windrowing", "combining", "rolling"):
        keep_rates(farm, own_rate(item, middle="0"), done_by="A grower")
    settings, compared = read_settings(farm), review(farm, "yield")
    assert outlook(money_review(farm), 600.0).break_even_yield == pytest.approx(break_even, abs=0.005)
    assert settings.margins == {name: measure.margin for name, measure in MEASURES.items()}
    assert (compared.margin, compared.these_fields.finding) == (1.0, "no_difference_that_matters")
    assert setting_changes(farm) == ()


def one_price(extra):
    """Three fields, each cut both ways, of nearly one yield, at 600 $/t; spraying the standing half costs extra."""
    kg = {"A": (20_000.0, 20_050.0), "B": (21_000.0, 21_100.0), "C": (19_000.0, 18_900.0)}
    halves = [(field, side, kg[field][side == "west"]) for field in kg for side in ("east", "west")]
    at = {"crop_year": 2025}
    return {
        "fields": [{"field": field, "acres": 40.0} for field in kg],
        "plots": [
            at | {"field": field, "plot": side, "method": "standing" if side == "east" else "windrowed", "acres": 20.0}
            for field, side, _ in halves
        ],
        "loads": [
            at
            | {
                "field": field,
                "plot": side,
                "ticket": "1",
                "weight_kg": weight,
                "moisture_pct": 9.0,
                "dockage_pct": 0.0,
            }
            for field, side, weight in halves
        ],
        "samples": [at | {"field": field, "plot": side, "sample": "1", "grade": "1"} for field, side, _ in halves],
        "pairs": [
            at
            | {
                "pair": field,
                "layout": "split field",
                "standing_field": field,
                "standing_plot": "east",
                "windrowed_field": field,
                "windrowed_plot": "west",
            }
            for field in kg
        ],
        "operations": [
            at
            | {
                "field": field,
                "plot": "east",
                "operation": "spraying",
                "done_on": date(2025, 8, 20),
                "dollars_per_acre": extra,
            }
            for field in kg
        ],
        "prices": [at | {"crop": "canola", "grade": "1", "dollars_per_tonne": 600.0}],
    }

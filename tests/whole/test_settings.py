"""What governs every finding: defaults, what is allowed, and that a change of level or margin needs a reason."""

import pytest

from analytics.errors import BadInput
from analytics.settings import change_settings, read_settings
from analytics.storage.database import read_table
from analytics.trade.measures import MEASURES


def test_a_new_file_has_the_designed_defaults(connection):
    settings = read_settings(connection)
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
@pytest.mark.parametrize("name", ["level", "margin.loss"])
def test_a_level_or_margin_without_a_reason_is_refused(connection, name, why):
    with pytest.raises(BadInput, match="no reason given"):
        change_settings(connection, {name: "0.9"}, done_by="A grower", why=why)
    assert read_table(connection, "settings").is_empty()


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("level", "0.99", "allowed 0.95, 0.9, 0.8"),
        ("level", "high", "not a number"),
        ("margin.yield", "0", "above 0"),
        ("margin.colour", "1", "measure: 'colour' given"),
        ("one_moisture_pct", "4.9", "allowed 5 to 15"),
        ("one_moisture_pct", "15.1", "allowed 5 to 15"),
        ("yield_unit", "bushels", "allowed bu/ac, t/ha"),
        ("farm_name", " ", "1 to 100 letters"),
        ("colour", "1", "no such setting"),
    ],
)
def test_what_is_not_allowed_is_refused_in_words(connection, name, text, words):
    with pytest.raises(BadInput, match=words):
        change_settings(connection, {name: text}, done_by="A grower", why="a test")


@pytest.mark.parametrize("text", ["5", "15", "8,5"])
def test_one_moisture_at_its_limits_governs_the_views(connection, text):
    change_settings(connection, {"one_moisture_pct": text}, done_by="A grower", why=None)
    assert read_table(connection, "one_moisture").item() == float(text.replace(",", "."))

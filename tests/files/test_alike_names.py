"""Names that a person takes for one are asked about before they become two fields."""

import pytest

from analytics.files.alike_names import alike, seen_as
from analytics.files.import_plan import plan_import
from analytics.records.bin_tables import BINS
from analytics.records.grown_tables import FIELDS, PLOTS
from analytics.records.harvest_tables import LOADS
from analytics.records.tables import TABLES
from tests.files.given import incoming_of

PAIRS = [
    ("Home", "home"),
    ("Coulée", "Coulee"),
    ("Home", "Ho\u200bme"),  # a letter without width
    ("Home", "H\u043eme"),  # a Cyrillic o
    ("East 10", "East 1O"),
    ("East half", "East  half"),
    ("Mill", "MiII"),
]


@pytest.mark.parametrize("names", PAIRS)
def test_names_that_look_alike_are_asked_about_when_one_is_new(names):
    rows = [{"field": name} for name in names]
    (question,) = alike(FIELDS, rows[1:], rows[:1])
    assert question.endswith(
        "look alike and would be 2 fields. Is one field meant? Then give it one name in all files."
    )
    assert len(alike(FIELDS, rows, [])) == 1
    assert alike(FIELDS, [], rows) == ()


@pytest.mark.parametrize("names", [("Home", "Hope"), ("East 1", "East 2"), ("North", "South"), ("A", "B")])
def test_names_that_differ_are_not(names):
    assert seen_as(names[0]) != seen_as(names[1])
    assert alike(FIELDS, [{"field": name} for name in names], []) == ()


def test_plots_of_one_field_and_bins_of_one_year_are_asked_about_too():
    """Tickets typed for East and for east would be of two plots, and checks of Bin 7 and bin 7 of two bins."""
    plots = [{"crop_year": 2025, "field": field, "plot": plot} for field, plot in
             [("Home", "East"), ("Home", "east"), ("Mill", "east")]]  # fmt: skip
    assert alike(PLOTS, plots[1:], plots[:1]) == (
        "2025, Home, East and east look alike and would be 2 plots. Is one plot meant? Then give it one name in all "
        "files.",
    )
    bins = [{"crop_year": year, "bin": name} for year, name in [(2025, "Bin 7"), (2025, "bin\u00a07"), (2026, "BIN 7")]]
    (question,) = alike(BINS, bins, [])
    assert "would be 2 bins" in question
    assert alike(LOADS, [{"ticket": "T1"}, {"ticket": "t1"}], []) == ()


def test_a_file_with_a_second_spelling_of_a_field_is_asked_about_and_letters_of_another_alphabet_are_named():
    found = incoming_of([("fields.csv", "field,acres\nH\u043eme,160\n".encode())])
    planned = plan_import(found, {"fields": TABLES["fields"].empty()}, needs_all=False)
    assert planned.alike_names == ()
    twice = incoming_of([("fields.csv", "field,acres\nHome,160\nH\u043eme,160\n".encode())])
    planned = plan_import(twice, {}, needs_all=False)
    assert planned.alike_names == (
        "Home and H\u043eme (with U+043E) look alike and would be 2 fields. Is one field meant? Then give it one name "
        "in all files.",
    )

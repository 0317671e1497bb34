"""Names that a person takes for one are asked about before they become two fields."""

import pytest

from analytics.files.alike_names import alike, seen_as
from analytics.files.import_plan import plan_import
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
    (question,) = alike([names[1]], [names[0]])
    assert question.endswith(
        "look alike and would be 2 fields. Is one field meant? Then give it one name in all files."
    )
    assert len(alike(names, [])) == 1
    assert alike([], names) == ()


@pytest.mark.parametrize("names", [("Home", "Hope"), ("East 1", "East 2"), ("North", "South"), ("A", "B")])
def test_names_that_differ_are_not(names):
    assert seen_as(names[0]) != seen_as(names[1])
    assert alike(names, []) == ()


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

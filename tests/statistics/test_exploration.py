"""Does it depend on ...: the fixed list over all pairs, field-years that are of both kinds left out and counted."""

import numpy as np
import pytest

from analytics.errors import BadInput
from analytics.statistics.depends_on import NotAsked, moderator
from analytics.statistics.exploration import ASKED, depends_on
from analytics.statistics.given_pairs import complete_pairs
from analytics.statistics.proportions import holm_adjusted

RANDOM = np.random.default_rng(12)
YEARS = np.repeat([2021, 2022, 2023], 6)
DIFFERENCES = RANDOM.normal(1, 1, 18)
DIFFERENCES[1::2] += 4  # two fields
NAMES = [f"F{place}" for place in range(18)]
OTHERS = [name if place % 2 == 0 else name + "'" for place, name in enumerate(NAMES)]


def made(**columns):
    given = {"crop_year": YEARS.tolist(), "standing_field": NAMES, "windrowed_field": OTHERS} | columns
    return complete_pairs(DIFFERENCES, np.zeros(18), **given)


def lines(pairs, facts=None):
    return {line.name: line for line in depends_on(pairs, facts or {})}


def test_every_line_of_the_list_is_there_with_its_numbers_or_its_reason():
    found = lines(made())
    assert tuple(found) == ASKED
    assert isinstance(found["drawn_by_lot"].found, NotAsked)
    assert (found["drawn_by_lot"].left_out, found["drawn_by_lot"].holm_p) == (18, None)
    two = found["two_fields"]
    assert two.found == moderator(DIFFERENCES, YEARS, np.arange(18) % 2 == 1)
    assert (two.left_out, two.found.fixed.difference > 2) == (0, True)


def test_holm_is_over_the_lines_that_could_be_computed():
    drawn = ["drawn by lot" if place % 3 == 0 else "chosen" for place in range(18)]
    early = [place % 4 == 0 for place in range(18)]
    found = lines(made(allocation=drawn, early_cut=early))
    computed = [line for line in found.values() if line.holm_p is not None]
    assert [line.name for line in computed] == ["two_fields", "drawn_by_lot", "early_cut"]
    assert [line.holm_p for line in computed] == holm_adjusted([line.found.fixed.p for line in computed])


def test_a_field_year_of_both_kinds_and_one_that_is_not_known_are_left_out():
    tolerant = [True, False] * 9
    names = ["F0", "F0", *NAMES[2:]]  # two strips of one field, of which one is
    pairs = made(standing_field=names, windrowed_field=names)
    tolerant[4] = None
    line = lines(pairs, {"shatter_tolerant": tolerant})["shatter_tolerant"]
    assert line.left_out == 2
    assert line.found.field_years_with + line.found.field_years_without == 15


def test_pairs_matched_after_harvest_are_neither_one_field_nor_two():
    line = lines(made(layout=["matched after harvest" if place == 1 else None for place in range(18)]))["two_fields"]
    assert (line.left_out, line.found.field_years_with) == (1, 8)


def test_facts_follow_the_rows_that_are_complete():
    standing = DIFFERENCES.copy()
    standing[0] = np.nan
    pairs = complete_pairs(standing, np.zeros(18), crop_year=YEARS.tolist(), field=NAMES)
    same = [place % 2 == 0 for place in range(18)]
    line = {line.name: line for line in depends_on(pairs, {"same_variety": same})}["same_variety"]
    assert (line.found.field_years_with, line.found.field_years_without) == (8, 9)


def test_a_fact_that_is_not_on_the_list_is_refused():
    with pytest.raises(BadInput, match="facts: soil given"):
        depends_on(made(), {"soil": [True] * 18})

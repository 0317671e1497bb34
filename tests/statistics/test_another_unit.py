"""A result in another unit: every number in the unit moves, and nothing else."""

from dataclasses import fields, is_dataclass

import numpy as np

from analytics.statistics.another_unit import IN_THE_UNIT, scaled
from analytics.statistics.comparison import compare

UNITLESS = {
    "level",
    "df",
    "p_value",
    "equivalence_p",
    "f_p",
    "gail_simon_p",
    "sign_flip_p",
    "wilcoxon_p",
    "sign_test_p",
    "p",
    "share",
    "field_years_a_year",
}


def made():
    random = np.random.default_rng(3)
    return compare(
        random.normal(41, 2, 12),
        random.normal(40, 2, 12),
        crop_year=np.repeat([2021, 2022, 2023, 2024], 3),
        field=list("ABCABDACDBCD"),
        layout=["split field"] * 12,
        measure="yield",
        unit="bu/ac",
        margin=1.0,
    )


def numbers(thing, at=""):
    """Every float of a result, by its path."""
    if isinstance(thing, tuple):
        for place, one in enumerate(thing):
            yield from numbers(one, f"{at}[{place}]")
    elif is_dataclass(thing):
        for item in fields(thing):
            yield from numbers(getattr(thing, item.name), f"{at}.{item.name}")
    elif isinstance(thing, float):
        yield at, thing


def test_every_number_is_known_to_be_in_the_unit_or_not():
    names = {path.rsplit(".", 1)[1] for path, _ in numbers(made())}
    assert names - UNITLESS - IN_THE_UNIT == set()
    assert names & UNITLESS & IN_THE_UNIT == set()


def test_numbers_in_the_unit_move_and_no_others():
    one = made()
    other = dict(numbers(scaled(one, 67.25, "kg/ha")))
    for path, value in numbers(one):
        factor = 67.25 if path.rsplit(".", 1)[1] in IN_THE_UNIT else 1
        assert other[path] == value * factor, path
    assert len(other) == len(dict(numbers(one)))
    assert scaled(one, 67.25, "kg/ha").unit == "kg/ha"


def test_replicates_needed_are_counts_whatever_the_unit():
    one = made()
    assert [row.field_years for row in scaled(one, 67.25, "kg/ha").planning.rows] == [
        row.field_years for row in one.planning.rows
    ]

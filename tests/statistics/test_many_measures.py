"""Many measures and many winters: Holm among the others, and how often was looked."""

import pytest

from analytics.statistics.many_measures import holm_marks, looks
from analytics.statistics.results import HolmMark


def test_the_main_measure_is_judged_by_itself_and_the_others_together():
    marks = holm_marks({"yield": 0.03, "loss": 0.01, "green": 0.04, "dockage": None}, main="yield", level=0.95)
    assert marks == {
        "yield": None,
        "loss": HolmMark(p=0.02, of=2, also_together=True),
        "green": HolmMark(p=0.04, of=2, also_together=True),
        "dockage": None,
    }


def test_an_irrelevant_measure_makes_the_others_weaker():
    few = holm_marks({"yield": 0.5, "loss": 0.02, "green": 0.3}, main="yield", level=0.95)
    many = holm_marks({"yield": 0.5, "loss": 0.02, "green": 0.3, "a": 0.9, "b": 0.8}, main="yield", level=0.95)
    assert (few["loss"].p, few["loss"].also_together) == (0.04, True)
    assert (many["loss"].p, many["loss"].also_together) == (0.08, False)


def test_another_main_measure_lets_yield_in():
    marks = holm_marks({"yield": 0.01, "loss": 0.01}, main="loss", level=0.95)
    assert (marks["yield"].of, marks["loss"]) == (1, None)


@pytest.mark.parametrize(("years", "winters"), [(0, 0), (2, 0), (3, 1), (10, 8)])
def test_winters_with_three_years_to_look_at(years, winters):
    assert looks(years) == winters

"""No cell of a group's tables tells what fewer than three farms had, not even by subtraction."""

from itertools import combinations

import numpy as np
import pytest

from analytics.pool.hidden_cells import may_be_shown


def told_of_few(inside, shown):
    """By linear algebra: whether the totals of farms and shown cells fix a sum over one or two farms of a cell."""
    owner, place = np.nonzero(inside)
    known = [owner == number for number in range(inside.shape[0])] + [
        place == number for number in np.flatnonzero(shown)
    ]
    matrix = np.array(known, dtype=float)
    rank = np.linalg.matrix_rank(matrix)
    is_whole = inside.sum(1)[owner] == 1
    for number in range(inside.shape[1]):
        here = np.flatnonzero((place == number) & ~is_whole).tolist()
        for few in [*((one,) for one in here), *combinations(here, 2)]:
            asked = np.zeros(owner.size)
            asked[list(few)] = 1
            if np.linalg.matrix_rank(np.vstack([matrix, asked])) == rank:
                return True
    return False


@pytest.mark.parametrize("seed", range(40))
def test_nothing_of_one_or_two_farms_follows_from_what_is_shown(seed):
    random = np.random.default_rng(seed)
    inside = random.random((random.integers(3, 9), random.integers(2, 6))) < random.uniform(0.2, 0.9)
    inside[~inside.any(1), 0] = True
    shown = may_be_shown(*np.nonzero(inside), inside.shape[1])
    assert not told_of_few(inside, shown)


def test_it_hides_no_more_than_one_by_one_is_needed():
    """Whatever is hidden beyond the cells of few farms was told of few while it was shown; hidden cells are one."""
    hidden = 0
    for seed in range(60):
        random = np.random.default_rng(seed)
        inside = random.random((6, 4)) < 0.6
        inside[~inside.any(1), 0] = True
        shown, farms = may_be_shown(*np.nonzero(inside), 4), inside.sum(0)
        again = (farms == 0) | (farms >= 3)
        while again.sum() > shown.sum():
            together = np.column_stack([inside[:, again], inside[:, ~again].any(1)])
            assert told_of_few(together, np.append(np.ones(again.sum(), dtype=bool), False))
            candidates = np.flatnonzero(again & (farms > 0))
            again[candidates[farms[candidates].argmin()]] = False
            hidden += 1
        assert (again == shown).all()
    assert hidden > 10


def test_a_year_of_two_farms_hides_another_year_too():
    farm, year = np.divmod(np.arange(12 * 6), 6)
    shown = may_be_shown(np.append(farm, [0, 1]), np.append(year, [6, 6]), 7)
    assert shown.tolist() == [False, True, True, True, True, True, False]


def test_the_third_farm_of_a_year_is_not_told_by_two_whose_only_year_it_is():
    assert may_be_shown(np.array([0, 1, 2, 2, 3, 4]), np.array([0, 0, 0, 1, 1, 1]), 2).tolist() == [False, False]


def test_all_is_shown_where_all_farms_are_in_all_years():
    farm, year = np.divmod(np.arange(3 * 4), 4)
    assert may_be_shown(farm, year, 5).all()


def test_thousands_of_farms_take_no_time():
    random = np.random.default_rng(1)
    farm, year = np.nonzero(random.random((2000, 12)) < 0.5)
    assert may_be_shown(farm, year, 12).all()

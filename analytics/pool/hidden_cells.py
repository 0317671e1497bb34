"""Which cells of a group's tables may be shown: none that tells what fewer than three farms had, not by subtraction.

Farms are listed with their own means, so whoever reads a table knows each farm's total over all cells, and the total of
every cell that is shown. Three is common practice, no source.
"""

import numpy as np
import scipy

from analytics.statistics.given_pairs import Marked, Whole

FEWEST_FARMS = 3


def may_be_shown(farm: Whole, cell: Whole, cells: int) -> Marked:
    """Whether each cell may be shown, shape (cells,).

    farm, cell : shape (rows,), codes 0, 1, 2, ...; a row is a field-year or a pair
    A cell without a row may be: there is nothing to tell. Of the shown ones that with fewest farms is hidden until no
    sum over one or two farms in a cell follows from the totals, unless it is those farms' whole.
    """
    both = np.unique(farm * cells + cell)
    farm, cell = both // cells, both % cells
    farms = np.bincount(cell, minlength=cells)
    shown: Marked = (farms == 0) | (farms >= FEWEST_FARMS)
    while (candidates := np.flatnonzero(shown & (farms > 0))).size and _tells_of_few(farm, cell, shown):
        shown[candidates[farms[candidates].argmin()]] = False
    return shown


def _tells_of_few(farm: Whole, cell: Whole, shown: Marked) -> bool:
    """Whether the totals of farms and of shown cells tell a sum over one or two farms in a cell.

    Farms and cells are joined where a farm has something in a cell; hidden cells are one, whose total is what the shown
    ones leave. What can still move goes around a circle. So at a cell the farms that hang together without it are told
    apart from each other only where they are three or more. A farm that hangs on nothing else has all it has there.
    """
    joined = np.where(shown, np.arange(shown.size), shown.size)[cell]
    farm, joined = np.unique(np.stack([farm, joined]), axis=1)
    for number in np.unique(joined).tolist():
        at, elsewhere = joined == number, joined != number
        vertices = int(farm.max()) + 1 + shown.size + 1
        rest = scipy.sparse.coo_array(
            (np.ones(elsewhere.sum()), (farm[elsewhere], farm.max() + 1 + joined[elsewhere])),
            shape=(vertices, vertices),
        )
        of_vertex = scipy.sparse.csgraph.connected_components(rest, directed=False)[1]
        is_whole = ~np.isin(farm[at], farm[elsewhere])
        attached = np.bincount(of_vertex[farm[at][~is_whole]])
        if ((attached > 0) & (attached < FEWEST_FARMS)).any():
            return True
    return False

"""Differences compared by themselves: against a windrowed side of zeros."""

import numpy as np

from analytics.statistics.comparison import compare

YIELD = {"measure": "yield", "unit": "bu/ac"}


def against_zero(differences, **options):
    return compare(differences, np.zeros(len(differences)), **(YIELD | options))

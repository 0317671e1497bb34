"""What a trial could have seen, and how many replicates it would take: the power of the two-sided paired t test.

Power counts rejections in both tails, as R's power.t.test(strict=TRUE).
Source: noncentral t, e.g. J. Cohen (1988) Statistical Power Analysis; distribution function from scipy.special.
"""

from math import isnan, sqrt

import scipy

USUAL_POWER = 0.8
BEYOND_DOUBT = 50  # times the critical value: what it would take to miss is below 1e-12 with 1 df
SAME_EFFECT, SAME_POWER = 1e-12, 1e-13  # as near as the distribution function knows
MOST_REPLICATES = 10**9  # past that an answer is no help to anybody


def power_of_t(*, effect_in_std_errors: float, df: float, level: float) -> float:
    """Chance that the `level` interval excludes 0 when the truth is so many standard errors, 0 or more, from 0.

    >>> round(power_of_t(effect_in_std_errors=1.0 * 6**0.5, df=5, level=0.95), 6)
    0.506842
    """
    critical = float(scipy.special.stdtrit(df, (1 + level) / 2))
    if effect_in_std_errors > BEYOND_DOUBT * critical:
        return 1.0  # the distribution function gives up there
    right_way = 1 - _share_below(critical, shift=effect_in_std_errors, df=df)
    negligible = effect_in_std_errors >= 6  # below 1e-9
    wrong_way = 0.0 if negligible else 1 - _share_below(critical, shift=-effect_in_std_errors, df=df)
    return right_way + wrong_way


def _share_below(value: float, *, shift: float, df: float) -> float:
    """Of a t shifted by so many standard errors. The distribution function has holes where next to none or next to all
    lie below: beside each of them less than 1e-15, at all levels from 0.51 to 0.9999 and from 1 to 3,000 df (tried).
    """
    share = float(scipy.special.nctdtr(df, shift, value))
    if isnan(share):
        return 0.0 if shift > 0 else 1.0
    return share


def detectable_difference(*, std_error: float, df: float, level: float, power: float = USUAL_POWER) -> float:
    """Smallest true difference, in the unit of `std_error`, that a share `power` of such trials would find."""
    low, high = 0.0, 2.0 * float(scipy.special.stdtrit(df, (1 + level) / 2)) + 2.0

    def beyond(effect: float) -> float:
        return power_of_t(effect_in_std_errors=effect, df=df, level=level) - power

    while (above := beyond(high)) < 0:
        high *= 2
    below = beyond(low)
    # Illinois: false position, and where an end stays for a second time its height counts half.
    stayed = 0
    while high - low > SAME_EFFECT * high:
        middle = low - below * (high - low) / (above - below)
        found = beyond(middle)
        if abs(found) < SAME_POWER:
            return middle * std_error
        if found < 0:
            low, below, above, stayed = middle, found, above / 2 if stayed > 0 else above, 1
        else:
            high, above, below, stayed = middle, found, below / 2 if stayed < 0 else below, -1
    return high * std_error


def replicates_needed(
    *, difference: float, sd: float, level: float, blocks: int = 1, fewest: int = 2, power: float = USUAL_POWER
) -> int | None:
    """Smallest number of replicates with which a true `difference` is found with chance `power`; None beyond 10**9.

    difference, sd : in one unit; sd of single replicates
    blocks : degrees of freedom spent (1: paired t; else years as blocks), df = replicates - blocks
    fewest : the answer is never smaller
    """

    def enough(count: int) -> bool:
        effect = abs(difference) * sqrt(count) / sd
        return power_of_t(effect_in_std_errors=effect, df=count - blocks, level=level) >= power

    least = max(fewest, blocks + 1)
    if sd == 0 or enough(least):
        return least
    normal = scipy.special.ndtri((1 + level) / 2) + scipy.special.ndtri(power)
    guess = (normal * sd / difference) ** 2 + blocks  # as for a known spread: close
    if guess > MOST_REPLICATES:
        return None
    low = high = max(least, int(guess))
    step = 1
    while enough(low):
        low, high, step = max(least, low - step), low, 2 * step
    while not enough(high):
        low, high, step = high, high + step, 2 * step
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return None if high > MOST_REPLICATES else high

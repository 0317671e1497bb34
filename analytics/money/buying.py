"""Does the outlay for header parts come back: cost per acre, payback, net present value, acres to break even.

Source of the formulas: present value of a lump sum and of an annuity as tabulated by the USDA Natural Resources
Conservation Service (interest and annuity workbook); the tests hold its printed values.
"""

from dataclasses import dataclass
from math import expm1, isfinite, log1p

from analytics.errors import BadInput
from analytics.trade.numbers_as_text import exact, number


def present_value(amount: float, *, interest_pct: float, years: float) -> float:
    """What `amount`, due in `years`, is worth today, in its own unit.

    >>> round(present_value(3400, interest_pct=7, years=10), 2)
    1728.39
    """
    return float(amount / (1 + interest_pct / 100) ** years)


def annuity_factor(*, interest_pct: float, years: int) -> float:
    """What 1 at the end of each of `years` years is worth today; at no interest, the number of years.

    >>> round(annuity_factor(interest_pct=7, years=30), 3)
    12.409
    """
    rate = interest_pct / 100
    return -expm1(-years * log1p(rate)) / rate if rate else float(years)  # also right for a tiny rate


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """What is bought and how it would be used."""

    outlay: float  # $, all that must be paid: parts, fitting, freight
    life_years: int
    salvage: float  # $ at the end of its life
    interest_pct: float  # a year; what the money costs or could earn
    acres_a_year: float

    def __post_init__(self) -> None:
        """Raises BadInput, saying what is allowed."""
        _check("outlay", self.outlay, "$", low=0, high=10_000_000, low_allowed=False)
        if self.life_years != int(self.life_years):
            raise BadInput(f"life: {exact(self.life_years)} given; allowed whole years from 1 to 50.")
        _check("life", self.life_years, "years", low=1, high=50)
        _check("salvage", self.salvage, "$", low=0, high=self.outlay)
        _check("interest", self.interest_pct, "percent", low=0, high=50)
        _check("acres a year", self.acres_a_year, "acres", low=0, high=1_000_000, low_allowed=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedPurchase:
    """A purchase as somebody typed it to try it: with the gain per acre, $, and what is saved besides, $ a year."""

    purchase: Purchase
    gain_ac: float
    saved_a_year: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseResult:
    """What the purchase costs and what it would have to bring. None where it never does.

    cost_a_year : equal yearly payments that recover outlay less salvage with interest, $
    cost_ac : the same by acre
    gain_a_year : $ a year before the purchase is paid
    payback_years : outlay / gain_a_year, simple, without interest
    net_present_value : $ today over its life
    acres_to_break_even : a year, at the gain per acre given
    """

    cost_a_year: float
    cost_ac: float
    gain_a_year: float
    payback_years: float | None
    net_present_value: float
    acres_to_break_even: float | None


def buy(purchase: Purchase, *, gain_ac: float, saved_a_year: float = 0.0) -> PurchaseResult:
    """The purchase against a yearly gain of `gain_ac` on each acre and `saved_a_year` besides, both in $.

    gain_ac : net return of standing less windrowed, $/ac, without any charge for what is bought
    saved_a_year : what a windrower that is sold no longer costs; 0 when it stays for other crops, because then only
        its running cost is saved, and that is in gain_ac
    """
    if not (isfinite(gain_ac) and isfinite(saved_a_year)):
        raise BadInput("gain per acre: it is unknown; the purchase cannot be judged. Type a gain to try.")
    factor = annuity_factor(interest_pct=purchase.interest_pct, years=purchase.life_years)
    salvage_today = present_value(purchase.salvage, interest_pct=purchase.interest_pct, years=purchase.life_years)
    cost_a_year = (purchase.outlay - salvage_today) / factor
    gain_a_year = gain_ac * purchase.acres_a_year + saved_a_year
    to_cover = cost_a_year - saved_a_year
    acres = max(to_cover, 0.0) / gain_ac if gain_ac > 0 else (0.0 if to_cover <= 0 else None)
    return PurchaseResult(
        cost_a_year=cost_a_year,
        cost_ac=cost_a_year / purchase.acres_a_year,
        gain_a_year=gain_a_year,
        payback_years=purchase.outlay / gain_a_year if gain_a_year > 0 else None,
        net_present_value=gain_a_year * factor + salvage_today - purchase.outlay,
        acres_to_break_even=acres,
    )


def _check(name: str, value: float, unit: str, *, low: float, high: float, low_allowed: bool = True) -> None:
    if not isfinite(value) or value > high or value < low or (value == low and not low_allowed):
        start = exact(low) if low_allowed else f"above {exact(low)}"
        raise BadInput(f"{name}: {exact(value)} {unit} given; allowed {start} to {number(high, 0)} {unit}.")

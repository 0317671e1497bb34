"""What standing earns against windrowing: partial budget, break-even, steps of grade, ranges. Arithmetic on numbers.

Every change is standing minus windrowed, in dollars per acre unless its name says otherwise. Yields are as sold, since
that is what was paid for. None is unknown, and never 0.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from analytics.errors import BadInput
from analytics.trade.numbers_as_text import exact
from analytics.trade.units import BUSHELS_PER_TONNE

KINDS = ("revenue", "cost")
EVEN_MONEY = 0.005  # dollars an acre; less is nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One line that differs between the methods: standing minus windrowed, $/ac."""

    name: str
    kind: str  # "revenue" or "cost"
    dollars_ac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartialBudget:
    """Only what changes, in the four classic parts; each line is a size, $ for all `acres`, never negative."""

    acres: float
    added_revenue: tuple[tuple[str, float], ...]
    reduced_cost: tuple[tuple[str, float], ...]
    reduced_revenue: tuple[tuple[str, float], ...]
    added_cost: tuple[tuple[str, float], ...]

    @property
    def gains(self) -> float:
        """Added revenue and reduced cost, $."""
        return sum(size for _, size in (*self.added_revenue, *self.reduced_cost))

    @property
    def losses(self) -> float:
        """Reduced revenue and added cost, $."""
        return sum(size for _, size in (*self.reduced_revenue, *self.added_cost))

    @property
    def net(self) -> float:
        """What the change brings, $ for all acres; negative when it costs."""
        return self.gains - self.losses


def partial_budget(changes: Sequence[Change], *, acres: float = 1.0) -> PartialBudget:
    """The changes sorted into the four parts by kind and sign, for `acres`.

    Raises BadInput for acres that are not above 0 and for a change that is not a finite number.
    Source: the classic partial budget of farm management extension; checked against two published ones in the tests.
    """
    _check("acres", acres, above=0, unit="acres")
    for change in changes:
        if change.kind not in KINDS or not isfinite(change.dollars_ac):
            raise BadInput(f"{change.name}: {change.kind} {change.dollars_ac} given; allowed a known revenue or cost.")

    def part(kind: str, sign: int) -> tuple[tuple[str, float], ...]:
        return tuple(
            (change.name, abs(change.dollars_ac) * acres)
            for change in changes
            if change.kind == kind and change.dollars_ac * sign > 0
        )

    return PartialBudget(
        acres=acres,
        added_revenue=part("revenue", 1),
        reduced_cost=part("cost", -1),
        reduced_revenue=part("revenue", -1),
        added_cost=part("cost", 1),
    )


def dollars_per_bushel(dollars_per_tonne: float) -> float:
    """A price for a canola bushel of 50 lb."""
    return dollars_per_tonne / BUSHELS_PER_TONNE


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEvenPrice:
    """When standing pays: "above" or "below" the price, or at any price ("always"), or at none ("never")."""

    pays: str
    dollars_per_tonne: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NetDifference:
    """Net return of standing less windrowed at any price and any yield difference, $/ac: a straight line in each.

    At the yield difference on record it is priced_t_ac * price + unpriced_dollars_ac. What standing yields besides, or
    less, brings bushel_priced_t * price + bushel_unpriced_dollars for each bushel: the price less what every bushel
    bears, which is freight and drying by the tonne, wheel tracks, and a grade below the best.

    yield_difference_bu_ac : on record, as sold
    priced_t_ac : tonnes an acre that the price multiplies, standing less windrowed, without those lost to wheel tracks
    unpriced_dollars_ac : all that the price does not move: costs, and grades below the best
    Source: arithmetic only; 7 $/ac more cost at 4.545 $/bu is 1.54 bu/ac.
    >>> alike = NetDifference(yield_difference_bu_ac=0, priced_t_ac=0, unpriced_dollars_ac=-7,
    ...                       bushel_priced_t=1 / BUSHELS_PER_TONNE, bushel_unpriced_dollars=0)
    >>> round(alike.break_even_yield(4.545 * BUSHELS_PER_TONNE), 2)
    1.54
    """

    yield_difference_bu_ac: float
    priced_t_ac: float
    unpriced_dollars_ac: float
    bushel_priced_t: float
    bushel_unpriced_dollars: float

    def at(self, *, dollars_per_tonne: float, yield_difference_bu_ac: float | None = None) -> float:
        """The net difference, $/ac; without a yield difference at the one on record."""
        on_record = self.priced_t_ac * dollars_per_tonne + self.unpriced_dollars_ac
        if yield_difference_bu_ac is None:
            return on_record
        more_bu_ac = yield_difference_bu_ac - self.yield_difference_bu_ac
        return on_record + more_bu_ac * self.bushel_leaves(dollars_per_tonne)

    def bushel_leaves(self, dollars_per_tonne: float) -> float:
        """What one bushel more on the standing side leaves, $."""
        return self.bushel_priced_t * dollars_per_tonne + self.bushel_unpriced_dollars

    def break_even_yield(self, dollars_per_tonne: float) -> float | None:
        """Bushels an acre that standing must give more to pay for itself; negative when it may give less. None when a
        bushel leaves nothing.
        """
        leaves = self.bushel_leaves(dollars_per_tonne)
        if leaves <= 0:
            return None
        return self.yield_difference_bu_ac - self.at(dollars_per_tonne=dollars_per_tonne) / leaves

    def break_even_price(self) -> BreakEvenPrice:
        """The price at which standing breaks even at the yield difference on record."""
        if self.priced_t_ac == 0:
            return BreakEvenPrice(pays="always" if self.unpriced_dollars_ac >= 0 else "never")
        price = -self.unpriced_dollars_ac / self.priced_t_ac
        is_more_sold = self.priced_t_ac > 0
        if price <= 0:
            return BreakEvenPrice(pays="always" if is_more_sold else "never")
        return BreakEvenPrice(pays="above" if is_more_sold else "below", dollars_per_tonne=price)


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeStep:
    """What falling from one grade to the next costs."""

    dollars_per_tonne: float
    dollars_per_bushel: float
    dollars_ac: float
    bushels_ac: float | None  # yield of the better grade that is worth as much


def grade_step(*, better_per_tonne: float, poorer_per_tonne: float, yield_bu_ac: float) -> GradeStep:
    """One step of grade at a yield as sold, in bu/ac. Raises BadInput when a price or the yield is negative."""
    for name, value in (("better", better_per_tonne), ("poorer", poorer_per_tonne), ("yield", yield_bu_ac)):
        _check(name, value, least=0)
    step = dollars_per_bushel(better_per_tonne - poorer_per_tonne)
    better = dollars_per_bushel(better_per_tonne)
    return GradeStep(
        dollars_per_tonne=better_per_tonne - poorer_per_tonne,
        dollars_per_bushel=step,
        dollars_ac=step * yield_bu_ac,
        bushels_ac=step * yield_bu_ac / better if better else None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One number the answer rests on, with the range it may have; `low` and `high` in no particular order of merit."""

    name: str  # the argument it is for
    label: str
    unit: str
    low: float
    middle: float
    high: float
    basis: str  # where the range comes from


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """What the answer becomes when one assumption alone goes from its low to its high, $/ac."""

    assumption: Assumption
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        """How far the answer moves, $/ac."""
        return abs(self.at_high - self.at_low)


def what_matters_most(
    assumptions: Sequence[Assumption], answer: Callable[[Mapping[str, float]], float]
) -> tuple[Swing, ...]:
    """Each assumption moved alone through its range, the others at their middle; the widest swing first.

    answer : takes the assumptions by name and gives $/ac
    """
    middle = {one.name: one.middle for one in assumptions}
    swings = [
        Swing(
            assumption=one,
            at_low=answer({**middle, one.name: one.low}),
            at_high=answer({**middle, one.name: one.high}),
        )
        for one in assumptions
    ]
    return tuple(sorted(swings, key=lambda swing: -swing.width))


def _check(name: str, value: float, *, above: float | None = None, least: float | None = None, unit: str = "") -> None:
    allowed = f"a number above {exact(above)}" if above is not None else f"{exact(least or 0)} or more"
    fits = isfinite(value) and (value > above if above is not None else value >= (least or 0))
    if not fits:
        raise BadInput(f"{name}: {exact(value)} {unit}".rstrip() + f" given; allowed {allowed}.")

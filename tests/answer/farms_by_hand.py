"""Ten farms and the arithmetic of their money, plot by plot from weights and bills, without the program. Every rate is
above zero. Invented figures of a likely size.
"""

from dataclasses import dataclass, field, replace

BUSHELS = 2204.6226218 / 50  # in a tonne: pounds in a tonne over pounds in a bushel
GRADES = {"1": 0.0, "2": 14.0, "3": 55.0}  # dollars a tonne below No. 1, in every year


@dataclass(frozen=True)
class Side:
    """One plot: one load, its grade slips, and bills by the acre. A sprayed one had a product and wheel tracks."""

    acres: float
    kg: float
    moisture: float
    dockage: float
    slips: tuple[str, ...] = ("1",)
    bills: dict[str, float] = field(default_factory=dict)
    is_sprayed: bool = False


@dataclass(frozen=True)
class Case:
    """Rates in force and, by crop year, the price of No. 1 and both sides."""

    rates: dict[str, tuple[float, float, float]]
    years: dict[int, tuple[float, Side, Side]]


def rates(windrowing, rolling, product, application, combining, tracks, drying, freight):
    middle = {
        "windrowing": windrowing,
        "rolling": rolling,
        "pre-harvest product": product,
        "application": application,
        "combining": combining,
        "wheel tracks": tracks,
        "drying": drying,
        "freight": freight,
    }
    return {item: (0.5 * rate, rate, 1.6 * rate) for item, rate in middle.items()}


SPRAYED = {"is_sprayed": True}
CASES = {
    "nothing on record, rates for all": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 1.5, 4, 12),
        {
            2024: (600, Side(80, 75_000, 11.5, 2.1, **SPRAYED), Side(78, 70_000, 9.2, 2.6)),
            2025: (640, Side(60, 61_000, 10.4, 1.4, **SPRAYED), Side(61, 59_500, 10.9, 1.9)),
        },
    ),
    "hauling on record for one side": Case(
        rates(13, 6, 20, 9, 35, 1, 3, 15),
        {
            2023: (700, Side(40, 44_000, 9.0, 1.0, ("1",), {"hauling": 11.0}), Side(41, 43_500, 8.5, 1.5)),
            2024: (600, Side(40, 38_000, 12.0, 1.2, ("2",), {"trucking": 9.0}), Side(41, 40_500, 11.5, 1.1)),
        },
    ),
    "drying on record where it was dried": Case(
        rates(12, 7, 24, 10, 33, 2, 5, 9),
        {
            2023: (
                650,
                Side(100, 98_000, 13.5, 2.0, ("1", "1", "2"), {"drying": 8.75}, is_sprayed=True),
                Side(98, 95_000, 9.9, 2.2, ("1", "2")),
            ),
            2025: (615, Side(52, 55_000, 12.6, 1.6), Side(50, 51_000, 12.2, 1.8, ("1", "3"))),
        },
    ),
    "rolled windrows, straight cut at another bill": Case(
        rates(14, 8, 21, 9, 36, 3, 2, 14),
        {
            2022: (
                810,
                Side(70, 66_000, 10.2, 2.4, ("2",), {"straight cutting": 38.0}, is_sprayed=True),
                Side(70, 63_000, 10.1, 2.8, ("1", "1"), {"rolling": 7.5, "swathing": 15.0, "combine": 32.0}),
            ),
            2024: (
                605,
                Side(71, 60_000, 9.8, 1.9, ("1",), {"straight cutting": 39.5}),
                Side(69, 61_500, 11.0, 2.0, ("1",), {"rolling": 7.75, "swathing": 15.5, "combine": 33.0}),
            ),
        },
    ),
    "spraying on record, product by its rate": Case(
        rates(12.5, 7, 19, 9.5, 34, 1.5, 4.5, 11),
        {
            2024: (600, Side(30, 29_000, 11.9, 1.7, ("1", "2", "3"), {"spraying": 8.0}, True), Side(31, 30_000, 11, 2)),
            2025: (660, Side(33, 35_000, 10.6, 1.1, ("1",), {"spraying": 8.5}, True), Side(30, 29_500, 10, 1.3)),
        },
    ),
    "standing gave much less": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 0.5, 6, 20),
        {
            2021: (845, Side(85, 60_000, 10.8, 1.5), Side(84, 72_000, 10.3, 2.0)),
            2022: (815, Side(85, 78_000, 11.4, 1.5), Side(84, 81_000, 10.6, 2.0)),
        },
    ),
    "work of another name on one side": Case(
        rates(11, 6, 22, 8, 30, 2, 3, 10),
        {
            2024: (590, Side(20, 20_500, 10.5, 0.9, ("1",), {"harrowing": 6.0}), Side(20, 19_000, 12.5, 1.2)),
            2025: (610, Side(22, 23_000, 10.9, 1.0, ("2",), {"harrowing": 6.5}), Side(21, 20_000, 11.7, 1.2, ("3",))),
        },
    ),
    "every grade at once": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 1, 4, 12),
        {
            2023: (690, Side(55, 54_000, 10.7, 2.2, ("1", "2", "3", "3"), {}, True), Side(56, 53_000, 10, 3, ("3",))),
            2024: (605, Side(55, 52_000, 12.7, 3.2, ("3",)), Side(56, 55_000, 11.2, 2.9, ("1", "2"))),
        },
    ),
    "three years, prices far apart": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 2.5, 4, 12),
        {
            2020: (480, Side(64, 60_000, 10.1, 2.0, ("1",), {}, True), Side(64, 56_000, 10.4, 2.0)),
            2022: (900, Side(64, 50_000, 10.8, 2.0, ("1", "2"), {}, True), Side(64, 57_000, 10.9, 2.0)),
            2025: (620, Side(64, 66_000, 12.1, 2.0), Side(64, 58_000, 11.4, 2.0, ("2",))),
        },
    ),
    "all bills on record, both sides sprayed": Case(
        rates(12.5, 7, 22.5, 9.5, 34, 2, 4, 12),
        {
            2024: (
                600,
                Side(
                    45, 47_000, 11.1, 1.4, ("1",),
                    {"pre-harvest product": 21, "application": 9, "combining": 35, "drying": 5, "hauling": 12}, True,
                ),
                Side(
                    46, 45_000, 10.4, 1.8, ("1", "2"),
                    {"pre-harvest product": 12, "spraying": 9, "windrowing": 14, "rolling": 6, "combining": 31,
                     "drying": 2, "freight": 11.5}, True,
                ),
            ),
            2025: (625, Side(45, 48_000, 10.0, 1.2, ("1",), {}, True), Side(46, 49_000, 9.1, 1.5, ("1",), {}, True)),
        },
    ),
}  # fmt: skip
MEANS = {
    "swathing": "windrowing",
    "straight cutting": "combining",
    "combine": "combining",
    "spraying": "application",
    "hauling": "freight",
    "trucking": "freight",
}


# --- by hand


def sold_t_ac(side):
    return side.kg * (100 - side.dockage) / 100 / 1000 / side.acres


def yield_bu_ac(side):
    return sold_t_ac(side) * BUSHELS


def tonne_brings(side, best):
    """What an average tonne brings: each slip stands for as much of the crop as any other."""
    return sum(best - GRADES[slip] for slip in side.slips) / len(side.slips)


def revenue(side, best):
    return sold_t_ac(side) * tonne_brings(side, best)


def spent(side, method, rate):
    """$/ac by item; a bill goes before a rate."""
    usual = {"combining": rate["combining"]}
    if method == "windrowed":
        usual["windrowing"] = rate["windrowing"]
    if side.is_sprayed:
        usual["pre-harvest product"], usual["application"] = rate["pre-harvest product"], rate["application"]
    usual["freight"] = rate["freight"] * side.kg / 1000 / side.acres
    usual["drying"] = rate["drying"] * max(side.moisture - 10, 0) * sold_t_ac(side)
    return usual | {MEANS.get(name, name): dollars for name, dollars in side.bills.items()}


def left(side, method, best, rate):
    """Net return, $/ac."""
    tracks = rate["wheel tracks"] / 100 if side.is_sprayed else 0
    return revenue(side, best) * (1 - tracks) - sum(spent(side, method, rate).values())


def with_more(side, bushels):
    """The same plot with so many bushels an acre more of the same crop."""
    return replace(side, kg=side.kg * (yield_bu_ac(side) + bushels) / yield_bu_ac(side))


def middle(case):
    return {item: rate for item, (_, rate, _) in case.rates.items()}


def mean_difference(case, *, price=None, more_standing=0.0):
    """Standing less windrowed, $/ac, averaged over the years; `price` is of No. 1 in all of them."""
    rate = middle(case)
    found = [
        left(with_more(standing, more_standing), "standing", price or best, rate)
        - left(windrowed, "windrowed", price or best, rate)
        for best, standing, windrowed in case.years.values()
    ]
    return sum(found) / len(found)


def mean_yield_difference(case):
    found = [yield_bu_ac(standing) - yield_bu_ac(windrowed) for _, standing, windrowed in case.years.values()]
    return sum(found) / len(found)


def where_nothing_is_left(function, low, high):
    """Where the function crosses zero, by halving: no formula."""
    for _ in range(200):
        half = (low + high) / 2
        low, high = (half, high) if (function(half) > 0) == (function(low) > 0) else (low, half)
    return low

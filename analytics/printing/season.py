"""The plan of a crop year in the terminal, and how the lot fell."""

from collections.abc import Sequence

from rich.console import Console

from analytics.planning import plan_wording
from analytics.planning.drawing_lots import DrawnPair, kept_pairs, layout
from analytics.planning.season_plan import SeasonPlan, Start, said_of
from analytics.printing.listed import print_list
from analytics.trade.cautions import LABEL, LEFT_STANDING, NOT_ADVICE

SIDE_BY_SIDE = "Side by side, from one edge of the field to the other"


def print_plan(console: Console, start: Start, the_plan: SeasonPlan) -> None:
    """The plan of a crop year before the lot, and how the lot fell where it has."""
    year = start.crop_year
    if the_plan.pairs or start.draws.is_empty():
        said = plan_wording.plan_headline(the_plan.pairs, the_plan.alone, the_plan.power, crop_year=year)
    else:
        said = plan_wording.drawn_headline(start.draws, crop_year=year)
    console.print(said, markup=False, soft_wrap=True)
    for caution in (LEFT_STANDING, LABEL, NOT_ADVICE):
        console.print(caution, markup=False, soft_wrap=True)
    if start.draws.height:
        print_list(console, f"How the draw came out for {year}", plan_wording.draw_words(start.draws))
        print_list(console, "As drawn", plan_wording.drawn_words(start.draws))
        _pieces(console, kept_pairs(start.draws))
    print_list(console, "Pairs before the draw", map(plan_wording.pair_words, the_plan.pairs))
    print_list(
        console,
        SIDE_BY_SIDE,
        plan_wording.strips_in_order(layout(the_plan.pairs)),
    )
    if to_type := plan_wording.distances_to_type(the_plan.pairs):
        console.print(to_type, markup=False, soft_wrap=True)
    if the_plan.power is not None:
        print_list(console, "What this plan could show", plan_wording.how_long(the_plan.power))
    for field, found in said_of(start, the_plan).items():
        print_list(console, field, map(plan_wording.sided_words, found))
    if the_plan.fields:
        print_list(console, "What the rules rest on", plan_wording.sources_of(start.rules.values()))


def print_drawn(console: Console, pairs: Sequence[DrawnPair], *, seed: int) -> None:
    """A draw as it falls with this draw number."""
    print_list(console, f"Drawn with draw number {seed}", map(plan_wording.drawn_pair_words, pairs))
    _pieces(console, pairs)


def _pieces(console: Console, pairs: Sequence[DrawnPair]) -> None:
    """Halves and strips of each split field, from one side to the other."""
    pieces = layout([one.planned for one in pairs], pairs)
    print_list(console, SIDE_BY_SIDE, plan_wording.strips_in_order(pieces))

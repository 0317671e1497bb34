"""From a group's rows to its answers, measure by measure, with nothing in them that tells of fewer than three farms.

Each farm is listed by its code with its own mean; every other number is of three farms or more, also after subtraction.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
import polars as pl
import scipy

from analytics.errors import Refused
from analytics.pool.farm_answers import FarmAnswers, farm_answers, farms_of, group_basis
from analytics.pool.group_files import GroupRows
from analytics.pool.hidden_cells import FEWEST_FARMS, may_be_shown
from analytics.pool.model import PooledContrast, pooled_contrast
from analytics.pool.share_form import FACTS
from analytics.statistics.answers import Terms
from analytics.statistics.basis import Grounds, marked
from analytics.statistics.comparison import compare_pairs
from analytics.statistics.exploration import ASKED, of_field_years
from analytics.statistics.given_pairs import (
    ALLOCATION_OF_WORDS,
    Allocation,
    Kind,
    Pairs,
    complete_pairs,
)
from analytics.statistics.many_measures import holm_marks
from analytics.statistics.proportions import holm_adjusted
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Answer, CarriedBy, Caution, Comparison, Firm, HolmMark, Question, ShrunkenMeans
from analytics.trade.measures import MEASURES, find_measure

LEVEL = 0.95  # the same for every farm of the group, whatever its own settings
MAIN_MEASURE = "yield"
HERE, AHEAD = Question.THESE_FIELDS, Question.YEARS_TO_COME
SAID_OF_A_GROUP = ("one_year_only", "fewer_than_five_field_years", "years_not_separated")  # cautions that tell no place
LAYOUT_OF_KIND = {
    Kind.ONE_FIELD: "split field",
    Kind.TWO_FIELDS: "neighbouring fields",
    Kind.MATCHED: "matched after harvest",
}
WORDS_OF_ALLOCATION = {kind: words for words, kind in ALLOCATION_OF_WORDS.items()}
FEW = f"fewer than {FEWEST_FARMS} farms, or it would tell of so few"


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupRow:
    """One row of "What carries it" of a group; None where it may not be shown, or where there is nothing.

    is_hidden : there is something, and it may not be shown
    """

    row: CarriedBy
    is_hidden: bool
    farms: int | None = None
    field_years: int | None = None
    these_records: tuple[float, float | None, float | None] | None = None  # estimate, low, high
    another_farm: tuple[float, float | None, float | None] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FarmsDependOn:
    """One question of what the difference may depend on, over farms; found is the reason where it is not answered.

    low, high : of the difference; holm_p : adjusted for all that are answered
    """

    name: str
    found: PooledContrast | str
    low: float | None = None
    high: float | None = None
    p: float | None = None
    holm_p: float | None = None
    field_years: tuple[int, int] | None = None  # without, with


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupMeasure:
    """One measure of a group.

    comparison : these records; of its years, those that may be shown; nothing of single pairs, places or field-years
    answers : these farms in years to come, another farm, each farm
    farms : how many sent it; hidden_years : years that may not be shown
    holm : the finding for another farm, looked at with the other measures; None for the main one
    """

    comparison: Comparison
    answers: FarmAnswers
    farms: int
    hidden_years: int
    carries: tuple[GroupRow, ...]
    depends_on: tuple[FarmsDependOn, ...]
    holm: HolmMark | None = None


def review_group(group: GroupRows, *, measures: Collection[str] = ()) -> dict[str, GroupMeasure]:
    """Every measure that three farms or more have sent, in the order of measures.py; or those of `measures` among them.

    Raises BadInput for a measure that there is not, Refused for fewer than three farms, in all or in each measure.
    """
    for name in measures:
        find_measure(name)
    if len(group.farms) < FEWEST_FARMS:
        sent = ", ".join(group.farms)
        raise Refused(
            f"A group takes {FEWEST_FARMS} farms; here {'is' if len(group.farms) == 1 else 'are'} {len(group.farms)} "
            f"({sent}). Nothing is shown of fewer, as it would tell of each."
        )
    found = {}
    for name in MEASURES:
        rows = group.rows.filter(measure=name)
        if name in (measures or MEASURES) and rows["farm"].n_unique() >= FEWEST_FARMS:
            found[name] = _reviewed(name, rows)
    if not found:
        raise Refused(f"No measure asked for was sent by {FEWEST_FARMS} farms or more.")
    p_values = {name: one.answers.another_farm.p_value for name, one in found.items() if name != "yield_as_sold"}
    marks = holm_marks(p_values, main=MAIN_MEASURE, level=LEVEL)
    return {name: replace(one, holm=marks.get(name)) for name, one in found.items()}


def pairs_of_group(rows: pl.DataFrame) -> Pairs:
    """Rows of one measure as pairs; a place is a field of its farm."""
    return complete_pairs(
        rows["standing"].to_numpy(),
        rows["windrowed"].to_numpy(),
        crop_year=rows["crop_year"],
        farm=rows["farm"],
        field=rows["place"],
        layout=rows["kind"].replace_strict({kind.value: words for kind, words in LAYOUT_OF_KIND.items()}),
        allocation=rows["allocation"].replace_strict(
            {kind.value: WORDS_OF_ALLOCATION.get(kind) for kind in Allocation}, return_dtype=pl.String
        ),
        early_cut=rows["early_cut"].to_list(),
    )


def _reviewed(name: str, rows: pl.DataFrame) -> GroupMeasure:
    measure, pairs = MEASURES[name], pairs_of_group(rows)
    terms = Terms(direction=measure.direction, level=LEVEL, margin=measure.margin, rounding=pairs.rounding)
    grounds = Grounds(pairs)
    basis, on = group_basis(grounds)
    comparison = compare_pairs(
        pairs,
        measure=name,
        unit=measure.unit,
        direction=measure.direction,
        level=LEVEL,
        margin=measure.margin,
        basis=basis,
        grounds=grounds,
    )
    shown = may_be_shown(farms_of(pairs, on), on.found.year, on.found.years)
    years = tuple(year for year in comparison.by_year if shown[on.found.crop_years.index(year.crop_year)])
    answers = farm_answers(pairs, on, terms, basis)
    return GroupMeasure(
        comparison=_of_three_or_more(comparison, years),
        answers=answers,
        farms=np.unique(farms_of(pairs, on)).size,
        hidden_years=int((~shown).sum()),
        carries=_carries(grounds, terms, comparison, {id(on): answers}),
        depends_on=_depends_on(grounds, rows),
    )


def _of_three_or_more(comparison: Comparison, years: tuple[YearResult, ...]) -> Comparison:
    """The comparison without what tells of single pairs, places or field-years, and with these years alone."""
    hides = len(years) < len(comparison.by_year)
    agree = comparison.years_agree
    said = [caution for caution in comparison.cautions if caution.code in SAID_OF_A_GROUP]
    if agree.disagree:
        named = "" if hides else f", {agree.highest} and {agree.lowest} the most"
        words = f"The years differ by more than chance explains{named}; an average hides that."
        said.insert(0, Caution(code="years_disagree", text=words))
    return replace(
        comparison,
        is_basis_fixed=False,
        by_year=years,
        years_agree=replace(agree, highest=None, lowest=None) if hides else agree,
        carries=(),
        firm=Firm(exact_agrees=comparison.firm.exact_agrees, drawn_by_lot=comparison.firm.drawn_by_lot),
        shrunken=ShrunkenMeans(),
        places=(),
        places_to_come=(),
        pair_differences=(),
        cautions=tuple(said),
    )


def _carries(
    grounds: Grounds, terms: Terms, comparison: Comparison, known: dict[int, FarmAnswers]
) -> tuple[GroupRow, ...]:
    """Each kind of pair alone, the same rows as for one farm; known : answers by the id of their ground."""
    here = {row.row: row for row in comparison.carries if row.question is HERE}
    hidden = _hidden_rows(grounds)
    rows = []
    for kind in CarriedBy:
        on = grounds.of_row(kind, AHEAD)
        if kind in hidden or not on.found.count:
            rows.append(GroupRow(row=kind, is_hidden=kind in hidden))
            continue
        if id(on) not in known:
            known[id(on)] = farm_answers(grounds.pairs, on, terms, comparison.these_fields.basis)
        told = here[kind]
        rows.append(
            GroupRow(
                row=kind,
                is_hidden=False,
                farms=np.unique(farms_of(grounds.pairs, on)).size,
                field_years=told.field_years,
                these_records=None if told.estimate is None else (told.estimate, told.low, told.high),
                another_farm=_range(known[id(on)].another_farm),
            )
        )
    return tuple(rows)


def _range(answer: Answer) -> tuple[float, float | None, float | None] | None:
    return None if answer.estimate is None else (answer.estimate, answer.low, answer.high)


def _hidden_rows(grounds: Grounds) -> set[CarriedBy]:
    """Rows that tell of fewer than three farms: kinds, ways of choosing, and cut early or not each add up to all."""
    pairs, counted = grounds.pairs, grounds.pairs.counted
    together = grounds.of_row(CarriedBy.ALL, AHEAD).found.selected
    hidden = set()
    for rows, within in (
        ((CarriedBy.ONE_FIELD, CarriedBy.TWO_FIELDS, CarriedBy.MATCHED), together),
        ((CarriedBy.MATCHED,), counted & ~together),
        ((CarriedBy.DRAWN, CarriedBy.CHOSEN, CarriedBy.NOT_KNOWN), counted),
        ((CarriedBy.WITHOUT_EARLY_CUT,), together),
    ):
        cell = np.full(counted.size, len(rows))
        for number, row in enumerate(rows):
            cell[marked(pairs, row)] = number
        shown = may_be_shown(pairs.farm[within], cell[within], len(rows) + 1)
        hidden |= {row for number, row in enumerate(rows) if not shown[number]}
        if len(rows) == 1 and not shown[-1]:  # it and what is left over add up to all
            hidden |= set(rows)
    return hidden


def _depends_on(grounds: Grounds, rows: pl.DataFrame) -> tuple[FarmsDependOn, ...]:
    """Every question of the fixed list, over all pairs that count. Exploration."""
    pairs = grounds.pairs
    everything = grounds.of(pairs.counted).found
    farm = pairs.farm[everything.first_pair]
    facts = {fact: rows[fact].to_list() for fact in FACTS if fact in ASKED}
    lines = []
    for name in ASKED:
        is_so = of_field_years(pairs, everything, name, facts)
        kept = is_so >= 0
        count = (int((is_so == 0).sum()), int((is_so == 1).sum()))
        shown = may_be_shown(farm, np.where(kept, is_so, 2), 3)
        farms = [np.unique(farm[is_so == group]).size for group in (0, 1)]
        if min(farms) < FEWEST_FARMS or not shown[:2].all():
            lines.append(FarmsDependOn(name=name, found=FEW))
            continue
        try:
            found = pooled_contrast(everything.difference[kept], farm[kept], everything.year[kept], is_so[kept] == 1)
        except ValueError:
            lines.append(FarmsDependOn(name=name, found="the field-years have no spread to judge by"))
            continue
        reach = float(scipy.special.stdtrit(found.df, (1 + LEVEL) / 2)) * found.std_error
        lines.append(
            FarmsDependOn(
                name=name,
                found=found,
                low=found.difference - reach,
                high=found.difference + reach,
                p=2 * float(scipy.special.stdtr(found.df, -abs(found.difference) / found.std_error)),
                field_years=count,
            )
        )
    adjusted = holm_adjusted([line.p for line in lines])
    return tuple(replace(line, holm_p=p) for line, p in zip(lines, adjusted, strict=True))

"""Which pairs an answer rests on, by how they were made and never by what they gave.

The headline rests on fields that were cut both ways where there are enough of them, for each question by itself. "What
carries it" shows what each kind of pair says alone.
"""

from collections.abc import Callable

from analytics.statistics.answers import FEWEST_REPLICATES, Ground, ground
from analytics.statistics.given_pairs import ALLOCATIONS, KINDS, Allocation, Kind, Marked, Pairs
from analytics.statistics.places import FieldYears
from analytics.statistics.results import Basis, CarriedBy, Question

ROW_OF_BASIS = {Basis.ALL: CarriedBy.ALL, Basis.ONE_FIELD: CarriedBy.ONE_FIELD, Basis.DRAWN_BY_LOT: CarriedBy.DRAWN}
WITHOUT_MATCHED = (CarriedBy.ALL, CarriedBy.WITHOUT_EARLY_CUT)  # where enough remain without them


def marked(pairs: Pairs, row: CarriedBy) -> Marked:
    """The pairs of a row, shape (pairs,), barred ones left out."""
    chosen: dict[CarriedBy, Callable[[], Marked]] = {
        CarriedBy.ONE_FIELD: lambda: pairs.kind == KINDS.index(Kind.ONE_FIELD),
        CarriedBy.TWO_FIELDS: lambda: pairs.kind == KINDS.index(Kind.TWO_FIELDS),
        CarriedBy.MATCHED: lambda: pairs.kind == KINDS.index(Kind.MATCHED),
        CarriedBy.DRAWN: lambda: pairs.allocation == ALLOCATIONS.index(Allocation.DRAWN),
        CarriedBy.CHOSEN: lambda: pairs.allocation == ALLOCATIONS.index(Allocation.CHOSEN),
        CarriedBy.NOT_KNOWN: lambda: pairs.allocation == ALLOCATIONS.index(Allocation.NOT_KNOWN),
        CarriedBy.WITHOUT_EARLY_CUT: lambda: ~pairs.is_early,
        CarriedBy.ALL: lambda: pairs.counted,
    }
    return chosen[row]() & pairs.counted


class Grounds:
    """The ground of every selection of these pairs, each worked out once."""

    def __init__(self, pairs: Pairs) -> None:
        self.pairs = pairs
        self._known: dict[bytes, Ground] = {}

    def of(self, selected: Marked) -> Ground:
        """The ground of the marked pairs."""
        key = selected.tobytes()
        if key not in self._known:
            self._known[key] = ground(self.pairs, selected)
        return self._known[key]

    def of_row(self, row: CarriedBy, question: Question) -> Ground:
        """The ground of a row for a question; all pairs are without those matched after harvest where enough remain."""
        selected = marked(self.pairs, row)
        matched = self.pairs.kind == KINDS.index(Kind.MATCHED)
        if row in WITHOUT_MATCHED and (selected & matched).any():
            without = self.of(selected & ~matched)
            if is_enough(without.found, question):
                return without
        return self.of(selected)

    def basis(self, question: Question, fixed: Basis | None) -> tuple[Basis, Ground]:
        """The basis of the headline and its ground; a fixed one does not fall back."""
        if fixed is not None:
            return fixed, self.of_row(ROW_OF_BASIS[fixed], question)
        one_field = self.of_row(CarriedBy.ONE_FIELD, question)
        if is_enough(one_field.found, question):
            return Basis.ONE_FIELD, one_field
        return Basis.ALL, self.of_row(CarriedBy.ALL, question)


def is_enough(found: FieldYears, question: Question) -> bool:
    """Three field-years for these fields, three years for years to come."""
    replicates = found.count if question is Question.THESE_FIELDS else found.years
    return replicates >= FEWEST_REPLICATES

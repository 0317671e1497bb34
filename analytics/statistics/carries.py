"""What carries it: the answer from each kind of pair alone, always the same rows, for both questions."""

from analytics.statistics.answers import Ground, Terms, these_fields_answer, years_to_come_answer
from analytics.statistics.basis import Grounds
from analytics.statistics.results import Answer, Basis, CarriedBy, CarriesRow, Finding, Question


def carries(grounds: Grounds, terms: Terms) -> tuple[CarriesRow, ...]:
    """Every row of CarriedBy for each question in turn."""
    answered: dict[tuple[int, Question], Answer] = {}
    rows = []
    for question in Question:
        for row in CarriedBy:
            on = grounds.of_row(row, question)
            key = id(on), question
            if key not in answered:
                answered[key] = _answer(on, terms, question)
            rows.append(_row(answered[key], row, question, _not_known(grounds, on) if _counts_them(row) else None))
    return tuple(rows)


def _answer(on: Ground, terms: Terms, question: Question) -> Answer:
    if question is Question.THESE_FIELDS:
        return these_fields_answer(on, terms, Basis.ALL)
    return years_to_come_answer(on, terms, Basis.ALL, also=None)


def _counts_them(row: CarriedBy) -> bool:
    return row is CarriedBy.WITHOUT_EARLY_CUT


def _not_known(grounds: Grounds, on: Ground) -> int:
    return int((grounds.pairs.is_early_unknown & on.found.selected).sum())


def _row(answer: Answer, row: CarriedBy, question: Question, not_known: int | None) -> CarriesRow:
    is_judged = answer.finding is not Finding.TOO_FEW
    return CarriesRow(
        row=row,
        question=question,
        pairs=answer.pairs,
        field_years=answer.field_years,
        years=answer.years,
        estimate=answer.estimate,
        low=answer.low if is_judged else None,
        high=answer.high if is_judged else None,
        not_known=not_known,
    )

"""What weakens a comparison, as far as the arrays alone show it; what the records say is added where they are read."""

import numpy as np

from analytics.statistics.answers import Ground
from analytics.statistics.given_pairs import KINDS, Kind, Pairs
from analytics.statistics.places import FieldYears
from analytics.statistics.results import Caution

WEAK_KINDS = (
    (
        Kind.TWO_FIELDS,
        "weak_layout",
        "two separate fields were compared; soil and history differ along with the method.",
    ),
    (
        Kind.MATCHED,
        "matched_after_harvest",
        "two separate fields were matched after harvest, when yields may have been known; soil and history differ "
        "along with the method.",
    ),
)


def cautions(pairs: Pairs, here: Ground, ahead: Ground) -> tuple[Caution, ...]:
    """The weightiest first; here: ground of these fields, ahead: of years to come."""
    field_years, years = here.found.count, here.found.years
    found = []

    def say(code: str, text: str) -> None:
        found.append(Caution(code=code, text=text))

    if here.agreement is not None and bool(here.agreement.disagree) and here.sums is not None:
        means = here.sums.means
        best, worst = (here.found.crop_years[int(place)] for place in (means.argmax(), means.argmin()))
        say(
            "years_disagree",
            f"The years differ by more than chance explains, {best} and {worst} the most; an average hides that.",
        )
    if field_years and not pairs.are_fields_named:
        say(
            "no_field_named",
            "No field is named, so every row counts as a field-year of its own. Strips of one field must carry its "
            "name, or the answer is too sure.",
        )
    if shared := _shared(pairs, here.found):
        is_are = "place holds" if shared == 1 else "places hold"
        say("fields_shared", f"{shared} {is_are} several pairs that share a field; such a place counts once.")
    for on, where in ((here, "In"), (ahead, "For years to come, in")):
        if mixed := int((on.found.kind == KINDS.index(Kind.MIXED)).sum()):
            say(
                "kinds_mixed",
                f"{where} {_count(mixed, 'field-year')} pairs of one field and pairs of two fields are averaged "
                "together.",
            )
            break
    used = pairs.kind[here.found.selected | ahead.found.selected] if field_years else pairs.kind[:0]
    for kind, code, text in WEAK_KINDS:
        if weak := int((used == KINDS.index(kind)).sum()):
            say(code, f"In {weak} of {_count(used.size, 'pair')} {text}")
    if overlapping := max(here.found.overlapping, ahead.found.overlapping):
        say(
            "places_overlap",
            f"{overlapping} places share a field with another and are not the same, in other years; they count as new "
            "places.",
        )
    if years == 1:
        say("one_year_only", "All pairs are from one year; another year may look different.")
    if 0 < field_years < 5:  # University of Nebraska, on-farm research: 6 to 7 pairs, never fewer than 5
        say(
            "fewer_than_five_field_years",
            f"It rests on {_count(field_years, 'field-year')}; fewer than five say little about the spread.",
        )
    if years > 1 and not here.blocks:
        say(
            "years_not_separated",
            "With fewer than two field-years a year, a good year cannot be told from a good field.",
        )
    return tuple(found)


def _shared(pairs: Pairs, found: FieldYears) -> int:
    """Places that are more than one field and hold several pairs, in one year."""
    rows = np.flatnonzero(found.selected)
    is_joining = pairs.standing_field[rows] != pairs.windrowed_field[rows]
    joined = np.bincount(found.of_pair, weights=is_joining, minlength=found.count) > 0
    return int((joined & (found.pairs > 1)).sum())


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"

"""Names that a person takes for one: they differ only by capitals, accents, spaces, or letters that look alike."""

import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping

from analytics.records.form import Table

NAMES = {"fields": "field", "plots": "plot", "bins": "bin"}  # the column by which each table names what it holds
# Letters of other alphabets, and figures, that look like a small Latin letter; a choice of the commonest, from memory.
LOOK_LIKE = str.maketrans(
    "аеорсухіјѕвнкмтοανικρτυ01|",
    "aeopcyxijsbhkmtoavikptyoll",
)


def seen_as(name: str) -> str:
    """What a name looks like at a glance; the same for names that are taken for one.

    >>> seen_as("Coulée  10") == seen_as("coulee 1O")
    True
    """
    plain = unicodedata.normalize("NFKD", name).casefold()
    letters = [letter for letter in plain if unicodedata.category(letter) not in ("Mn", "Cf", "Cc")]
    return " ".join("".join(letters).translate(LOOK_LIKE).replace("i", "l").split())


def name_and_place(table: Table, row: Mapping[str, object]) -> tuple[str, tuple[str, ...]]:
    """The name that a row of fields, plots or bins gives, and within what it has to differ from others; "" for none."""
    column = NAMES.get(table.name, "")
    place = tuple(str(row.get(other)) for other in table.key if other != column)
    return str(row.get(column) or ""), place


def alike(table: Table, new: Iterable[Mapping[str, object]], known: Iterable[Mapping[str, object]]) -> tuple[str, ...]:
    """A question for each group of names that look alike and hold a new one; rows of the table as they are and will
    be. Plots are asked about within a field and crop year, bins within a crop year.
    """
    if table.name not in NAMES:
        return ()
    groups: defaultdict[tuple[tuple[str, ...], str], list[str]] = defaultdict(list)
    there = dict.fromkeys(name_and_place(table, row) for row in known)
    added = {one for one in (name_and_place(table, row) for row in new) if one not in there and one[0]}
    for name, place in (*there, *sorted(added)):
        groups[place, seen_as(name)].append(name)
    return tuple(
        f"{', '.join((*place, ''))}{' and '.join(map(spelt, names))} look alike and would be {len(names)} "
        f"{table.name}. Is one {NAMES[table.name]} meant? Then give it one name in all files."
        for (place, _), names in groups.items()
        if len(names) > 1 and any((name, place) in added for name in names)
    )


def spelt(name: str) -> str:
    """The name, with the letters that are not plain ones told by their number."""
    odd = [letter for letter in name if not letter.isascii() and letter not in _ACCENTED]
    return f"{name}{f' (with U+{ord(odd[0]):04X})' if odd else ''}"


_ACCENTED = "àâäæçéèêëîïôöœùûüÿÀÂÄÆÇÉÈÊËÎÏÔÖŒÙÛÜŸ"

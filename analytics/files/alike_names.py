"""Names that a person takes for one: they differ only by capitals, accents, spaces, or letters that look alike."""

import unicodedata
from collections import defaultdict
from collections.abc import Collection

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


def alike(new: Collection[str], known: Collection[str]) -> tuple[str, ...]:
    """A question for each group of names that look alike and hold a new one."""
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for name in dict.fromkeys([*known, *new]):
        groups[seen_as(name)].append(name)
    added = set(new) - set(known)
    return tuple(
        f"{' and '.join(map(spelt, names))} look alike and would be {len(names)} fields. Is one field meant? Then "
        "give it one name in all files."
        for names in groups.values()
        if len(names) > 1 and added & set(names)
    )


def spelt(name: str) -> str:
    """The name, with the letters that are not plain ones told by their number."""
    odd = [letter for letter in name if not letter.isascii() and letter not in _ACCENTED]
    return f"{name}{f' (with U+{ord(odd[0]):04X})' if odd else ''}"


_ACCENTED = "àâäæçéèêëîïôöœùûüÿÀÂÄÆÇÉÈÊËÎÏÔÖŒÙÛÜŸ"

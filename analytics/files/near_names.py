"""Names of fields and plots in a file that no record has, and those that may be meant: offered, not put in unasked."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

import polars as pl

from analytics.files.text_tables import TextTable
from analytics.records.columns import PLOT_KEY

NEAR = 0.85  # of two names without spaces and marks, by difflib; our choice, no source
MOST_NAMES = 300  # different names compared with each other
FIELD_COLUMNS = ("field", "standing_field", "windrowed_field")


@dataclass(frozen=True, slots=True, kw_only=True)
class OddName:
    """A name in the files that no record has, how often it stands there, and the names that may be meant.

    field : of a plot, its field as it stands in the files; "" for a field
    is_the_same : the first of `meant` differs in capitals, spaces and marks alone
    """

    given: str
    field: str
    times: int
    meant: tuple[str, ...]
    is_the_same: bool


def odd_fields(texts: Sequence[TextTable], on_record: Sequence[str]) -> list[OddName]:
    """Fields that are nearly like one on record, or like one that the files name more often."""
    columns = [text.cells[name] for text in texts for name in FIELD_COLUMNS if name in text.cells.columns]
    times = Counter(dict(pl.concat([pl.Series([], dtype=pl.String), *columns]).drop_nulls().value_counts().iter_rows()))
    if len(times) > MOST_NAMES:
        return []
    own = {name for text in texts if text.name == "fields" and not text.is_also for name in text.cells["field"]}
    known = {*on_record, *own}
    found = []
    for given in sorted(times):
        others = [name for name in {*known, *times} if name in known or times[name] > times[given]]
        meant = _near(given, others) if given not in known else ()
        if meant:
            found.append(_odd(given, "", times[given], meant))
    return found


def odd_plots(
    texts: Sequence[TextTable], plots: Sequence[tuple[int, str, str]], fields: Mapping[str, str]
) -> list[OddName]:
    """Plots that are not on record, of fields that have others: those are offered, the likeliest first.

    plots : crop year, field and plot of those on record; fields : what the fields of the files are taken for
    """
    if any(text.name == "plots" for text in texts):
        return []
    times: Counter[tuple[str, str]] = Counter()
    for text in texts:
        if set(PLOT_KEY) <= set(text.cells.columns):
            times.update(text.cells.select("field", "plot").drop_nulls().iter_rows())
    found = []
    for (field, plot), often in sorted(times.items())[:MOST_NAMES]:
        there = sorted({name for _, of, name in plots if of == fields.get(field, field)})
        if not there or plot in there:
            continue
        begun = [name for name in there if _is_begun(name, plot) or _is_begun(plot, name)]
        near = (*_near(plot, there), *begun)
        found.append(_odd(plot, field, often, tuple(dict.fromkeys([*near, *there]))))
    return found


def respelt(text: TextTable, fields: Mapping[str, str], plots: Mapping[tuple[str, str], str]) -> TextTable:
    """The table with the names that were chosen in the place of those that stand there."""
    cells = text.cells
    if plots and {"field", "plot"} <= set(cells.columns):
        named = [plots.get((field, plot), plot) for field, plot in cells.select("field", "plot").iter_rows()]
        cells = cells.with_columns(pl.Series("plot", named, dtype=pl.String))
    here = [name for name in FIELD_COLUMNS if name in cells.columns]
    return replace(text, cells=cells.with_columns(pl.col(here).replace(dict(fields))) if fields and here else cells)


def _is_begun(name: str, by: str) -> bool:
    return _bare(name).startswith(_bare(by))


def _odd(given: str, field: str, times: int, meant: tuple[str, ...]) -> OddName:
    is_the_same = _bare(given) == _bare(meant[0])
    return OddName(given=given, field=field, times=times, meant=meant, is_the_same=is_the_same)


def _near(given: str, others: Sequence[str]) -> tuple[str, ...]:
    """Those of the others that are nearly spelt so, the nearest first; numbers in them have to be the same."""
    ratios = {
        name: SequenceMatcher(None, _bare(given), _bare(name)).ratio()
        for name in others
        if name != given and _digits(name) == _digits(given)
    }
    return tuple(sorted((name for name in ratios if ratios[name] >= NEAR), key=lambda name: (-ratios[name], name)))


def _bare(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def _digits(name: str) -> str:
    return "".join(letter for letter in name if letter.isdigit())

"""The pairs by measure as one table of letters; one that stands for something missing is a link to where it is typed.

A table of its own, because Streamlit's columns stack on a phone. Every text goes in escaped.
"""

from collections.abc import Sequence
from html import escape
from urllib.parse import urlencode

from analytics.pairs.gaps import (
    COMPLETE,
    MISSING,
    NOT_HARVESTED,
    NOT_NOTED,
    ONE_SIDE,
    Cell,
    Lack,
    PairGaps,
    ToDo,
    ToLookFor,
)
from analytics.records.papers import PAPERS
from analytics.trade.measures import MEASURES

STYLE = """
<style>
.gaps table { border-collapse: collapse; font-size: 0.95rem; }
.gaps thead th { height: 9rem; padding: 0 0 0.2rem; vertical-align: bottom; font-weight: 400; text-align: left;
  position: sticky; top: 3.75rem; background: #FFFFFF; box-shadow: inset 0 -1px #D8D8D8; }
.gaps thead th span { writing-mode: vertical-rl; transform: rotate(180deg); white-space: nowrap; }
.gaps thead th + th { text-align: center; }
.gaps tbody th { text-align: left; font-weight: 400; padding: 0.2rem 0.6rem 0.2rem 0; overflow-wrap: anywhere; }
.gaps tbody tr { border-top: 1px solid #D8D8D8; }
.gaps td { text-align: center; min-width: 2.6rem; height: 1.9rem; padding: 0; }
.gaps td a, .gaps td span { display: block; line-height: 1.9rem; text-decoration: none; }
.gaps td a { background: #EFEFEF; color: #222222; font-weight: 700; }
.gaps td a:hover, .gaps td a:focus { outline: 2px solid #222222; outline-offset: -2px; }
.gaps td span { color: #595959; }
.gaps li { margin: 0.35rem 0; }
.gaps li a { display: inline-block; }
.gaps progress { width: 100%; max-width: 30rem; height: 0.8rem; accent-color: #595959; }
@media (max-width: 640px) {
  .gaps table { font-size: 0.8rem; width: 100%; table-layout: fixed; }
  .gaps thead th:first-child { width: 24%; }
  .gaps td { min-width: 0; }
}
</style>
"""
MARKS = {COMPLETE: "B", MISSING: "\u2212", NOT_HARVESTED: "", NOT_NOTED: ""}
SIDE_MARKS = {"standing": "S", "windrowed": "W"}
LEGEND = (
    "B both sides in · S standing only · W windrowed only · \u2212 neither · "
    "blank: not harvested yet, or not noted that year"
)


def link_to(lack: Lack, who: str) -> str:
    """The address of the place where it is typed, by `who` ("" when nobody gave a name)."""
    place = {"crop_year": lack.crop_year, "field": lack.field, "plot": lack.plot, "paper": lack.paper, "row": lack.row}
    return f"enter_records?{urlencode({name: value for name, value in (place | {'who': who}).items() if value})}"


def grid(rows: Sequence[PairGaps], who: str) -> str:
    """The table, ready for st.html."""
    heads = "".join(f"<th scope='col'><span>{escape(measure.label)}</span></th>" for measure in MEASURES.values())
    body = "".join(_row(row, who) for row in rows)
    return (
        f"{STYLE}<div class='gaps'><table><thead><tr><th scope='col'>Pair</th>{heads}</tr></thead>"
        f"<tbody>{body}</tbody></table></div>"
    )


def _row(row: PairGaps, who: str) -> str:
    name = f"{row.pair}, {row.crop_year}"
    cells = "".join(f"<td>{_cell(name, measure, cell, who)}</td>" for measure, cell in row.cells.items())
    return f"<tr><th scope='row'>{escape(name)}: {escape(row.field)}</th>{cells}</tr>"


def _cell(name: str, measure: str, cell: Cell, who: str) -> str:
    mark = SIDE_MARKS[cell.known_side] if cell.state == ONE_SIDE else MARKS[cell.state]
    if not cell.lacks:
        return f"<span role='img' aria-label='{cell.state}' title='{cell.state}'>{mark}</span>"
    papers = "; ".join(f"{PAPERS[lack.paper].name}: {_missing(lack)}" for lack in cell.lacks)
    words = escape(f"Pair {name}, {MEASURES[measure].label.lower()}: {cell.state}. Look for {papers}", quote=True)
    address = escape(link_to(cell.lacks[0], who), quote=True)
    return f"<a href='{address}' target='_self' aria-label='{words}' title='{words}'>{mark}</a>"


def _missing(lack: Lack) -> str:
    return f"{lack.missing}, {lack.field}, {lack.plot}" if lack.plot else lack.missing


def to_do(groups: Sequence[ToDo], who: str) -> str:
    """What to look for by paper and pair, a line each with its link, ready for st.html."""
    parts = "".join(f"<li>{escape(group.words)}<ul>{_lines(group.things, who)}</ul></li>" for group in groups)
    return f"<div class='gaps'><ol>{parts}</ol></div>"


def _lines(things: Sequence[ToLookFor], who: str) -> str:
    return "".join(
        f"<li>{escape(thing.words)} <a href='{escape(link_to(thing.lack, who), quote=True)}' target='_self'>"
        f"Type it under {escape(PAPERS[thing.lack.paper].name)}</a></li>"
        for thing in things
    )


def bar(words: str, done: int, total: int) -> str:
    """A plain bar of what is in, ready for st.html."""
    return (
        f"<div class='gaps'><progress aria-label='{escape(words, quote=True)}' value='{done}' max='{total}'>"
        f"</progress><br>{done} of {total} papers are in.</div>"
    )

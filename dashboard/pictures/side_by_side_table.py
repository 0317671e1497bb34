"""A pair side by side as one piece of HTML: a row a fact, which opens to its tickets without asking the server.

Streamlit's columns stack on a phone, so that standing and windrowed would not stand beside each other there.
Every text goes in escaped.
"""

from collections.abc import Sequence
from html import escape

from analytics.pairs.facts import Fact, Group, Papers
from analytics.trade.glossary import HELP

STYLE = """
<style>
.pair-facts { font-size: 0.95rem; line-height: 1.35; }
.pair-facts h2 { margin: 1.4rem 0 0.2rem; padding: 0; }
.pair-facts .row { display: grid; grid-template-columns: 1.5fr 1fr 1fr 0.7fr; column-gap: 0.8rem; }
.pair-facts .row > span { overflow-wrap: anywhere; }
.pair-facts .row > span + span { text-align: right; font-variant-numeric: tabular-nums; }
.pair-facts .windrowed { color: #A84A00; }
.pair-facts .head { font-weight: 600; border-bottom: 2px solid #222; padding: 0.2rem 0; }
.pair-facts .fact { border-bottom: 1px solid #D8D8D8; padding: 0.25rem 0; }
.pair-facts .marked { background: #F2F2F2; box-shadow: inset 3px 0 0 #222222; padding-left: 0.5rem; }
.pair-facts .caution { color: #222222; font-weight: 600; margin: 0.15rem 0 0; font-size: 0.9rem; }
.pair-facts summary { cursor: pointer; list-style: none; }
.pair-facts summary::-webkit-details-marker { display: none; }
.pair-facts summary .row > span:nth-child(2), .pair-facts summary .row > span:nth-child(3) {
  text-decoration: underline dotted; text-underline-offset: 3px; }
.pair-facts .papers { overflow-x: auto; margin: 0.3rem 0 0.6rem; }
.pair-facts table { border-collapse: collapse; font-size: 0.85rem; }
.pair-facts caption { text-align: left; font-weight: 600; padding: 0.3rem 0; }
.pair-facts th, .pair-facts td {
  border-bottom: 1px solid #D8D8D8; padding: 0.15rem 0.7rem 0.15rem 0; text-align: left; white-space: nowrap; }
.pair-facts td:last-child { white-space: normal; min-width: 6rem; }
.pair-facts .unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
@media (max-width: 640px) {
  .pair-facts .row { grid-template-columns: 1fr 1fr 5.5rem; }
  .pair-facts .row > span:first-child { grid-column: 1 / -1; color: #444; font-size: 0.88rem; }
  .pair-facts .row > span + span { text-align: left; }
}
</style>
"""
HEADINGS = (
    "<div class='row head' aria-hidden='true'><span></span><span class='standing'>● standing</span>"
    "<span class='windrowed'>■ windrowed</span><span>difference</span></div>"
)


def side_by_side(groups: Sequence[Group]) -> str:
    """The groups of a pair, ready for st.html."""
    parts = []
    for group in groups:
        rows = "".join(_fact(fact) for fact in group.facts)
        care = f"<p>{escape(group.care)}</p>" if group.care else ""
        parts.append(f"<h2>{escape(group.name)}</h2>{care}{HEADINGS}{rows}")
    return f"{STYLE}<div class='pair-facts'>{''.join(parts)}</div>"


def _fact(fact: Fact) -> str:
    row = (
        f"<div class='row'><span{_help(fact)}>{escape(fact.label)}</span>"
        f"<span>{_unseen('standing')}{escape(fact.standing)}</span>"
        f"<span>{_unseen('windrowed')}{escape(fact.windrowed)}</span>"
        f"<span>{_unseen('difference') if fact.difference else ''}{escape(fact.difference)}</span></div>"
    )
    caution = f"<p class='caution'>▲ {escape(fact.caution)}</p>" if fact.caution else ""
    papers = _papers("standing", fact.standing_papers) + _papers("windrowed", fact.windrowed_papers)
    body = f"<details><summary>{row}</summary>{papers}</details>" if papers else row
    return f"<div class='fact{' marked' if caution else ''}'>{body}{caution}</div>"


def _help(fact: Fact) -> str:
    return f" title='{escape(HELP[fact.help])}'" if fact.help else ""


def _unseen(text: str) -> str:
    """Read aloud before the number, where the heading is out of sight."""
    return f"<span class='unseen'>{text}: </span>"


def _papers(side: str, papers: Papers | None) -> str:
    if papers is None:
        return ""
    head = "".join(f"<th scope='col'>{escape(name)}</th>" for name in papers.columns)
    rows = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in papers.rows)
    return (
        f"<div class='papers' tabindex='0'><table><caption class='{side}'>{side}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )

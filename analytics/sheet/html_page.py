"""The sheet as one HTML file that needs nothing from outside, for a screen or a printer."""

from html import escape

from analytics.sheet.content import PrintedSheet
from analytics.sheet.parts import Section
from analytics.sheet.printed_tables import PrintedTable

STYLE = """
body { margin: 0 auto; max-width: 52rem; padding: 1rem; color: #222222; background: white;
  font: 1rem/1.4 "Source Sans Pro", system-ui, sans-serif; }
h1 { font-size: 1.6rem; margin: 0.3rem 0 0.6rem; }
h2 { font-size: 1.1rem; margin: 1.2rem 0 0.3rem; }
p { margin: 0.3rem 0; }
ul { margin: 0.3rem 0; padding-left: 1.2rem; }
header p, footer p, figcaption { color: #444444; font-size: 0.9rem; }
.answer { border-left: 3px solid #222222; padding-left: 0.8rem; font-size: 1.15rem; }
.halves { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(20rem, 100%), 1fr)); column-gap: 2rem; }
figure { margin: 0; overflow-x: auto; }
figure svg { width: 100%; min-width: 32rem; height: auto; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-size: 0.9rem; font-variant-numeric: tabular-nums; }
th { border-bottom: 1px solid #222222; vertical-align: bottom; }
th, td { padding: 0.12rem 0.5rem 0.12rem 0; text-align: right; }
th.words, td.words { text-align: left; }
td { vertical-align: top; }
tr.total td { border-top: 1px solid #222222; font-weight: bold; }
footer { border-top: 1px solid #c8c8c8; margin-top: 1.5rem; }
@media print { .page + .page { break-before: page; } }
"""


def html(sheet: PrintedSheet) -> str:
    """The page as text, UTF-8."""
    made = f"{escape(sheet.farm_name)} · for the {sheet.reader} · {sheet.made_on.isoformat()}"
    answer = "".join(f"<p>{escape(sentence)}</p>" for sentence in sheet.answer)
    pages = "\n".join(
        f'<div class="page">{_sections(page.top)}'
        f'<div class="halves"><div>{_sections(page.left)}</div><div>{_sections(page.right)}</div></div>'
        f"{_sections(page.bottom)}</div>"
        for page in sheet.pages
    )
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(sheet.title)}, {escape(sheet.farm_name)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        f'<header><p>{made}</p></header>\n<main>\n<h1>{escape(sheet.title)}</h1>\n<div class="answer">{answer}</div>\n'
        f"{pages}\n</main>\n<footer><p>{escape(sheet.usual_words)}</p></footer>\n</body>\n</html>\n"
    )


def _sections(sections: tuple[Section, ...]) -> str:
    return "\n".join(_section(section) for section in sections)


def _section(section: Section) -> str:
    parts = [f"<h2>{escape(section.heading)}</h2>"]
    if section.picture is not None:
        drawing = section.picture.svg[section.picture.svg.index("<svg") :]
        drawing = drawing.replace("<svg", '<svg aria-hidden="true"', 1)  # what it says is in the label around it
        label = escape(section.picture.alt, quote=True)
        caption = escape(section.picture.caption)
        parts.append(
            f'<figure tabindex="0"><div role="img" aria-label="{label}">{drawing}</div>'
            f"<figcaption>{caption}</figcaption></figure>"
        )
    if section.table is not None:
        parts.append(_table(section.table, section.heading))
    parts.extend(f"<p>{escape(line)}</p>" for line in section.lines)
    if section.bullets:
        parts.append("<ul>" + "".join(f"<li>{escape(line)}</li>" for line in section.bullets) + "</ul>")
    return "\n".join(parts)


def _table(table: PrintedTable, heading: str) -> str:
    """A table that may be wider than a phone: it is scrolled by itself, by keys too."""
    head = "".join(
        _cell("th" if name else "td", name, place < table.text_columns) for place, name in enumerate(table.columns)
    )
    rows = []
    for number, row in enumerate(table.rows, start=1):
        total = ' class="total"' if table.has_total and number == len(table.rows) else ""
        cells = "".join(_cell("td", text, place < table.text_columns) for place, text in enumerate(row))
        rows.append(f"<tr{total}>{cells}</tr>")
    label = escape(heading, quote=True)
    return (
        f'<div class="wide" tabindex="0" role="group" aria-label="{label}"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _cell(tag: str, text: str, is_words: bool) -> str:
    scope = ' scope="col"' if tag == "th" else ""
    words = ' class="words"' if is_words else ""
    return f"<{tag}{scope}{words}>{escape(text)}</{tag}>"

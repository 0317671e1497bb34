"""The tables of a screen as rows of texts, the heading first, as a browser would read them."""

from html.parser import HTMLParser

from streamlit.testing.v1 import AppTest

Table = list[list[str]]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tables: list[Table] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")

    def handle_data(self, data: str) -> None:
        self.tables[-1][-1][-1] += data


def shown_tables(app: AppTest) -> list[Table]:
    """Each table of the screen in its order."""
    found = []
    for element in app.get("html"):
        if element.proto.body.startswith("<div class='text-table'"):
            reader = _Reader()
            reader.feed(element.proto.body)
            found += reader.tables
    return found


def column(table: Table, name: str) -> list[str]:
    """The texts below a heading."""
    at = table[0].index(name)
    return [row[at] for row in table[1:]]

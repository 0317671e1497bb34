"""What a page of the sheet is made of: sections with a heading, a picture, a table, sentences."""

from dataclasses import dataclass

from analytics.sheet.printed_tables import PrintedTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing as SVG, the same in words, and what its marks mean."""

    svg: str
    alt: str
    caption: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading with what stands below it, in this order."""

    heading: str
    picture: Picture | None = None
    table: PrintedTable | None = None
    lines: tuple[str, ...] = ()
    bullets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """Sections over the whole width, then two columns, then the whole width again."""

    top: tuple[Section, ...]
    left: tuple[Section, ...]
    right: tuple[Section, ...]
    bottom: tuple[Section, ...]

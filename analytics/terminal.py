"""The terminal, or the file or pipe in its place: whatever it can take, and nothing that would command it."""

import codecs
import os
import sys
import unicodedata
from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

WIDTH_OF_A_FILE = 110  # where the output is no terminal, so that nothing is cut
PLAIN_LETTERS = {
    "\u2212": "-",
    "\u2013": "-",
    "\u2014": "-",
    "\u2019": "'",
    "\u2026": "...",
    "\u2264": "<=",
    "\u2265": ">=",
}
# Control characters as their pictures (U+2400 and on); those that turn the direction of writing as a blot.
SHOWN = (
    {number: 0x2400 + number for number in range(32) if chr(number) not in "\n\t"}
    | {127: 0x2421}
    | dict.fromkeys(
        [*range(0x80, 0xA0), 0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)], 0xFFFD
    )
)


class Terminal(Console):
    """A console on which text from a file or a record is shown, and never taken for a command to the terminal."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """The pieces of text to write; the control characters in them are pictures."""
        for segment in super().render(renderable, options):
            yield segment if segment.control else Segment(segment.text.translate(SHOWN), segment.style)


def open_outputs() -> tuple[Terminal, Terminal]:
    """Standard output and standard error, made safe to write to whatever the caller gave.

    A closed one is opened to nowhere first: else the next file opened, the records perhaps, would take its number and
    get what is printed. Letters that the code page lacks become plain ones.
    """
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        pass
    os.close(number)
    codecs.register_error("plain_letters", _plain_letters)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115  # for as long as we run
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="plain_letters")
    out = Terminal(highlight=False, width=None if sys.stdout.isatty() else WIDTH_OF_A_FILE)
    return out, Terminal(stderr=True, highlight=False)


def _plain_letters(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    letters = problem.object[problem.start : problem.end]
    return "".join(map(_plain_letter, letters)), problem.end


def _plain_letter(letter: str) -> str:
    if letter in PLAIN_LETTERS:
        return PLAIN_LETTERS[letter]
    if unicodedata.category(letter) == "Zs":
        return " "
    return unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode() or "?"

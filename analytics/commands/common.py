"""What every command shares: the command line itself, its outputs, whose name goes into the history."""

import getpass
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperGroup, TyperOption

from analytics.terminal import open_outputs


class Commands(TyperGroup):
    """Our commands, with a --help that is off unless asked for.

    Typer's own is neither on nor off, and to find that out it loads a library that takes longer than all of ours.
    """

    def get_help_option(self, ctx: Any) -> TyperOption | None:
        """The option --help."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.default = False
        return option


app = typer.Typer(
    cls=Commands,
    help="Records and honest comparison of standing and windrowed canola on paired fields.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
out, err = open_outputs()

Records = Annotated[
    Path | None, typer.Option(help="The file of the records. Default: what STANDROW_RECORDS names, or your own file.")
]
Port = Annotated[int | None, typer.Option(help="Port of the dashboard on this machine. Default: the first free one.")]


def person() -> str:
    """Who is logged in, for the history; some machines give their users no name."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return "somebody without a name on this machine"


@contextmanager
def steps(how_many: int) -> Iterator[Callable[[str], None]]:
    """A bar for work of so many steps, on stderr, gone when done; nothing where stderr is no terminal."""
    from rich.progress import Progress

    with Progress(console=err, transient=True, disable=not err.is_terminal) as progress:
        task = progress.add_task("starting", total=how_many)

        def step(words: str) -> None:
            progress.update(task, description=words, advance=1)

        yield step


def say(text: str) -> None:
    """A line for people, as typed."""
    out.print(text, markup=False, soft_wrap=True)

"""What every command shares: the command line itself, its outputs, whose name goes into the history."""

import getpass
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer
from typer._coercion import build_runtime_param
from typer.core import TyperGroup

from analytics.errors import Refused
from analytics.terminal import open_outputs


class Value:
    """What an option or argument says: a text or a path as given, nothing where it was left out.

    Only other kinds are read by typer, for which it loads a library that takes a tenth of a second.
    """

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        """The value in the type of the parameter."""
        if value is None:
            return () if param.multiple else None
        kind = param.type_descriptor.annotation
        if kind is str or kind is Path:
            return kind(value)
        return build_runtime_param(param.type_descriptor).coerce(value, param=param, ctx=ctx)


class Commands(TyperGroup):
    """Our commands, all of whose values are read as Value reads them."""

    def get_params(self, ctx: Any) -> list[Any]:
        """Its own options: --help."""
        return with_own_values(super().get_params(ctx))

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command of this name; None where there is none."""
        command = super().get_command(ctx, cmd_name)
        if command is not None:
            with_own_values(command.get_params(ctx))
        return command


def with_own_values(params: list[Any]) -> list[Any]:
    """The same parameters, each read as Value reads it."""
    for param in params:
        param._runtime_param = Value()
    return params


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


def is_wanted(question: str) -> bool:
    """Ask for a yes or no. Raises Refused where nobody is there to answer."""
    try:
        return typer.confirm(question)
    except typer.Abort as problem:
        raise Refused("Nobody answered. Nothing was written. To do it without a question: --yes") from problem


def say(text: str) -> None:
    """A line for people, as typed."""
    out.print(text, markup=False, soft_wrap=True)

"""The command `standrow`. Exit code 0: done; 1: refused or not possible; 2: bad input. Reasons go to stderr.

Each command imports what it needs when it is called, so that help and usage errors come at once.
"""

import errno
import os
import signal
import sys
from contextlib import suppress

from analytics.commands import answering, farm_group, monitor_file, next_season, records_file, served  # noqa: F401  # commands
from analytics.commands.common import app, err
from analytics.errors import NO_MEMORY, StandrowError
from analytics.storage.what_happened import take_mended, what_was_done


class Stopped(StandrowError):
    """Ctrl-C."""


def stop(*_: object) -> None:
    """What Ctrl-C does until a server runs, which has its own way."""
    raise Stopped("Stopped.")


def run_command() -> None:
    """Run the command; whatever goes wrong ends in one plain message and an exit code."""
    os.umask(0o077)  # what the program writes is the owner's alone, the engine's own files beside the records too
    signal.signal(signal.SIGINT, stop)
    try:
        try:
            app()
        finally:
            for words in take_mended():
                complain(words)
            sys.stdout.flush()
    except Stopped as problem:
        complain(f"{problem} {what_was_done()}")
        sys.exit(problem.exit_code)
    except StandrowError as problem:
        complain(str(problem))
        sys.exit(problem.exit_code)
    except BrokenPipeError:
        silence()
        sys.exit(1)
    except Exception as problem:
        silence()
        if "interrupt" in str(problem).lower():  # Ctrl-C in the middle of a query
            complain(f"Stopped. {what_was_done()}")
        elif isinstance(problem, MemoryError):
            complain(f"{NO_MEMORY} {what_was_done()}")
        elif isinstance(problem, OSError) and problem.errno in (errno.ENOSPC, errno.EIO, errno.EBADF):
            complain(f"What is printed cannot be written ({problem.strerror}). {what_was_done()}")
        else:
            complain(
                f"standrow met something it does not know how to handle ({type(problem).__name__}: {problem}). "
                f"{what_was_done()}"
            )
        sys.exit(1)


def complain(text: str) -> None:
    """A line for people on standard error, as far as that can be written."""
    with suppress(OSError):
        err.print(text, markup=False, soft_wrap=True)


def silence() -> None:
    """Write no more to an output that takes nothing, at the end of the program neither."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    with suppress(OSError, ValueError):
        os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


if __name__ == "__main__":
    run_command()

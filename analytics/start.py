"""Where the command begins: Ctrl-C while it is still loading ends it as quietly as later."""

import gc
import os
import sys

# What is loaded stays to the end, so a search for garbage among it seldom finds any; it took a twentieth of the time.
SEARCH_FOR_GARBAGE = (20_000, 50, 50)  # after so many new things, and how seldom among the older ones


def main() -> None:
    """Load the command and run it."""
    gc.set_threshold(*SEARCH_FOR_GARBAGE)
    try:
        _name_a_home()
        from analytics.cli import run_command

        run_command()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(1)


def _name_a_home() -> None:
    """Some users have no home, and libraries ask for it as soon as they are loaded: name one where nothing can be."""
    from pathlib import Path  # here, where Ctrl-C is caught already

    try:
        Path.home()
    except RuntimeError:
        os.environ["HOME"] = f"{os.devnull}/no-home"

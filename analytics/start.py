"""Where the command begins: Ctrl-C while it is still loading ends it as quietly as later."""

import os
import sys


def main() -> None:
    """Load the command and run it."""
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

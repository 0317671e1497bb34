"""Where the command begins: Ctrl-C while it is still loading ends it as quietly as later."""

import os
import sys
import tempfile
from pathlib import Path


def main() -> None:
    """Load the command and run it."""
    try:
        _find_a_place_for_caches()
        from analytics.cli import main as command

        command()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(1)


def _find_a_place_for_caches() -> None:
    """A library of charts asks for the user's home as soon as it is loaded; not every user has one."""
    try:
        Path.home()
    except RuntimeError:
        os.environ.setdefault("XDG_CACHE_HOME", tempfile.gettempdir())

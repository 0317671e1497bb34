"""Where the command begins: Ctrl-C while it is still loading ends it as quietly as later."""

import gc
import os
import sys

# What is loaded stays to the end, so a search for garbage among it seldom finds any; it took a twentieth of the time.
SEARCH_FOR_GARBAGE = (20_000, 50, 50)  # after so many new things, and how seldom among the older ones
# What the library of tables has done with goes back to the machine after a tenth of a second, not after 1.5: a million
# tickets come in with 30 to 110 MB less. It reads this when it is loaded.
MEMORY_GOES_BACK = "dirty_decay_ms:100,muzzy_decay_ms:0"
# Our matrices have as many rows as there are years, too few for a second thread; one that waits keeps a core busy for a
# tenth of a second. It is read when the library of numbers is loaded.
THREADS_FOR_MATRICES = "1"


def main() -> None:
    """Load the command and run it."""
    gc.set_threshold(*SEARCH_FOR_GARBAGE)
    try:
        _name_a_home()
        os.environ.setdefault("_RJEM_MALLOC_CONF", MEMORY_GOES_BACK)
        os.environ.setdefault("OPENBLAS_NUM_THREADS", THREADS_FOR_MATRICES)
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

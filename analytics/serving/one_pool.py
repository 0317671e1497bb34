"""A server holds little memory: one pool for all its threads, and what is done with goes back to the machine."""

import ctypes
import os
import sys
from contextlib import suppress

M_ARENA_MAX = -8  # of malloc.h; mallopt(3)
# As in start.py, but at once: a server waits most of the time, and while it waits nothing more would go back. Other
# commands wait a tenth of a second, as bringing in a million tickets would take a second longer.
AT_ONCE = "dirty_decay_ms:0,muzzy_decay_ms:0"


def share_one_pool() -> None:
    """Let all threads take their memory from one pool. To be called before there are threads.

    The framework shows each screen in a new thread, and the system's library (glibc) would give the threads up to eight
    pools a core. What is free in one of them serves no other.
    """
    if sys.platform == "linux":
        with suppress(AttributeError):  # another library than glibc has nothing to be told
            ctypes.CDLL(None).mallopt(M_ARENA_MAX, 1)


def give_memory_back() -> None:
    """Let the library of tables keep nothing that it has done with. To be called before it is loaded."""
    os.environ["_RJEM_MALLOC_CONF"] = AT_ONCE

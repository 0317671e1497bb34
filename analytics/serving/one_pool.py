"""One pool of memory for every thread of a server, so that it does not grow all winter."""

import ctypes
import sys
from contextlib import suppress

M_ARENA_MAX = -8  # of malloc.h; mallopt(3)


def share_one_pool() -> None:
    """Let all threads take their memory from one pool. To be called before there are threads.

    The framework shows each screen in a new thread, and the system's library (glibc) would give the threads up to eight
    pools a core. What is free in one of them serves no other.
    """
    if sys.platform == "linux":
        with suppress(AttributeError):  # another library than glibc has nothing to be told
            ctypes.CDLL(None).mallopt(M_ARENA_MAX, 1)

"""Work for workers, in a module of its own so that other processes find it."""

import os
import re
import signal
from pathlib import Path


def doubled(number: int) -> int:
    return 2 * number


def ended_the_first_time(item: tuple[int, str]) -> int:
    """Twice the number; at number 7 the worker is killed from within, as if by kill -9, but only once."""
    number, mark = item
    if number == 7 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return 2 * number


def ended_every_time(number: int) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return number


def most_memory(path: str) -> int:
    """Megabytes that this worker has held at most, once it has checked the file."""
    from analytics.pool.share_files import checked_path  # takes half a second, which the other jobs need not wait for

    assert not checked_path(path).faults.total
    # Not getrusage, which tells of the process that began this one too.
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(re.search(r"VmHWM:\s+(\d+) kB", status)[1]) // 1000  # type: ignore[index]

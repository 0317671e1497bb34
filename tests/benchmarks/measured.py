"""What a benchmark measures with: processor time of programs, of calls, memory, and medians of a few."""

import os
import re
import resource
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from time import perf_counter, sleep

STANDROW = (sys.executable, "-c", "from analytics.start import main; main()")  # the command, of this very folder


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One line of the table: ours beside its yardstick, both of one run; it fails past `limit`.

    target : what is aimed at on two quiet cores, in words
    limit : the largest `ours` that passes on a machine that does other things too, in the unit
    """

    what: str
    yardstick_name: str
    ours: float
    yardstick: float
    unit: str
    target: str
    limit: float

    @property
    def words(self) -> str:
        """The line as a row of a Markdown table."""
        ratio = self.ours / self.yardstick
        digits = 0 if self.unit in ("ms", "MB") else 2
        return (
            f"| {self.what} | {self.ours:,.{digits}f} {self.unit} | {self.yardstick_name}: "
            f"{self.yardstick:,.{digits}f} {self.unit} | {ratio:.1f} | {self.target} |"
        )


def program_ms(commands: Sequence[Sequence[str]], *, repeats: int, **environment: str) -> list[float]:
    """Median processor time of each program, in ms; they take turns, so that a busy moment hits all of them."""
    found: list[list[float]] = [[] for _ in commands]
    for _ in range(repeats):
        for command, times in zip(commands, found, strict=True):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run(command, env=os.environ | environment, capture_output=True, check=False)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            times.append((after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) * 1000)
    return [median(times) for times in found]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a program took: ms by the clock, ms of processor time, and MB that it held at most."""

    clock_ms: float
    processor_ms: float
    memory_mb: float


def program_cost(command: Sequence[str]) -> Cost:
    """The cost of a program that ends well; its output is dropped.

    Memory is asked for while it runs, as what the system tells at the end counts the program that began it too.
    """
    start, memory = perf_counter(), 0
    # The library of tables tells its children how it keeps memory; a command is begun as from a shell, without that.
    environment = {name: value for name, value in os.environ.items() if name != "_RJEM_MALLOC_CONF"}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment)
    while True:
        ended, status, used = os.wait4(process.pid, os.WNOHANG)
        if ended:
            break
        with open(f"/proc/{process.pid}/status", encoding="ascii") as file:
            found = re.search(r"VmHWM:\s+(\d+) kB", file.read())
        memory = int(found[1]) if found else memory
        sleep(0.01)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert not process.returncode
    return Cost(
        clock_ms=(perf_counter() - start) * 1000,
        processor_ms=(used.ru_utime + used.ru_stime) * 1000,
        memory_mb=memory * 1024 / 1e6,
    )


def call_ms(calls: Sequence[Callable[[], object]], *, repeats: int) -> list[float]:
    """Median time of each call, in ms, likewise in turns."""
    found: list[list[float]] = [[] for _ in calls]
    for _ in range(repeats):
        for call, times in zip(calls, found, strict=True):
            start = perf_counter()
            call()
            times.append((perf_counter() - start) * 1000)
    return [median(times) for times in found]


def memory_mb(pid: int) -> float:
    """What a process has in memory now (its resident set)."""
    with open(f"/proc/{pid}/statm", encoding="ascii") as file:
        return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6

"""The program serving as a process of its own, for tests that look at it from outside."""

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

import pytest

SLOWEST_START_SECONDS = 90


@dataclass(frozen=True, slots=True)
class Server:
    """A running server: its process number, its port, and the file into which it prints."""

    pid: int
    port: int
    log: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def printed(self) -> str:
        return self.log.read_text(encoding="utf-8")

    def answer(self, path: str, *, method: str = "GET", body: bytes | None = None, **headers: str) -> int:
        """The status of the answer to one request; underscores in the names of headers are dashes."""
        asking = HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            named = {name.replace("_", "-"): value for name, value in headers.items()}
            asking.request(method, path, body=body, headers=named)
            return asking.getresponse().status
        finally:
            asking.close()

    def websocket(self, **headers: str) -> int:
        """The status of a websocket's handshake: 101 when it is let in."""
        return self.answer(
            "/_stcore/stream",
            Connection="Upgrade",
            Upgrade="websocket",
            Sec_WebSocket_Key="dGhlIHNhbXBsZSBub25jZQ==",  # the example of RFC 6455, section 1.3
            Sec_WebSocket_Version="13",
            **headers,
        )


def free_port() -> int:
    """Any free port, so that two test runs do not meet on one."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def serving(records: Path, *options: str, umask: int = -1, **environment: str) -> AbstractContextManager[Server]:
    """`standrow serve` on these records, until the end of the block."""
    command = [sys.executable, "-m", "analytics.cli", "serve", "--records", str(records), *options]
    return running(command, records.parent / "printed.txt", umask=umask, **environment)


@contextmanager
def running(command: list[str], log: Path, *, umask: int = -1, **environment: str) -> Iterator[Server]:
    """The command on a port of its own, once it answers, printing into `log`; ended by its process number."""
    port = free_port()
    with log.open("w", encoding="utf-8") as printed:
        process = subprocess.Popen(
            [*command, "--port", str(port)],
            env=os.environ | environment,
            stdout=printed,
            stderr=printed,
            stdin=subprocess.DEVNULL,
            umask=umask,
        )
    try:
        wait_until_healthy(process, port, log)
        yield Server(process.pid, port, log)
    finally:
        process.terminate()
        process.wait(timeout=30)


def wait_until_healthy(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    give_up_at = time.monotonic() + SLOWEST_START_SECONDS
    while time.monotonic() < give_up_at and process.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=2) as answer:
                if answer.read() == b"ok":
                    return
        except OSError:
            time.sleep(0.1)
    pytest.fail(f"the program did not serve; it printed:\n{log.read_text(encoding='utf-8')}")

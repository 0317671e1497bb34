"""The threads of a server share one pool of memory."""

import platform
import subprocess
import sys
from pathlib import Path

import pytest

# The command to its end, but for the server: in its place eight threads that live at once take memory, and the system's
# library tells of its pools.
TOLD = """
import ctypes, os, sys, threading, types
from analytics.start import main

def serve(*_, **__):
    print(os.environ["_RJEM_MALLOC_CONF"], flush=True)
    library, all_there = ctypes.CDLL(None), threading.Barrier(8)
    def take():
        all_there.wait()
        library.malloc(5_000)
        all_there.wait()
    threads = [threading.Thread(target=take) for _ in range(8)]
    for step in (threading.Thread.start, threading.Thread.join):
        for thread in threads:
            step(thread)
    library.malloc_info(0, ctypes.c_void_p.in_dll(library, "stdout"))
    library.fflush(None)

server = sys.modules["analytics.serving.server"] = types.ModuleType("server")
server.serve = serve
main()
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="another library shares out the memory")
def test_threads_of_a_server_share_one_pool_where_each_would_get_its_own(tmp_path: Path) -> None:
    command = [sys.executable, "-c", TOLD, "serve", "--records", str(tmp_path / "records.duckdb")]
    told = subprocess.run(command, capture_output=True, text=True, check=True, encoding="utf-8").stdout
    assert told.count("<heap nr=") == 1
    assert "dirty_decay_ms:0," in told  # said to the library of tables

"""The dashboard's server: on this machine only, silent towards the outside, stopped by Ctrl-C."""

import os
import socket
from collections.abc import Callable
from pathlib import Path

from analytics.errors import Refused

DASHBOARD = Path(__file__).resolve().parents[1] / "dashboard" / "app.py"
ADDRESS = "127.0.0.1"
FIRST_PORT, LAST_PORT = 8760, 8799

OPTIONS = {
    "server.address": ADDRESS,
    "server.headless": True,
    "server.fileWatcherType": "none",
    "browser.gatherUsageStats": False,
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "none",
    "logger.hideWelcomeMessage": True,
    "theme.base": "light",
    "theme.font": "system-ui, sans-serif",
    "theme.textColor": "#1A1A1A",
    "theme.primaryColor": "#0072B2",
}


def free_port(asked: int | None = None) -> int:
    """The port that was asked for, else the first free one of ours. Raises Refused when it, or all, are taken."""
    candidates = range(FIRST_PORT, LAST_PORT + 1) if asked is None else (asked,)
    for port in candidates:
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as attempt:
            attempt.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                attempt.bind((ADDRESS, port))
            except OSError:
                continue
        return port
    taken = f"port {asked} is" if asked is not None else f"ports {FIRST_PORT} to {LAST_PORT} are"
    raise Refused(f"{taken} in use by another program. Close it, or name another with --port.")


def serve(records: Path, *, port: int | None, announce: Callable[[str], None]) -> None:
    """Serve the dashboard on these records until Ctrl-C. `announce` is given the address to open."""
    from streamlit.web import bootstrap  # takes half a second to import, which only this command should pay

    chosen = free_port(port)
    os.environ["STANDROW_RECORDS"] = str(records)
    options = OPTIONS | {"server.port": chosen}
    bootstrap.load_config_options(options)
    announce(f"http://{ADDRESS}:{chosen}")
    bootstrap.run(str(DASHBOARD), False, [], options)

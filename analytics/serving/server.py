"""The dashboard's server: for this machine alone unless asked otherwise, silent towards the outside."""

import gc
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from analytics.errors import Refused
from analytics.files.text_tables import LARGEST_BYTES
from analytics.serving.addresses import (
    ADDRESS,
    EVERY_ADDRESS,
    checked_address,
    is_for_this_machine_alone,
    listening_socket,
    names_of,
    own_addresses,
)
from analytics.serving.gate import Gate
from analytics.serving.passphrases import Right, read_passphrases

DASHBOARD = Path(__file__).resolve().parents[2] / "dashboard" / "app.py"

PYTHONS_OWN = (700, 10, 10)  # as it begins, 3.11

OPTIONS = {
    "server.headless": True,
    "server.fileWatcherType": "none",
    "server.maxUploadSize": LARGEST_BYTES // 2**20,  # refused in the browser, before it fills the memory
    "server.enableXsrfProtection": True,
    "server.enableCORS": True,  # which means: requests from pages of other servers are refused
    "server.enableAgentApi": False,  # a way to drive the screens without a browser
    "client.allowedOrigins": [],  # no page of another server may hold this one in a frame and talk to it
    # A search for garbage after each run takes 40 to 75 ms, and the answer waits; without, 300 runs leave 6 MB more.
    "runner.postScriptGC": False,
    "browser.gatherUsageStats": False,
    "runner.magicEnabled": False,  # which would show every value that stands alone on a line
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "none",
    "logger.hideWelcomeMessage": True,
    "theme.base": "light",
    "theme.font": "system-ui, sans-serif",
    "theme.textColor": "#1A1A1A",
    "theme.primaryColor": "#0072B2",
}
PING_SECONDS = 30  # after which a browser that went away is noticed


def serve(
    records: Path, *, address: str = ADDRESS, port: int | None, announce: Callable[[Sequence[str], bool], None]
) -> None:
    """Serve the dashboard on these records until Ctrl-C.

    address : in numbers; another than this machine's own needs a passphrase that was set before
    announce : is given the addresses to open, and whether other machines can
    Raises BadInput for an address that is none; Refused without a passphrase, and where no port is free.
    """
    address = checked_address(address)
    is_for_others = not is_for_this_machine_alone(address)
    if is_for_others and Right.LOOKING not in read_passphrases(records):
        raise Refused(
            f"serve: other machines can reach {address}, and no passphrase is set. Set one first: standrow passphrase"
        )
    import uvicorn
    from starlette.middleware import Middleware
    from streamlit import App, net_util  # takes half a second to import, which only this command should pay
    from streamlit.web import bootstrap

    from analytics.serving.screen_pages import screen_pages

    gc.set_threshold(*PYTHONS_OWN)  # a command seldom searches for garbage; a server lives too long for that
    own_socket = listening_socket(port, address)
    chosen = own_socket.getsockname()[1]
    hosts = (own_addresses() or (ADDRESS,)) if address == EVERY_ADDRESS else (address,)
    os.environ["STANDROW_RECORDS"] = str(records)
    options = OPTIONS | {"server.address": address, "server.port": chosen, "server.allowedHosts": names_of(hosts)}
    bootstrap.load_config_options(options)
    # Asked by a foreign page, Streamlit would ask a server in the internet for this network's address before refusing.
    net_util._external_ip = ADDRESS
    announce([f"http://{host}:{chosen}" for host in hosts], is_for_others)
    gate = Middleware(Gate, records=records, most_bytes=LARGEST_BYTES, is_held=_is_held)
    app = App(
        DASHBOARD,
        routes=screen_pages(DASHBOARD.parent),
        middleware=[gate] if is_for_others else [],
    )
    talks = uvicorn.Config(
        app,
        ws="websockets-sansio",
        ws_max_size=LARGEST_BYTES,
        ws_ping_interval=PING_SECONDS,
        ws_ping_timeout=PING_SECONDS,
        access_log=False,
        use_colors=False,
    )
    with own_socket, _a_good_end():
        uvicorn.Server(talks).run(sockets=[own_socket])


@contextmanager
def _a_good_end() -> Iterator[None]:
    """Ctrl-C and an order to end stop the block in good order, and what called us goes on.

    The framework's server closes everything and then sends itself the signal once more, for whoever waits for it.
    """
    ends = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(end, signal.default_int_handler) for end in ends]
    try:
        with suppress(KeyboardInterrupt):
            yield
    finally:
        for end, handler in zip(ends, before, strict=True):
            signal.signal(end, handler)


def _is_held(session: str, file: str) -> bool:
    """Whether the framework still keeps an uploaded file: it drops it with the session, or when its box is emptied."""
    from streamlit.runtime import get_instance

    return bool(get_instance().uploaded_file_mgr.get_files(session, [file]))

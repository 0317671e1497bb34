"""The dashboard's server: for this machine alone unless asked otherwise, silent towards the outside."""

import errno
import ipaddress
import os
import socket
import sys
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from analytics.errors import BadInput, Refused
from analytics.files.text_tables import LARGEST_BYTES
from analytics.serving.gate import Gate
from analytics.serving.passphrases import Right, read_passphrases

DASHBOARD = Path(__file__).resolve().parents[2] / "dashboard" / "app.py"
ADDRESS = "127.0.0.1"
EVERY_ADDRESS = "0.0.0.0"  # listened on only when asked for, and behind a passphrase
FIRST_PORT, LAST_PORT = 8760, 8799
# Reserved for documentation (RFC 5737): asking which of our addresses would be used towards it sends nothing.
NOWHERE = "192.0.2.1"

OPTIONS = {
    "server.headless": True,
    "server.fileWatcherType": "none",
    "server.maxUploadSize": LARGEST_BYTES // 2**20,  # refused in the browser, before it fills the memory
    "server.enableXsrfProtection": True,
    "server.enableCORS": True,  # which means: requests from pages of other servers are refused
    "server.enableAgentApi": False,  # a way to drive the screens without a browser
    "client.allowedOrigins": [],  # no page of another server may hold this one in a frame and talk to it
    "browser.gatherUsageStats": False,
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "none",
    "logger.hideWelcomeMessage": True,
    "theme.base": "light",
    "theme.font": "system-ui, sans-serif",
    "theme.textColor": "#1A1A1A",
    "theme.primaryColor": "#0072B2",
}


def checked_address(given: str) -> str:
    """An address to listen on, as given. Raises BadInput when it is not one in numbers."""
    try:
        return str(ipaddress.IPv4Address(given))
    except ValueError as problem:
        raise BadInput(
            f"serve: address {given} given; allowed an address of this machine in numbers, here "
            f"{' or '.join((ADDRESS, *own_addresses()))}, or {EVERY_ADDRESS} for all it has."
        ) from problem


def is_for_this_machine_alone(address: str) -> bool:
    """Whether only this machine can reach that address."""
    return ipaddress.IPv4Address(address).is_loopback


def own_addresses() -> tuple[str, ...]:
    """The addresses under which other machines reach this one, as far as it knows; none without a network."""
    found = set()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as towards, suppress(OSError):
        towards.connect((NOWHERE, 9))
        found.add(str(towards.getsockname()[0]))
    with suppress(OSError):
        found.update(socket.gethostbyname_ex(socket.gethostname())[2])
    return tuple(sorted(one for one in found if not is_for_this_machine_alone(one)))


def free_port(asked: int | None = None, address: str = ADDRESS) -> int:
    """The port that was asked for, else the first free one of ours.

    Raises Refused when it, or all, are taken, and when the address is not one of this machine.
    """
    candidates = range(FIRST_PORT, LAST_PORT + 1) if asked is None else (asked,)
    for port in candidates:
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as attempt:
            attempt.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                attempt.bind((address, port))
            except OSError as problem:
                if problem.errno == errno.EADDRNOTAVAIL:
                    has = " and ".join((ADDRESS, *own_addresses()))
                    raise Refused(f"serve: {address} is not an address of this machine. It has {has}.") from problem
                continue
        return port
    taken = f"port {asked} is" if asked is not None else f"ports {FIRST_PORT} to {LAST_PORT} are"
    raise Refused(f"{taken} in use by another program. Close it, or name another with --port.")


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
    from streamlit import net_util  # takes half a second to import, which only this command should pay
    from streamlit.web import bootstrap

    chosen = free_port(port, address)
    hosts = (own_addresses() or (ADDRESS,)) if address == EVERY_ADDRESS else (address,)
    os.environ["STANDROW_RECORDS"] = str(records)
    options = OPTIONS | {"server.address": address, "server.port": chosen, "server.allowedHosts": names_of(hosts)}
    bootstrap.load_config_options(options)
    # Asked by a foreign page, Streamlit would ask a server in the internet for this network's address before refusing.
    net_util._external_ip = ADDRESS
    announce([f"http://{host}:{chosen}" for host in hosts], is_for_others)
    if not is_for_others:
        bootstrap.run(str(DASHBOARD), False, [], options)
        return
    from starlette.middleware import Middleware
    from streamlit import App

    gate = Middleware(Gate, records=records, most_bytes=LARGEST_BYTES, is_held=_is_held)
    App(DASHBOARD, middleware=[gate], lifespan=_without_our_rooms_on_the_path).run(config=options)


def _is_held(session: str, file: str) -> bool:
    """Whether the framework still keeps an uploaded file: it drops it with the session, or when its box is emptied."""
    from streamlit.runtime import get_instance

    return bool(get_instance().uploaded_file_mgr.get_files(session, [file]))


@asynccontextmanager
async def _without_our_rooms_on_the_path(_: object) -> AsyncIterator[None]:
    """The framework puts the folder of the command first on the path, where our room of statistics hides Python's."""
    rooms = Path(__file__).resolve().parents[1]
    sys.path[:] = [entry for entry in sys.path if Path(entry or ".").resolve() != rooms]
    yield


def names_of(hosts: Sequence[str]) -> list[str]:
    """The names by which a browser may ask for this server.

    Any other name was made to point here by somebody else, so that his page counts as ours (DNS rebinding).
    """
    name = socket.gethostname().lower()
    return [*hosts, ADDRESS, "localhost", name, f"{name}.local"]

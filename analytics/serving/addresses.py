"""Where the dashboard listens, and by which names a browser may ask for it."""

import errno
import ipaddress
import os
import socket
from collections.abc import Sequence
from contextlib import suppress

from analytics.errors import BadInput, Refused

ADDRESS = "127.0.0.1"
EVERY_ADDRESS = "0.0.0.0"  # listened on only when asked for, and behind a passphrase
FIRST_PORT, LAST_PORT = 8760, 8799
# Reserved for documentation (RFC 5737): asking which of our addresses would be used towards it sends nothing.
NOWHERE = "192.0.2.1"


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


def listening_socket(asked: int | None = None, address: str = ADDRESS) -> socket.socket:
    """A socket that listens at the port that was asked for, else at the first free one of ours.

    It names its protocol, so that the server lets each of its connections send small messages at once. Otherwise a
    message waits until the browser says that the one before it has arrived, which takes 40 ms.

    Raises Refused when it, or all, are taken, and when the address is not one of this machine.
    """
    candidates = range(FIRST_PORT, LAST_PORT + 1) if asked is None else (asked,)
    for port in candidates:
        own = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        if os.name == "posix":  # elsewhere it would let two programs have one port
            own.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            own.bind((address, port))
            own.listen()
        except OSError as problem:
            own.close()
            if problem.errno == errno.EADDRNOTAVAIL:
                has = " and ".join((ADDRESS, *own_addresses()))
                raise Refused(f"serve: {address} is not an address of this machine. It has {has}.") from problem
            continue
        return own
    taken = f"port {asked} is" if asked is not None else f"ports {FIRST_PORT} to {LAST_PORT} are"
    raise Refused(f"{taken} in use by another program. Close it, or name another with --port.")


def names_of(hosts: Sequence[str]) -> list[str]:
    """The names by which a browser may ask for this server.

    Any other name was made to point here by somebody else, so that his page counts as ours (DNS rebinding).
    """
    name = socket.gethostname().lower()
    return [*hosts, ADDRESS, "localhost", name, f"{name}.local"]

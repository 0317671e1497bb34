"""Commands that serve the dashboard, and set what others must give to open it."""

import getpass
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated

import typer

from analytics.commands.common import Port, Records, app, say
from analytics.errors import BadInput, Refused
from analytics.serving.addresses import ADDRESS


@app.command()
def serve(
    address: Annotated[
        str, typer.Option(help="Address of this machine to serve others from, once a passphrase is set.")
    ] = ADDRESS,
    records: Records = None,
    port: Port = None,
) -> None:
    """Serve the dashboard until Ctrl-C. To this machine alone, or to others who know a passphrase."""
    from analytics.serving.one_pool import give_memory_back, share_one_pool

    share_one_pool()  # before the libraries are loaded, which begin threads
    give_memory_back()
    from analytics.serving.server import serve as serve_dashboard
    from analytics.storage.database import open_records, records_path

    path = records_path(records)
    with open_records(path, create=True):
        pass
    try:
        serve_dashboard(path, address=address, port=port, announce=announce)
    finally:  # what was typed last and not saved may still be in the log beside the file
        with suppress(Refused), open_records(path):
            pass


@app.command()
def passphrase(
    remove: Annotated[
        bool, typer.Option("--remove", help="Remove them. Only this machine can open the dashboard then.")
    ] = False,
    records: Records = None,
) -> None:
    """Set the passphrases that others must give. One is to look, and if you want, another is to write."""
    from analytics.serving.passphrases import SHORTEST, remove_passphrases, set_passphrases
    from analytics.storage.database import open_records, records_path

    path = records_path(records)
    if remove:
        say("The passphrases are removed." if remove_passphrases(path) else "No passphrase was set.")
        return
    if not sys.stdin.isatty():
        raise Refused(
            "passphrase: not typed at a terminal. It is taken only from the keyboard, so that no file or history "
            "keeps it."
        )
    with open_records(path, create=True):
        pass
    say(f"At least {SHORTEST} characters each; what is typed is not shown. Ctrl-C leaves everything as it was.")
    looking = typed_twice("Passphrase for looking")
    writing = typed_twice("Passphrase for writing (Enter: nobody writes from elsewhere)") or None
    set_passphrases(path, looking=looking, writing=writing)
    say("Kept, as hashes only. Sessions opened with an earlier passphrase are closed now.")


def typed_twice(words: str) -> str:
    """What is typed at the terminal, unseen, twice the same; an empty one is asked for once."""
    first = getpass.getpass(f"{words}: ")
    if first and getpass.getpass("The same again: ") != first:
        raise BadInput("passphrase: the two were not the same. Nothing was changed; start again.")
    return first


def announce(addresses: Sequence[str], is_for_others: bool) -> None:
    """Where the dashboard is, and for whom."""
    if not is_for_others:
        say(f"\nOpen {addresses[0]} in a browser. Only this machine can. Ctrl-C ends it.")
        return
    say(f"\nOpen {' or '.join(addresses)} in a browser on this network; the passphrase is asked for. Ctrl-C ends it.")
    say("Nothing is encrypted on the way: others on this network could read what is typed and shown, passphrases too.")
    say("Serve like this only on a network you trust.")

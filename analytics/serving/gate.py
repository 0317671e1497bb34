"""The gate before everything the dashboard's server answers: whoever has not given a passphrase gets one small page.

Page files, uploads and messages lie behind it, so nothing can be left in the memory and nothing be learnt from outside.
Who was let in carries a cookie with a random ticket; what it opens is kept here and ends with the server.
"""

import asyncio
import html
import math
import re
import secrets
from collections import OrderedDict
from collections.abc import Awaitable, Callable, MutableMapping
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

from analytics.errors import StandrowError
from analytics.serving.passphrases import (
    LONGEST,
    Kept,
    Outcome,
    Tries,
    find_passphrase,
    right_of,
)
from analytics.trade.numbers_as_text import count

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Answerer = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "standrow_ticket"
DOOR, HEALTH = "/door", "/_stcore/health"
UPLOADS = "/_stcore/upload_file/"
LONGEST_PATH = 500
LONGEST_FORM = 12 * (LONGEST + LONGEST_PATH)  # bytes; each letter takes up to 12 in a form
MOST_ADDRESSES = 1000  # whose wrong tries are remembered; the longest unseen is forgotten first
MOST_TICKETS = 1000
NOT_ENCRYPTED = (
    "What is typed and shown here is not encrypted: others on the same network could read it. Use it only on a network "
    "you trust."
)
PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>What is the passphrase?</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>body{{font:1rem/1.5 system-ui,sans-serif;color:#1a1a1a;margin:2rem auto;max-width:34rem;padding:0 1rem}}
input,button{{font:inherit;padding:.5rem;margin:.25rem 0;width:100%;box-sizing:border-box}}
button{{background:#0072b2;color:#fff;border:0}}[role=alert]{{font-weight:bold}}</style></head>
<body><main><h1>What is the passphrase?</h1><p>Only people with the passphrase can see these records.</p>{said}
<form method="post" action="{door}"><label for="p">Passphrase</label>
<input type="hidden" name="to" value="{to}">
<input id="p" name="passphrase" type="password" autocomplete="current-password" autofocus required>
<button>Open</button></form><p><small>{caution}</small></p></main></body></html>"""

# What each ticket opens; of the module and so of the server, for the page to ask what a session may do.
_tickets: OrderedDict[str, Kept] = OrderedDict()


def kept_of(ticket: str) -> Kept | None:
    """The passphrase that was given for a ticket; nothing for one that this server did not hand out."""
    return _tickets.get(ticket)


class Gate:
    """Before an ASGI application: lets in who has a ticket, and hands one out for a passphrase.

    Wrong tries are counted by address, so that nobody elsewhere can keep out who sits at this machine.
    most_bytes : of the files that one session may have in the memory at a time
    is_held : whether the server still has a file of a session in its memory, by the name of the session and the file's
    """

    def __init__(self, app: Answerer, *, records: Path, most_bytes: int, is_held: Callable[[str, str], bool]) -> None:
        self._app, self._records, self._most_bytes, self._is_held = app, records, most_bytes, is_held
        self._tries: OrderedDict[str, Tries] = OrderedDict()
        self._uploaded: dict[tuple[str, str], int] = {}  # bytes, by session and file
        self._coming: set[tuple[str, str]] = set()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request, or one websocket."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http" and scope["path"] == DOOR and scope["method"] in ("GET", "POST"):
            # Also for who is inside: one who may look comes back to give the passphrase for writing.
            await (self._try(scope, receive, send) if scope["method"] == "POST" else _ask(send, HTTPStatus.OK, to="/"))
        elif self._is_let_in(scope):
            await self._inside(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        elif scope["path"] == HEALTH and scope["method"] == "GET":
            await _answer(send, HTTPStatus.OK, "ok", kind="text/plain")
        elif scope["method"] in ("GET", "HEAD") and "text/html" in _header(scope, b"accept"):
            query = scope.get("query_string", b"").decode("latin-1")
            await _ask(send, HTTPStatus.UNAUTHORIZED, to=f"{scope['path']}{'?' if query else ''}{query}")
        else:
            await _answer(send, HTTPStatus.UNAUTHORIZED, "", kind="text/plain")

    def _is_let_in(self, scope: Scope) -> bool:
        try:
            cookies = SimpleCookie(_header(scope, b"cookie"))
            kept = kept_of(cookies[COOKIE].value) if COOKIE in cookies else None
            return kept is not None and right_of(self._records, kept) is not None
        except (CookieError, StandrowError):
            return False

    async def _inside(self, scope: Scope, receive: Receive, send: Send) -> None:
        """To the application, unless a session brings more than it may at a time."""
        path = scope["path"]
        if scope["type"] != "http" or not path.startswith(UPLOADS) or scope["method"] not in ("PUT", "POST"):
            await self._app(scope, receive, send)
            return
        session, _, file = path.removeprefix(UPLOADS).partition("/")
        size = _header(scope, b"content-length")
        if not re.fullmatch(r"[0-9]{1,15}", size) or self._bytes_of(session) + int(size) > self._most_bytes:
            await _answer(send, HTTPStatus.REQUEST_ENTITY_TOO_LARGE, "", kind="text/plain")
            return
        self._uploaded[session, file] = int(size)
        self._coming.add((session, file))
        try:
            await self._app(scope, receive, send)
        finally:
            self._coming.discard((session, file))

    def _bytes_of(self, session: str) -> int:
        """What the files of a session take; those that were given back are forgotten, of whichever session."""
        self._uploaded = {
            key: size for key, size in self._uploaded.items() if key in self._coming or self._is_held(*key)
        }
        return sum(size for (of, _), size in self._uploaded.items() if of == session)

    async def _try(self, scope: Scope, receive: Receive, send: Send) -> None:
        # "null" comes from our own page too, which is told to say to nobody where it is from.
        origin, host = (_header(scope, name) for name in (b"origin", b"host"))
        if origin not in ("", "null") and origin.partition("://")[2] != host:  # another server's page
            await _answer(send, HTTPStatus.FORBIDDEN, "", kind="text/plain")
            return
        form = await _form(receive)
        typed, to = form.get("passphrase", ""), _path_of_ours(form.get("to", "/"))
        if not typed.strip():
            await _ask(send, HTTPStatus.UNAUTHORIZED, to=to)
            return
        tries = self._tries_of(str((scope.get("client") or ("",))[0]))
        try:
            # Not on the loop that all others wait for: comparing takes a quarter of a second, on purpose.
            outcome = await asyncio.to_thread(tries.attempt, lambda: find_passphrase(self._records, typed))
        except StandrowError as problem:
            await _ask(send, HTTPStatus.UNAUTHORIZED, str(problem), to=to)
            return
        if outcome.found is None:
            await _ask(send, HTTPStatus.UNAUTHORIZED, _refused(outcome), to=to)
            return
        ticket = secrets.token_urlsafe(32)
        _tickets[ticket] = outcome.found
        while len(_tickets) > MOST_TICKETS:
            _tickets.popitem(last=False)
        cookie = f"{COOKIE}={ticket}; HttpOnly; SameSite=Strict; Path=/"
        await _answer(send, HTTPStatus.SEE_OTHER, "", location=to, cookie=cookie)

    def _tries_of(self, address: str) -> Tries:
        tries = self._tries.setdefault(address, Tries())
        self._tries.move_to_end(address)
        while len(self._tries) > MOST_ADDRESSES:
            self._tries.popitem(last=False)
        return tries


def _refused(outcome: Outcome) -> str:
    if outcome.tries_left:
        left = f"{outcome.tries_left} more {'try' if outcome.tries_left == 1 else 'tries'}"
        return f"That is not the passphrase. You have {left} without waiting."
    return f"Too many wrong tries. Wait {count(math.ceil(outcome.wait_seconds), 'second')}, then try again."


def _path_of_ours(given: str) -> str:
    """A place on this server to go on to; its first page for anything else."""
    is_ours = re.fullmatch(r"/(?![/\\])[\w/?=&%.~+-]*", given, flags=re.ASCII)
    return given if is_ours and len(given) <= LONGEST_PATH else "/"


async def _form(receive: Receive) -> dict[str, str]:
    """What was typed into the form; nothing of one that is too long to be ours."""
    body = b""
    while True:
        message = await receive()
        body += message.get("body", b"")
        if len(body) > LONGEST_FORM or message["type"] == "http.disconnect":
            return {}
        if not message.get("more_body"):
            fields = parse_qs(body.decode("utf-8", errors="replace"))
            return {name: values[0] for name, values in fields.items()}


def _header(scope: Scope, name: bytes) -> str:
    found = next((value for key, value in scope["headers"] if key == name), b"")
    return bytes(found).decode("latin-1")


async def _ask(send: Send, status: HTTPStatus, said: str = "", *, to: str) -> None:
    words = f'<p role="alert">{html.escape(said)}</p>' if said else ""
    await _answer(
        send, status, PAGE.format(said=words, door=DOOR, to=html.escape(_path_of_ours(to)), caution=NOT_ENCRYPTED)
    )


async def _answer(
    send: Send, status: HTTPStatus, text: str, *, kind: str = "text/html", location: str = "", cookie: str = ""
) -> None:
    headers = [
        (b"content-type", f"{kind}; charset=utf-8".encode()),
        (b"cache-control", b"no-store"),
        (b"x-content-type-options", b"nosniff"),
        (b"referrer-policy", b"no-referrer"),
        (b"content-security-policy", b"default-src 'none'; style-src 'unsafe-inline'; form-action 'self'"),
    ]
    headers += [(b"location", location.encode())] if location else []
    headers += [(b"set-cookie", cookie.encode())] if cookie else []
    await send({"type": "http.response.start", "status": int(status), "headers": headers})
    await send({"type": "http.response.body", "body": text.encode()})

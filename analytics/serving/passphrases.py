"""Passphrases for a dashboard that other machines can open: one for looking, one for writing, kept only as hashes.

A passphrase is asked for in the page itself, so wrong tries are counted for the whole server and not for a browser,
which could simply come back as another one.
"""

import hashlib
import hmac
import json
import os
import secrets
import tempfile
import threading
import time
import unicodedata
from collections.abc import Callable
from dataclasses import asdict, dataclass
from enum import StrEnum
from pathlib import Path

from analytics.errors import BadInput, Refused

SHORTEST, LONGEST = 12, 200  # characters; our own choice: four short words are more than twelve
# 32 MiB and about a quarter of a second for a try. From memory: the OWASP cheat sheet on storing passwords names
# n = 2^15, r = 8, p = 3 as one of its least settings for scrypt.
N, R, P = 2**15, 8, 3
POWERS = tuple(2**power for power in range(1, 21))  # what n may be
MOST_BLOCKS = 2**20  # n times r, of 128 bytes each: 128 MiB for a try
HASH_BYTES, SALT_BYTES = 32, 16
FREE_TRIES = 5
FIRST_WAIT_SECONDS, LONGEST_WAIT_SECONDS = 10, 900  # doubled with each wrong try in between
FORGOTTEN_AFTER_SECONDS = 3600


class Right(StrEnum):
    """What a passphrase opens. Who may write may look."""

    LOOKING = "looking"
    WRITING = "writing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A passphrase as kept: never itself, only what scrypt makes of it with this salt and these costs."""

    salt: bytes
    n: int
    r: int
    p: int
    hash: bytes


def scrypt(typed: str, *, salt: bytes, n: int, r: int, p: int, length: int = HASH_BYTES) -> bytes:
    """What scrypt makes of a passphrase, `length` bytes.

    The same letters count as the same however a keyboard composes them, and blanks around them do not count.
    Source of the function: RFC 7914.
    """
    plain = unicodedata.normalize("NFKC", typed).strip().encode("utf-8")
    return hashlib.scrypt(plain, salt=salt, n=n, r=r, p=p, maxmem=128 * r * (n + p + 2), dklen=length)


def passphrases_path(records: Path) -> Path:
    """Where the passphrases of the records at that path are kept."""
    return records.with_name(f"{records.name}.passphrases")


def set_passphrases(records: Path, *, looking: str, writing: str | None) -> None:
    """Keep these passphrases instead of the ones before; without one for writing nobody writes from elsewhere.

    Raises BadInput for one that is too short or long, or for two that are alike; Refused when it cannot be kept.
    """
    for right, typed in ((Right.LOOKING, looking), (Right.WRITING, writing)):
        if typed is not None and not SHORTEST <= len(typed.strip()) <= LONGEST:
            raise BadInput(
                f"passphrase for {right}: {len(typed.strip())} characters given; allowed {SHORTEST} to {LONGEST}. "
                "A few words that mean something to you alone are easy to remember."
            )
        if typed is not None and any(unicodedata.category(letter) in ("Cs", "Cc") for letter in typed):
            raise BadInput(
                f"passphrase for {right}: letters that this terminal could not read, or control characters, given; "
                "allowed letters, digits, signs and blanks."
            )
    kept = {Right.LOOKING: _keep(looking)}
    if writing is not None:
        if _is(writing, kept[Right.LOOKING]):
            raise BadInput("passphrase for writing: the one for looking given; allowed another one. Choose two.")
        kept[Right.WRITING] = _keep(writing)
    _write(
        passphrases_path(records), json.dumps({right: asdict(one) for right, one in kept.items()}, default=bytes.hex)
    )


def remove_passphrases(records: Path) -> bool:
    """Forget the passphrases; whether there were any. From then on only this machine can be served."""
    path = passphrases_path(records)
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as problem:
        raise Refused(f"{path}: cannot be removed ({problem.strerror}). See that it is yours.") from problem
    return True


def read_passphrases(records: Path) -> dict[Right, Kept]:
    """The passphrases as kept, by what they open; empty when none were set. Raises Refused for an unreadable file."""
    path = passphrases_path(records)
    try:
        kept = json.loads(path.read_text(encoding="utf-8"))
        return {Right(right): _as_kept(**one) for right, one in kept.items()}
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, TypeError, AttributeError, ArithmeticError, RecursionError) as problem:
        raise Refused(f"{path}: the passphrases cannot be read. Set them anew: standrow passphrase") from problem


def find_passphrase(records: Path, typed: str) -> Kept | None:
    """The kept passphrase that was typed. Every one is compared, so that the time taken does not tell which."""
    found = [one for one in read_passphrases(records).values() if _is(typed[:LONGEST], one)]
    return found[0] if found else None


def right_of(records: Path, kept: Kept | None) -> Right | None:
    """What a passphrase given before opens now; nothing once it was changed or removed."""
    return next((right for right, one in read_passphrases(records).items() if one == kept), None)


def _keep(typed: str) -> Kept:
    salt = secrets.token_bytes(SALT_BYTES)
    return Kept(salt=salt, n=N, r=R, p=P, hash=scrypt(typed, salt=salt, n=N, r=R, p=P))


def _as_kept(*, salt: str, n: int, r: int, p: int, hash: str) -> Kept:  # noqa: A002  # as the file names it
    kept = Kept(salt=bytes.fromhex(salt), n=int(n), r=int(r), p=int(p), hash=bytes.fromhex(hash))
    is_within = kept.n in POWERS and kept.r > 0 and kept.n * kept.r <= MOST_BLOCKS and 0 < kept.p <= 16
    if not (is_within and len(kept.hash) == HASH_BYTES):
        raise ValueError("costs that no passphrase was kept with")
    return kept


def _is(typed: str, kept: Kept) -> bool:
    return hmac.compare_digest(scrypt(typed, salt=kept.salt, n=kept.n, r=kept.r, p=kept.p), kept.hash)


def _write(path: Path, text: str) -> None:
    """The file under its name only once it is whole, and the owner's alone from its first byte on."""
    try:
        number, name = tempfile.mkstemp(dir=path.parent, prefix=f"{path.name}-")  # mode 0600, whatever the umask
        try:
            with os.fdopen(number, "w", encoding="utf-8") as file:
                file.write(text)
            Path(name).replace(path)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as problem:
        raise Refused(f"{path}: the passphrases cannot be kept there ({problem.strerror}).") from problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of a try: the passphrase found, or the seconds to wait and how many tries are left before waiting."""

    found: Kept | None = None
    wait_seconds: float = 0.0
    tries_left: int = 0


class Tries:
    """The wrong tries on one server, from whatever browser. Five are free; after that each one has to wait longer.

    A right passphrase does not clear them: who may look could otherwise guess at the one for writing without end.
    They are forgotten when an hour has passed since the last one.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._wrong = 0
        self._last_wrong_at = 0.0
        self._one_at_a_time = threading.Lock()

    def attempt(self, find: Callable[[], Kept | None]) -> Outcome:
        """Make a try unless one has to wait. One at a time: many at once would all be let in before any counts."""
        with self._one_at_a_time:
            now = self._clock()
            if now - self._last_wrong_at > FORGOTTEN_AFTER_SECONDS:
                self._wrong = 0
            if (wait := self._last_wrong_at + self._wait_after(self._wrong) - now) > 0:
                return Outcome(wait_seconds=wait)
            found = find()
            if found is not None:
                return Outcome(found=found)
            self._wrong += 1
            self._last_wrong_at = self._clock()
            return Outcome(wait_seconds=self._wait_after(self._wrong), tries_left=max(FREE_TRIES - self._wrong, 0))

    @staticmethod
    def _wait_after(wrong: int) -> float:
        if wrong < FREE_TRIES:
            return 0.0
        return float(min(FIRST_WAIT_SECONDS * 2 ** min(wrong - FREE_TRIES, 20), LONGEST_WAIT_SECONDS))

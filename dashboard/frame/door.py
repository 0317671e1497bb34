"""Who may come in: asked for a passphrase where other machines can reach the dashboard, and nothing shown before."""

import ipaddress
import math

import streamlit as st

from analytics.serving.gate import COOKIE, DOOR, kept_of
from analytics.serving.passphrases import Right, Tries, find_passphrase, read_passphrases, right_of
from analytics.storage.database import records_path
from analytics.trade.numbers_as_text import count
from dashboard.frame import headings

GIVEN = "passphrase_given"  # in the session: the kept passphrase that opened it
# Of the module and so of the server, not of a browser; nor in Streamlit's cache, which a browser can empty.
TRIES = Tries()
LOOKING_ONLY = "You may look; nothing can be changed from here."
HOW_TO_WRITE = f"To change something, open {DOOR} at this address and give the passphrase for writing."
NONE_FOR_WRITING = "There is no passphrase for writing; changes are made on the machine that holds the records."


def right() -> Right | None:
    """What this session may do: everything where only this machine is served, else what its passphrase opens."""
    if _only_this_machine():
        return Right.WRITING
    kept = st.session_state.get(GIVEN) or kept_of(st.context.cookies.get(COOKIE, ""))
    return right_of(records_path(), kept)


def looking_only_words() -> str:
    """What a session is told that may only look."""
    can_write = Right.WRITING in read_passphrases(records_path())
    return f"{LOOKING_ONLY} {HOW_TO_WRITE if can_write else NONE_FOR_WRITING}"


def guard() -> None:
    """Ask for the passphrase, and stop, until it was given."""
    if right() is not None:
        return
    headings.of_screen("What is the passphrase?")
    if not read_passphrases(records_path()):
        st.error("Other machines may look only with a passphrase, and none is set. Set it first: standrow passphrase")
        st.stop()
    st.markdown("Give the passphrase to see these records.")
    with st.form("door", clear_on_submit=True):
        typed = st.text_input("Passphrase", type="password", autocomplete="current-password", key="passphrase")
        is_asked = st.form_submit_button("Open", type="primary")
    if is_asked and typed.strip():
        _try(typed)
    st.caption(
        "What is typed and shown here is not encrypted: others on the same network could read it. "
        "Use it only on a network you trust."
    )
    st.stop()


def _try(typed: str) -> None:
    records = records_path()
    outcome = TRIES.attempt(lambda: find_passphrase(records, typed))
    if outcome.found is not None:
        st.session_state[GIVEN] = outcome.found
        st.rerun()
    if outcome.tries_left:
        left = f"{outcome.tries_left} more {'try' if outcome.tries_left == 1 else 'tries'}"
        st.error(f"That is not the passphrase. You have {left} without waiting.")
    else:
        wait = count(math.ceil(outcome.wait_seconds), "second")
        st.error(f"Too many wrong tries. Wait {wait}, then try again.")


def _only_this_machine() -> bool:
    """Whether the server listens for this machine alone. Streamlit listens on every address when none is named."""
    try:
        return ipaddress.ip_address(st.get_option("server.address") or "").is_loopback
    except ValueError:
        return False

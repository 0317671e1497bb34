"""What lies below the window is worked out, sent and drawn once somebody scrolls, or after a second.

Until then a button stands there. The page presses it by itself (rest_of_screen.js, which comes with every page that the
server hands out), so nobody has to; where the page cannot, everybody can.
"""

import streamlit as st

STYLE = ".st-key-rest { min-height: 100vh; }"  # there is more: the bar at the side says so, and one can scroll to it
ON, IS_WHOLE = "screen that is shown", "screen is whole"


def now_on(screen: str) -> None:
    """Told at each run which screen is shown: another one than before begins at its top again."""
    if st.session_state.get(ON) != screen:
        st.session_state[ON], st.session_state[IS_WHOLE] = screen, False


def is_whole() -> bool:
    """Whether this run draws all of the screen; else a long table may be cut where it leaves the window."""
    return bool(st.session_state[IS_WHOLE]) or st.context.url is None


def leave_the_rest_for_later(*, in_form: bool = False) -> None:
    """End the run here until the rest of the screen is wanted; it then stays until the screen is left.

    Called below what a window of about a thousand pixels holds. Without a browser there is no window: all is drawn.

    in_form : what was typed in the form so far stays typed
    """
    if is_whole():
        return
    button = st.form_submit_button if in_form else st.button
    with st.container(key="rest"):
        button("Show the rest of this screen", key="show_rest", type="tertiary", on_click=_make_whole)
    st.stop()


def _make_whole() -> None:
    st.session_state[IS_WHOLE] = True

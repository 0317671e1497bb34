"""What is folded on a screen is worked out and drawn only once somebody unfolds it."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator


def unfolded(label: str, *, key: str) -> DeltaGenerator | None:
    """A folded part of the screen to draw in; None until it was unfolded once in this session.

    Folded again it goes on being drawn, so that nothing typed in it is lost.
    """
    part, was_unfolded = st.expander(label, key=key, on_change="rerun"), f"unfolded {key}"
    if part.open:
        st.session_state[was_unfolded] = True
    return part if was_unfolded in st.session_state else None

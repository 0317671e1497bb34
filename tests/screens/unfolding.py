"""Unfolds what a screen works out only once it is looked at."""

from streamlit.runtime.state.common import user_key_from_element_id
from streamlit.testing.v1 import AppTest


def unfolded(app: AppTest, *keys: str) -> AppTest:
    """The screen with these parts unfolded, or with all that it has."""
    told = [user_key_from_element_id(part.proto.id) for part in app.expander if part.proto.id]
    for key in keys or filter(None, told):
        assert key in told
        app.session_state[key] = True
    return app.run()

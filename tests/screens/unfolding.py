"""Unfolds what a screen works out only once it is looked at."""

from streamlit.runtime.state.common import user_key_from_element_id
from streamlit.testing.v1 import AppTest


def can_be_unfolded(app: AppTest) -> set[str]:
    """The keys of the folded parts that the screen tells of."""
    return {
        key for part in app.expander if part.proto.id and (key := user_key_from_element_id(part.proto.id)) is not None
    }


def unfolded(app: AppTest, *keys: str) -> AppTest:
    """The screen with these parts unfolded, or with all that it has."""
    there = can_be_unfolded(app)
    assert there >= {*keys}
    for key in keys or there:
        app.session_state[key] = True
    return app.run() if keys or there else app

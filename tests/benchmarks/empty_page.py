"""The yardstick of every screen: a page of the same framework with a title, served with the same options.

Asked for ?echo=1 it has a box too, and says what was typed in it: the yardstick of typing.

python -m tests.benchmarks.empty_page --port 8899
"""

import sys
from pathlib import Path

import streamlit as st
from streamlit import runtime

TITLE = "Nothing here"


def serve(port: int) -> None:
    """Serve this file as a page until it is ended."""
    from analytics.serving.server import OPTIONS

    st.App(Path(__file__)).run(config=OPTIONS | {"server.address": "127.0.0.1", "server.port": port})


if __name__ == "__main__" and not runtime.exists():  # the server runs this same file as its page
    serve(int(sys.argv[sys.argv.index("--port") + 1]))
else:
    st.title(TITLE)
    if "echo" in st.query_params:
        st.markdown(f"You typed {st.text_input('Type something', key='typed')}")

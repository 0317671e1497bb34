"""A session without a browser: asks the server for a screen and waits until it is all there, as a browser would."""

from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from time import perf_counter

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import ClientConnection, connect

LONGEST_SECONDS = 120


class Session:
    """One open page."""

    def __init__(self, socket: ClientConnection) -> None:
        self._socket = socket
        self.errors: list[str] = []
        self.screen = ""
        self.choices: dict[str, list[str]] = {}  # of the last screen: each list to choose from, by its number

    def seconds(self, screen: str = "", query: str = "", chosen: Mapping[str, str] | None = None) -> float:
        """How long the server takes from the asking until the screen is finished; `chosen` is picked on it."""
        asked = BackMsg()
        for number, option in (chosen or {}).items():
            asked.rerun_script.widget_states.widgets.add(id=number, string_value=option)
        self.screen, self.choices = screen, {}
        asked.rerun_script.page_name = screen
        asked.rerun_script.query_string = query
        start = perf_counter()
        self._socket.send(asked.SerializeToString())
        for message in self._messages():
            if message.WhichOneof("type") == "delta":
                element = message.delta.new_element
                kind = element.WhichOneof("type")
                if kind == "exception":
                    self.errors.append(element.exception.message)
                if kind in ("selectbox", "radio"):
                    control = getattr(element, kind)
                    if control.options:
                        self.choices[control.id] = list(control.options)
            if message.WhichOneof("type") == "script_finished":
                return perf_counter() - start
        raise AssertionError("the server closed the session")

    def _messages(self) -> Iterator[ForwardMsg]:
        while True:
            yield ForwardMsg.FromString(self._socket.recv(timeout=LONGEST_SECONDS))


@contextmanager
def session(port: int) -> Iterator[Session]:
    """One open page, until the end of the block."""
    address = f"ws://127.0.0.1:{port}/_stcore/stream"
    with connect(address, subprotocols=["streamlit"], max_size=None, open_timeout=LONGEST_SECONDS) as socket:  # type: ignore[list-item]
        yield Session(socket)


@contextmanager
def sessions(port: int, count: int) -> Iterator[list[Session]]:
    """So many open pages at once."""
    with ExitStack() as opened:
        yield [opened.enter_context(session(port)) for _ in range(count)]

"""A session without a browser: asks the server for a screen and waits until it is all there, as a browser would."""

from collections.abc import Iterator
from contextlib import contextmanager
from time import perf_counter
from types import TracebackType

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import connect

LONGEST_SECONDS = 120


class Session:
    """One open page, until the end of its block."""

    def __init__(self, port: int) -> None:
        address = f"ws://127.0.0.1:{port}/_stcore/stream"
        self._socket = connect(address, subprotocols=["streamlit"], max_size=None, open_timeout=LONGEST_SECONDS)  # type: ignore[list-item]
        self.errors: list[str] = []

    def __enter__(self) -> "Session":
        return self

    def __exit__(self, kind: type[BaseException] | None, problem: BaseException | None, where: TracebackType | None):
        self._socket.close()

    def seconds(self, screen: str = "", query: str = "") -> float:
        """How long the server takes from the asking until the screen is finished."""
        asked = BackMsg()
        asked.rerun_script.page_name = screen
        asked.rerun_script.query_string = query
        start = perf_counter()
        self._socket.send(asked.SerializeToString())
        for message in self._messages():
            if message.WhichOneof("type") == "delta":
                element = message.delta.new_element
                if element.WhichOneof("type") == "exception":
                    self.errors.append(element.exception.message)
            if message.WhichOneof("type") == "script_finished":
                return perf_counter() - start
        raise AssertionError("the server closed the session")

    def _messages(self) -> Iterator[ForwardMsg]:
        while True:
            yield ForwardMsg.FromString(self._socket.recv(timeout=LONGEST_SECONDS))


@contextmanager
def sessions(port: int, count: int) -> Iterator[list[Session]]:
    """So many open pages at once."""
    opened = [Session(port) for _ in range(count)]
    try:
        yield opened
    finally:
        for one in opened:
            one.__exit__(None, None, None)

"""The dashboard's server, looked at from outside: where it listens, whom it answers, and what it says beforehand."""

import asyncio
import os
import re
import signal
import socket
import sys
import time
from collections.abc import Callable, Coroutine, Iterator, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

import pytest
import streamlit
from streamlit import config

from analytics.errors import BadInput, Refused
from analytics.serving import passphrases
from analytics.serving import server as serving
from analytics.serving.addresses import (
    checked_address,
    is_for_this_machine_alone,
    listening_socket,
    names_of,
    own_addresses,
)
from analytics.serving.gate import COOKIE, Gate, _tickets
from analytics.serving.passphrases import find_passphrase, passphrases_path, set_passphrases
from analytics.serving.screen_pages import screen_pages
from analytics.storage.checkpoints import log_of
from analytics.storage.database import open_records
from analytics.storage.drafts import DraftPlace, all_drafts, keep_draft
from tests.browser.server import Server, running
from tests.browser.server import serving as started
from tests.command import command
from tests.prepared import begun, copied

LOOKING, WRITING = "grey owl on the east gate", "rain again before the lentils"
NOT_OURS = "198.51.100.7"  # reserved for documentation, RFC 5737


@pytest.fixture(scope="module")
def folder(demo_records: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two copies of the demo farm, one of them with passphrases."""
    folder = tmp_path_factory.mktemp("served")
    for name in ("alone", "shared"):
        (folder / name).mkdir()
        copied(demo_records, folder / name / "records.duckdb")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(passphrases, "N", 2)  # what hashing costs is tested elsewhere
        set_passphrases(folder / "shared" / "records.duckdb", looking=LOOKING, writing=WRITING)
    return folder


@pytest.fixture(scope="module")
def outside() -> Iterator[socket.socket]:
    """What the server would have to go through to reach the internet; whoever connects to it is noticed."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        listener.settimeout(0.2)
        yield listener


@pytest.fixture(scope="module")
def alone(folder: Path, outside: socket.socket) -> Iterator[Server]:
    """`standrow serve` as it starts by itself."""
    way_out = f"http://127.0.0.1:{outside.getsockname()[1]}"
    with started(folder / "alone" / "records.duckdb", http_proxy=way_out, https_proxy=way_out) as server:
        yield server


@pytest.fixture(scope="module")
def shared(folder: Path) -> Iterator[Server]:
    """`standrow serve` for other machines too."""
    with started(folder / "shared" / "records.duckdb", "--address", "0.0.0.0") as server:
        yield server


def ticket(server: Server, passphrase: str = LOOKING, **headers: str) -> dict[str, str]:
    """The cookie that the gate hands out for a passphrase, as a header."""
    asking = HTTPConnection("127.0.0.1", server.port, timeout=30)
    asking.request("POST", "/door", body=urlencode({"passphrase": passphrase, "to": "/gaps?x=1"}), headers=headers)
    answer = asking.getresponse()
    assert (answer.status, answer.getheader("Location")) == (303, "/gaps?x=1")
    cookie = str(answer.getheader("Set-Cookie"))
    asking.close()
    assert cookie.endswith("; HttpOnly; SameSite=Strict; Path=/")
    return {"Cookie": cookie.split(";")[0]}


def awaited(work: Coroutine[object, object, object]) -> object:
    """What comes of it, run in a thread of its own: a browser test before this one leaves its loop running in ours."""
    with ThreadPoolExecutor(1) as apart:
        return apart.submit(asyncio.run, work).result()


def eventually(is_so: Callable[[], bool]) -> bool:
    """Whether it comes to be so within half a minute."""
    give_up_at = time.monotonic() + 30
    while not is_so() and time.monotonic() < give_up_at:
        time.sleep(0.1)
    return is_so()


def listening(server: Server) -> set[str]:
    """The addresses on which a process listens, as the kernel tells: IPv4 as 127.0.0.1, any IPv6 one as "IPv6"."""
    if not Path("/proc/net/tcp").exists():
        pytest.skip("this system does not tell in /proc who listens where")
    sockets = {link.readlink().name for link in Path(f"/proc/{server.pid}/fd").iterdir() if link.is_symlink()}
    found = set()
    for name, is_new in (("tcp", False), ("tcp6", True)):
        for line in Path(f"/proc/{server.pid}/net/{name}").read_text().splitlines()[1:]:
            part = line.split()
            if part[3] == "0A" and f"socket:[{part[9]}]" in sockets:  # 0A: listening
                number = part[1].split(":")[0]
                found.add("IPv6" if is_new else socket.inet_ntoa(bytes.fromhex(number)[::-1]))
    return found


def can_connect(address: str, port: int) -> bool:
    with socket.socket() as attempt:
        attempt.settimeout(5)
        return attempt.connect_ex((address, port)) == 0


# --- where it listens


def test_by_default_the_process_listens_on_this_machines_own_address_alone(alone: Server) -> None:
    assert listening(alone) == {"127.0.0.1"}


@pytest.mark.parametrize("address", ["127.0.0.2", *own_addresses()])
def test_by_default_a_connection_to_another_address_of_the_machine_is_refused(alone: Server, address: str) -> None:
    assert can_connect("127.0.0.1", alone.port)
    assert not can_connect(address, alone.port)


def test_on_request_it_listens_for_others_too(shared: Server) -> None:
    assert listening(shared) == {"0.0.0.0"}
    assert all(can_connect(address, shared.port) for address in own_addresses())


def test_the_page_of_each_screen_is_the_frameworks_and_told_where_its_server_is() -> None:
    frameworks = (Path(streamlit.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
    dashboard = serving.DASHBOARD.parent
    routes = screen_pages(dashboard)
    screens = (screen for screen in (dashboard / "screens").iterdir() if screen.is_file())
    assert {route.path for route in routes} == {"/", *(f"/{screen.stem}" for screen in screens)}
    page = bytes(awaited(routes[0].endpoint(None)).body).decode()
    told = "<script>window.__streamlit = {BACKEND_BASE_URL: window.location.origin}</script>"
    script = f"<script>{(dashboard / 'frame' / 'rest_of_screen.js').read_text(encoding='utf-8')}</script>"
    assert page.replace(told, "").replace(script, "") == frameworks
    assert page.index(told) == page.index("<script")  # before the scripts that ask for it


def test_it_says_who_can_open_it(alone: Server, shared: Server) -> None:
    assert f"Open http://127.0.0.1:{alone.port} in a browser. Only this machine can." in alone.printed
    for address in own_addresses():
        assert f"http://{address}:{shared.port}" in shared.printed
    assert "the passphrase is asked for" in shared.printed
    assert "Nothing is encrypted on the way" in shared.printed


# --- whom it answers


def test_its_own_page_is_let_in_by_every_name_of_the_machine(alone: Server, shared: Server) -> None:
    for server, hosts in ((alone, ("127.0.0.1", "localhost")), (shared, (*own_addresses(), socket.gethostname()))):
        for host in hosts:
            named = f"{host}:{server.port}"
            let_in = ticket(server) if server is shared else {}
            assert server.websocket(Host=named, Origin=f"http://{named}", **let_in) == 101


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "http://127.0.0.1.evil.example:8760", "https://x.streamlit.app", "null"]
)
def test_a_page_of_another_server_is_refused(alone: Server, shared: Server, origin: str) -> None:
    for server, let_in in ((alone, {}), (shared, ticket(shared))):
        assert server.websocket(Host=f"127.0.0.1:{server.port}", Origin=origin, **let_in) == 403


def test_a_foreign_name_that_was_made_to_point_here_is_refused(alone: Server, shared: Server) -> None:
    """The page then counts as ours: its origin and the host it asks for are alike (DNS rebinding)."""
    for server, let_in in ((alone, {}), (shared, ticket(shared))):
        named = f"evil.example:{server.port}"
        assert server.websocket(Host=named, Origin=f"http://{named}", **let_in) == 403


def test_a_foreign_page_makes_the_server_ask_nobody_outside(alone: Server, outside: socket.socket) -> None:
    """Streamlit would ask a server in the internet for the address of this network, to compare the origin with it."""
    assert alone.websocket(Host=f"127.0.0.1:{alone.port}", Origin="http://evil.example") == 403
    with pytest.raises(TimeoutError):
        outside.accept()


@pytest.mark.parametrize("headers", [{}, {"Origin": "http://evil.example"}, {"X_Xsrftoken": "made up"}])
def test_an_upload_without_the_pages_own_token_is_refused(alone: Server, headers: dict[str, str]) -> None:
    assert alone.answer("/_stcore/upload_file/some-session/some-file", method="PUT", body=b"x", **headers) == 403


def test_no_program_drives_the_screens_without_a_browser(shared: Server) -> None:
    kind = {"Content_Type": "application/json"}
    assert shared.answer("/_stcore/agent/interact", method="POST", body=b"{}", **kind) == 401
    assert shared.answer("/_stcore/agent/interact", method="POST", body=b"{}", **kind, **ticket(shared)) == 403


# --- the gate before everything that others can reach


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/"),
        ("GET", "/index.html"),
        ("GET", "/static/js/index.js"),
        ("GET", "/_stcore/host-config"),
        ("GET", "/media/anything.pdf"),
        ("GET", "/_stcore/metrics"),
        ("PUT", "/_stcore/upload_file/some-session/some-file"),
        ("DELETE", "/_stcore/upload_file/some-session/some-file"),
        ("POST", "/_stcore/health"),
        ("OPTIONS", "/"),
    ],
)
def test_without_a_ticket_nothing_is_answered(shared: Server, method: str, path: str) -> None:
    body = b"x" * 1000 if method == "PUT" else None
    assert shared.answer(path, method=method, body=body) == 401
    assert shared.answer(path, method=method, body=body, Cookie="standrow_ticket=made-up") == 401


def test_without_a_ticket_no_message_is_taken(shared: Server) -> None:
    named = f"127.0.0.1:{shared.port}"
    assert shared.websocket(Host=named, Origin=f"http://{named}") == 403


def test_the_page_at_the_gate_tells_nothing_but_the_question(shared: Server) -> None:
    asking = HTTPConnection("127.0.0.1", shared.port, timeout=30)
    asking.request("GET", "/money?x=1", headers={"Accept": "text/html"})
    text = asking.getresponse().read().decode()
    asking.close()
    assert "What is the passphrase?" in text
    assert 'name="to" value="/money?x=1"' in text
    assert not any(word in text for word in ("records.duckdb", "dashboard", "streamlit", str(Path.home())))


@pytest.mark.parametrize(
    "to", ["//evil.example", "/\\evil.example", "https://evil.example", "/a\r\nSet-Cookie: x=1", "/" * 900]
)
def test_the_gate_sends_nobody_elsewhere(shared: Server, to: str) -> None:
    asking = HTTPConnection("127.0.0.1", shared.port, timeout=30)
    asking.request("POST", "/door", body=urlencode({"passphrase": LOOKING, "to": to}))
    assert asking.getresponse().getheader("Location") == "/"
    asking.close()


@pytest.mark.parametrize("origin", ["http://evil.example", "http://[::1", "\xff"])
def test_a_page_of_another_server_cannot_type_at_the_gate(shared: Server, origin: str) -> None:
    body = urlencode({"passphrase": LOOKING}).encode()
    assert shared.answer("/door", method="POST", body=body, Origin=origin) == 403
    assert "Traceback" not in shared.printed


def test_many_large_files_before_the_passphrase_leave_the_memory_as_it_is(shared: Server) -> None:
    """8 files of 150 MB were taken before, and not given back."""
    statm = Path(f"/proc/{shared.pid}/statm")
    if not statm.exists():
        pytest.skip("this system does not tell in /proc how much memory is used")
    before = int(statm.read_text().split()[1])
    for number in range(8):
        with suppress(OSError):  # it is refused while it is still being sent
            shared.answer(f"/_stcore/upload_file/session/{number}", method="PUT", body=bytes(20_000_000))
    assert (int(statm.read_text().split()[1]) - before) * 4096 < 30_000_000


def test_a_session_may_hold_only_so_much_in_the_memory(shared: Server) -> None:
    let_in, place = ticket(shared), "/_stcore/upload_file/one-session"
    for size in ("200000001", "-1", ""):
        asking = HTTPConnection("127.0.0.1", shared.port, timeout=30)
        asking.putrequest("PUT", f"{place}/file", skip_accept_encoding=True)
        for name, value in {**let_in, **({"Content-Length": size} if size else {"X": "1"})}.items():
            asking.putheader(name, value)
        asking.endheaders()
        assert asking.getresponse().status in (400, 413)
        asking.close()


def test_a_file_that_the_server_gave_back_no_longer_counts(folder: Path) -> None:
    held: set[tuple[str, str]] = set()

    async def keep(scope: MutableMapping[str, object], *_: object) -> None:
        session, file = str(scope["path"]).split("/")[-2:]
        held.add((session, file))

    async def put(file: str, session: str = "one", size: bytes = b"60") -> int:
        sent: list[MutableMapping[str, object]] = []

        async def send(message: MutableMapping[str, object]) -> None:
            sent.append(message)

        headers = [(b"cookie", let_in.encode()), (b"content-length", size)]
        await gate({"type": "http", "path": f"/_stcore/upload_file/{session}/{file}", "method": "PUT",
                    "headers": headers}, keep, send)  # fmt: skip
        return int(str(sent[0]["status"])) if sent else 204

    records = folder / "shared" / "records.duckdb"
    gate = Gate(keep, records=records, most_bytes=100, is_held=lambda *key: key in held)
    found = find_passphrase(records, LOOKING)
    assert found is not None
    _tickets["a-ticket"] = found
    let_in = f"{COOKIE}=a-ticket"
    assert [awaited(put(file)) for file in ("a", "b")] == [204, 413]
    assert awaited(put("c", session="two")) == 204
    held.clear()
    assert awaited(put("b")) == 204
    for size in (b"\xb2", b"9" * 5000, b"1e1", b""):
        assert awaited(put("d", session="three", size=size)) == 413


def test_a_stranger_who_tries_keeps_nobody_at_this_machine_out(folder: Path) -> None:
    """Wrong tries are counted by address; five of one made everybody wait before."""

    async def try_from(address: str, passphrase: str) -> int:
        sent: list[dict[str, object]] = []

        async def receive() -> dict[str, object]:
            return {"type": "http.request", "body": urlencode({"passphrase": passphrase}).encode()}

        async def send(message: dict[str, object]) -> None:
            sent.append(message)

        scope = {"type": "http", "path": "/door", "method": "POST", "headers": [], "client": (address, 1)}
        await gate(scope, receive, send)
        return int(str(sent[0]["status"]))

    async def nothing(*_: object) -> None:
        raise AssertionError("nobody comes in here")

    gate = Gate(nothing, records=folder / "shared" / "records.duckdb", most_bytes=1, is_held=lambda *_: False)
    for _ in range(6):
        assert awaited(try_from(NOT_OURS, "wrong")) == 401
    assert awaited(try_from(NOT_OURS, LOOKING)) == 401
    assert awaited(try_from("127.0.0.1", LOOKING)) == 303


def test_a_changed_passphrase_closes_the_gate_again(shared: Server, folder: Path) -> None:
    kept = passphrases_path(folder / "shared" / "records.duckdb")
    before = kept.read_bytes()
    let_in = ticket(shared)
    assert shared.answer("/", **let_in) == 200
    try:
        set_passphrases(folder / "shared" / "records.duckdb", looking="another one than before", writing=None)
        assert shared.answer("/", **let_in) == 401
    finally:
        kept.write_bytes(before)


def test_another_page_is_not_allowed_to_read_an_answer(alone: Server) -> None:
    asking = HTTPConnection("127.0.0.1", alone.port, timeout=30)
    asking.request("GET", "/_stcore/health", headers={"Origin": "http://evil.example"})
    assert asking.getresponse().getheader("Access-Control-Allow-Origin") is None
    asking.close()


# --- what it refuses before it starts


def run(monkeypatch, capsys, records: Path, *arguments: str) -> tuple[int, str]:
    """Exit code and stderr of `standrow serve`, which must not come to serving."""
    with begun(records):
        pass
    code, _, err = command(monkeypatch, capsys)("serve", "--records", records, *arguments)
    return code, err


def test_another_address_without_a_passphrase_is_refused_with_what_to_do(monkeypatch, capsys, tmp_path: Path) -> None:
    code, words = run(monkeypatch, capsys, tmp_path / "records.duckdb", "--address", "0.0.0.0")
    assert code == 1
    assert "other machines can reach 0.0.0.0, and no passphrase is set. Set one first: standrow passphrase" in words


@pytest.mark.parametrize("ended_by", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_and_an_order_to_end_are_a_good_end_and_what_was_typed_is_in_the_file_itself(
    demo_records: Path, tmp_path: Path, ended_by: signal.Signals
) -> None:
    """The command goes on after the server: a demo throws its records away there."""
    records = copied(demo_records, tmp_path / "records.duckdb")
    place = DraftPlace(paper="loads", crop_year=2026, field="North", plot="east", typed_by="Ann")
    goes_on = "from analytics.start import main\ntry: main()\nexcept SystemExit as end: print('ended with', end.code)"
    command = [sys.executable, "-c", goes_on, "serve", "--records", str(records)]
    with running(command, tmp_path / "printed.txt") as server:
        with open_records(records, leaves_log=True) as connection:
            keep_draft(connection, place, rows=[{"ticket": "1"}], loaded=[], units={})
        assert log_of(records).exists()
        os.kill(server.pid, ended_by)
        assert eventually(lambda: "ended with" in server.printed)
        os.waitid(os.P_PID, server.pid, os.WEXITED | os.WNOWAIT)
    *_, last = server.printed.splitlines()
    assert last in ("ended with 0", "ended with None")
    assert "Stopped" not in server.printed
    assert not log_of(records).exists()
    with open_records(records) as connection:
        assert [draft.place for draft in all_drafts(connection)] == [place]


def test_an_address_that_is_not_this_machines_is_refused(monkeypatch, capsys, tmp_path: Path) -> None:
    records = tmp_path / "records.duckdb"
    monkeypatch.setattr(passphrases, "N", 2)
    set_passphrases(records, looking=LOOKING, writing=None)
    code, words = run(monkeypatch, capsys, records, "--address", NOT_OURS)
    assert code == 1
    assert re.search(r"198\.51\.100\.7 is not an address of this machine\. It has 127\.0\.0\.1", words)


@pytest.mark.parametrize("given", ["", "localhost", "evil.example", "::", "127.0.0.1:80", "256.1.1.1", "127.1", "0"])
def test_an_address_that_is_no_address_is_bad_input(given: str) -> None:
    with pytest.raises(BadInput, match=r"allowed an address of this machine in numbers, here 127\.0\.0\.1"):
        checked_address(given)


def test_only_addresses_of_the_loopback_count_as_this_machine_alone() -> None:
    assert [is_for_this_machine_alone(one) for one in ("127.0.0.1", "127.255.255.255")] == [True, True]
    assert [is_for_this_machine_alone(one) for one in ("0.0.0.0", "128.0.0.1", "10.0.0.1")] == [False] * 3


def test_a_port_in_use_is_refused() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(Refused, match=r"in use by another program"):
            listening_socket(other.getsockname()[1])


def test_each_connection_sends_small_messages_at_once() -> None:
    """One that waits until the one before has arrived makes every answer 40 ms later (Nagle's algorithm, RFC 896)."""

    async def connected() -> object:
        sends_at_once = asyncio.get_running_loop().create_future()

        def meet(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            own = writer.get_extra_info("socket")
            sends_at_once.set_result(own.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            writer.close()

        async with await asyncio.start_server(meet, sock=listening_socket()) as server:
            _, writer = await asyncio.open_connection(*server.sockets[0].getsockname())
            writer.close()
            return await sends_at_once

    assert awaited(connected())


def test_every_option_is_one_that_streamlit_knows_and_the_protecting_ones_are_named() -> None:
    for name in serving.OPTIONS:
        config.get_option(name)  # raises for a name that it does not know
    assert serving.OPTIONS["server.enableXsrfProtection"] is serving.OPTIONS["server.enableCORS"] is True
    assert serving.OPTIONS["client.showErrorDetails"] == "none"
    assert serving.OPTIONS["browser.gatherUsageStats"] is False


def test_the_names_it_answers_to_are_its_addresses_and_its_own_name() -> None:
    assert {"192.0.2.9", "127.0.0.1", "localhost", socket.gethostname().lower()} <= set(names_of(["192.0.2.9"]))
    assert "*" not in names_of(["192.0.2.9"])

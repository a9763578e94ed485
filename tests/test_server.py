"""The server: one a database, on a socket of its own, with bounded waits."""

from __future__ import annotations

import http.client
import os
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager, suppress
from pathlib import Path

import pytest
from anyio import from_thread, to_thread
from fastapi import FastAPI, Request
from starlette.responses import PlainTextResponse

from app import server
from app.server import Server, StartError, bind, only_server, prepare_folder
from app.threads import SLOW_TOKENS, slow_work


@contextmanager
def answering(app: FastAPI, threads: int = 2, fronts: Sequence[str] = ()) -> Iterator[int]:
    with closing(bind("127.0.0.1", 0)) as door:
        ready = threading.Event()
        running = Server(app, threads=threads, fronts=fronts, told=ready.set)
        thread = threading.Thread(target=lambda: running.run(sockets=[door]), daemon=True)
        thread.start()
        assert ready.wait(10)
        try:
            yield int(door.getsockname()[1])
        finally:
            running.should_exit = True
            thread.join(10)


def make_app() -> FastAPI:
    app = FastAPI(telemetry={"auto_configure": False})

    @app.get("/")
    def index() -> str:
        return "here"

    @app.get("/tokens")
    async def tokens() -> float:
        return to_thread.current_default_thread_limiter().total_tokens

    @app.post("/")
    def receive(body: dict[str, int]) -> int:
        return len(body)

    return app


def get(port: int, path: str = "/", headers: Mapping[str, str] = {}) -> str:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as connection:
        connection.request("GET", path, headers=dict(headers))
        return connection.getresponse().read().decode()


def test_it_answers() -> None:
    with answering(make_app()) as port:
        assert get(port) == '"here"'


def test_an_answer_does_not_wait_for_the_network_to_fill_a_packet() -> None:
    times = []
    with (
        answering(make_app()) as port,
        closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as connection,
    ):
        for _ in range(15):
            start = time.perf_counter()
            connection.request("GET", "/")
            connection.getresponse().read()
            times.append(time.perf_counter() - start)
    assert statistics.median(times) < 0.035


def test_only_as_many_handlers_run_at_once_as_was_said() -> None:
    with answering(make_app(), threads=3) as port:
        assert float(get(port, "/tokens")) == 3


def test_it_does_not_say_what_software_serves() -> None:
    with (
        answering(make_app()) as port,
        closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as connection,
    ):
        connection.request("GET", "/")
        assert connection.getresponse().getheader("server") is None


def closed_after(port: int, before: bytes, last: bytes) -> float:
    """Seconds until the server hangs up on a client that had an answer to `before`, if anything,
    and then sends `last` and no more."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as client:
        if before:
            client.sendall(before)
            assert client.recv(4096)
        start = time.monotonic()
        client.sendall(last)
        while client.recv(4096):
            pass
        return time.monotonic() - start


WHOLE = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
HALF_BODY = (
    b"POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
    b'Content-Length: 90\r\n\r\n{"a":'
)


@pytest.mark.parametrize(
    ("before", "last"),
    [(b"", b""), (b"", WHOLE[:20]), (WHOLE, WHOLE[:20]), (b"", HALF_BODY)],
    ids=["nothing", "half a head", "half a second head", "half a body"],
)
def test_a_request_that_never_arrives_is_given_up(
    before: bytes, last: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "HEAD_SECONDS", 0.3)
    monkeypatch.setattr(server, "BODY_IDLE_SECONDS", 0.3)
    with answering(make_app()) as port:
        assert closed_after(port, before, last) < 5


def test_a_body_that_trickles_in_is_given_up_and_holds_nobody_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(server, "HEAD_SECONDS", 0.2)
    monkeypatch.setattr(server, "BODY_SECONDS", 0.2)
    with answering(make_app(), threads=1) as port, ExitStack() as until:
        slow = [
            until.enter_context(socket.create_connection(("127.0.0.1", port))) for _ in range(4)
        ]
        for client in slow:
            client.sendall(HALF_BODY)
        start = time.monotonic()
        while slow and time.monotonic() - start < 5:
            assert get(port) == '"here"'
            slow = [client for client in slow if takes_a_byte(client)]
        assert slow == []


def takes_a_byte(client: socket.socket) -> bool:
    """Send one byte more; False once the server hung up."""
    try:
        client.send(b" ")
        client.settimeout(0.01)
        return client.recv(1) != b""
    except TimeoutError:
        return True
    except OSError:
        return False


def test_an_answer_that_nobody_takes_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "HEAD_SECONDS", 0.2)
    monkeypatch.setattr(server, "UNREAD_SECONDS", 0.2)
    given_up = threading.Event()
    lost = server.BoundedProtocol.connection_lost

    def noted(protocol: server.BoundedProtocol, exc: Exception | None) -> None:
        lost(protocol, exc)
        given_up.set()

    monkeypatch.setattr(server.BoundedProtocol, "connection_lost", noted)
    app = make_app()
    app.add_api_route("/long", lambda: PlainTextResponse("x" * 20_000_000))
    with answering(app) as port, closing(socket.socket()) as client:
        client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        client.connect(("127.0.0.1", port))
        client.sendall(WHOLE.replace(b"GET /", b"GET /long"))
        assert given_up.wait(10)


def test_one_address_cannot_hold_every_connection(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "MOST_FROM_ONE", 2)
    with answering(make_app()) as port, ExitStack() as until:
        held = [
            until.enter_context(socket.create_connection(("127.0.0.1", port), timeout=5))
            for _ in range(3)
        ]
        for client in held[:2]:
            client.sendall(WHOLE)
            assert client.recv(4096).startswith(b"HTTP/1.1 200")
        with suppress(ConnectionError):
            assert held[2].recv(1) == b""


def test_what_a_front_says_is_believed_from_its_address_alone() -> None:
    said = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "10.1.1.1, 192.0.2.50"}
    app = make_app()

    @app.get("/who")
    def who(request: Request) -> str:
        assert request.client is not None
        return f"{request.url.scheme} {request.client.host}"

    for fronts, told in (((), "http 127.0.0.1"), (("127.0.0.1",), "https 192.0.2.50")):
        with answering(app, fronts=fronts) as port:
            assert get(port, "/who", said) == f'"{told}"'


def test_a_connection_at_rest_between_requests_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "HEAD_SECONDS", 0.1)
    with (
        answering(make_app()) as port,
        closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as connection,
    ):
        connection.request("GET", "/")
        connection.getresponse().read()
        first = connection.sock
        time.sleep(0.5)
        connection.request("GET", "/")
        assert connection.getresponse().read() == b'"here"'
        assert connection.sock is first


def test_a_taken_port_is_told_in_one_line() -> None:
    with closing(bind("127.0.0.1", 0)) as door:
        port = door.getsockname()[1]
        with pytest.raises(StartError, match=f"Port {port} is taken"):
            bind("127.0.0.1", port)


def test_an_address_of_another_machine_is_told_in_one_line() -> None:
    with pytest.raises(StartError, match="Cannot listen on 192"):
        bind("192.0.2.7", 0)


def test_a_name_that_is_no_address_is_told_in_one_line() -> None:
    with pytest.raises(StartError, match="is not an address"):
        bind("no such host", 0)


def test_a_second_server_on_the_same_records_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "seatwright.sqlite3"
    program = "from pathlib import Path; import sys; from app.server import only_server\n"
    program += "with only_server(Path(sys.argv[1])): print('served')"
    command = [sys.executable, "-c", program, str(file)]
    with only_server(file):
        refused = subprocess.run(command, capture_output=True, text=True)
    assert "already serves" in refused.stderr
    allowed = subprocess.run(command, capture_output=True, text=True)
    assert allowed.stdout.strip() == "served"


def test_a_server_that_was_killed_leaves_no_lock(tmp_path: Path) -> None:
    file = tmp_path / "seatwright.sqlite3"
    program = "from pathlib import Path; import sys, time; from app.server import only_server\n"
    program += "with only_server(Path(sys.argv[1])):\n    print('held', flush=True)\n"
    program += "    time.sleep(60)"
    holder = subprocess.Popen(
        [sys.executable, "-c", program, str(file)], stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline().strip() == "held"
    holder.kill()
    holder.communicate()
    with only_server(file):
        assert file.with_suffix(".lock").exists()


def test_postgresql_needs_no_lock() -> None:
    with only_server(None), only_server(None):
        pass


def test_the_data_folder_is_made_closed_to_other_accounts(tmp_path: Path) -> None:
    prepare_folder(tmp_path / "new" / "shop")
    made = tmp_path / "new" / "shop"
    assert list(made.iterdir()) == []
    if os.name == "posix":
        assert made.stat().st_mode & 0o077 == 0


def test_a_data_folder_that_cannot_be_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StartError, match="cannot be written to"):
        prepare_folder(tmp_path / "file" / "shop")


def test_slow_work_keeps_to_its_own_threads() -> None:
    running = most = 0
    lock = threading.Lock()

    def work(answer: int) -> int:
        nonlocal running, most
        with lock:
            running += 1
            most = max(most, running)
        time.sleep(0.02)
        with lock:
            running -= 1
        return answer

    with from_thread.start_blocking_portal() as portal:
        futures = [portal.start_task_soon(_slow, work, number) for number in range(8)]
        assert [future.result(10) for future in futures] == list(range(8))
    assert most == SLOW_TOKENS


async def _slow(work: Callable[[int], int], number: int) -> int:
    return await slow_work(work, number)

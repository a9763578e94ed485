"""The web server: one bound socket, bounded waits, one server at a time on a SQLite file."""

from __future__ import annotations

import asyncio
import errno
import os
import socket
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import uvicorn
from fastapi import FastAPI
from uvicorn.protocols.http.h11_impl import H11Protocol

from app.threads import limit_threads

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

KEEP_ALIVE_SECONDS = 65  # longer than a bench page rests between its polls
HEAD_SECONDS = 20  # for a request's first lines to arrive
BODY_IDLE_SECONDS = 30  # between two pieces of a request's body
BODY_SECONDS = 60  # for a whole body, and a second more for each so many bytes of it that came
LEAST_BYTES_PER_SECOND = 10_000  # ten pictures over the poorest Wi-Fi still arrive
UNREAD_SECONDS = 60  # for whoever asked to take in what fills the buffers on the way
STOP_SECONDS = 5
MOST_CONNECTIONS = 512
MOST_FROM_ONE = 128  # of them from one address: a browser opens six
LONGEST_HEAD = 32 * 1024
BACKLOG = 128


class StartError(RuntimeError):
    """The server cannot start; the message is one line."""


def bind(host: str, port: int) -> socket.socket:
    """A socket bound to `host` and `port`, not yet listening; port 0 takes any free one.

    Made here, so that a taken port is told before anything is changed. The protocol must be
    named: without it asyncio leaves Nagle's algorithm on and every answer waits 40 ms.
    """
    try:
        family, kind, _, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, kind, socket.IPPROTO_TCP)
    except (OSError, UnicodeError) as error:
        raise StartError(f"{host} is not an address of this machine ({error})") from error
    try:
        if sys.platform == "win32":
            # On Windows reuse would let a second server take a port that is in use.
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
        if sys.platform != "win32":
            # Reuse also lets two sockets bind as long as neither listens.
            listener.listen(BACKLOG)
    except OSError as error:
        listener.close()
        raise StartError(_why_not_bound(host, port, error)) from error
    return listener


def _why_not_bound(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE or getattr(error, "winerror", 0) in (10013, 10048):
        return f"Port {port} is taken on {host}: another server runs there; try --port {port + 1}"
    if error.errno == errno.EACCES:
        return f"Port {port} needs rights this account has not; choose one above 1023 with --port"
    return f"Cannot listen on {host} port {port}: {error.strerror or error}"


@contextmanager
def only_server(database_file: Path | None) -> Iterator[None]:
    """Hold the operating system's lock on a SQLite database against a second server.

    The lock goes with the process, however it ends. PostgreSQL needs none.
    """
    if database_file is None:
        yield
        return
    path = database_file.with_suffix(".lock")
    with path.open("a+", encoding="ascii") as lock:
        try:
            _lock(lock)
        except OSError:
            raise StartError(
                f"Another Seatwright already serves {database_file}; stop that one first"
            ) from None
        yield


def _lock(file: IO[str]) -> None:
    if sys.platform == "win32":
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    else:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)


class BoundedProtocol(H11Protocol):
    """HTTP/1.1 that gives up on a request that does not arrive and on an answer that nobody takes:
    a tablet that lost the Wi-Fi half way, or someone holding connections open."""

    _watch: asyncio.TimerHandle | None = None
    _waiting_since = 0.0
    _last_data = 0.0
    _got = 0
    _unread_since: float | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._waiting_since = self._last_data = self.loop.time()
        self._watch = self.loop.call_later(HEAD_SECONDS, self._look)
        if self._is_one_too_many():
            transport.abort()

    def data_received(self, data: bytes) -> None:
        self._last_data = self.loop.time()
        if self.timeout_keep_alive_task is not None:
            self._waiting_since, self._got = (
                self._last_data,
                0,
            )  # the rest is over, a request begins
        self._got += len(data)
        super().data_received(data)

    def on_response_complete(self) -> None:
        self._waiting_since, self._got = self.loop.time(), 0
        super().on_response_complete()

    def pause_writing(self) -> None:
        self._unread_since = self.loop.time()
        super().pause_writing()

    def resume_writing(self) -> None:
        self._unread_since = None
        super().resume_writing()

    def connection_lost(self, exc: Exception | None) -> None:
        if self._watch is not None:
            self._watch.cancel()
        super().connection_lost(exc)

    def _look(self) -> None:
        now = self.loop.time()
        cycle = self.cycle
        if cycle is None or cycle.response_complete:
            # A connection resting between requests is ended by the keep-alive timer instead.
            rests = self.timeout_keep_alive_task is not None
            late = not rests and now - self._waiting_since >= HEAD_SECONDS
        else:
            late = cycle.more_body and (
                now - self._last_data > BODY_IDLE_SECONDS
                or now - self._waiting_since > BODY_SECONDS + self._got / LEAST_BYTES_PER_SECOND
            )
        if self._unread_since is not None and now - self._unread_since > UNREAD_SECONDS:
            self.transport.abort()  # closing would wait for what is not taken
        elif late:
            self.transport.close()
        else:
            self._watch = self.loop.call_later(HEAD_SECONDS / 2, self._look)

    def _is_one_too_many(self) -> bool:
        """Whether this address holds its share already; a told front holds everyone's."""
        if self.client is None or self.client[0] in self.config.forwarded_allow_ips:
            return False
        open_ones = [each.client for each in self.connections if isinstance(each, H11Protocol)]
        return sum(each is not None and each[0] == self.client[0] for each in open_ones) > (
            MOST_FROM_ONE
        )


class Server(uvicorn.Server):
    """uvicorn with our thread limits, telling when it answers."""

    def __init__(
        self,
        app: FastAPI,
        *,
        threads: int,
        fronts: Sequence[str] = (),
        told: Callable[[], None] = lambda: None,
    ) -> None:
        super().__init__(
            uvicorn.Config(
                app,
                http=BoundedProtocol,
                ws="none",
                lifespan="on",
                log_config=None,
                access_log=False,
                # What a front says of whoever asked, believed from these addresses alone.
                proxy_headers=bool(fronts),
                forwarded_allow_ips=list(fronts),
                server_header=False,
                limit_concurrency=MOST_CONNECTIONS,
                backlog=BACKLOG,
                timeout_keep_alive=KEEP_ALIVE_SECONDS,
                timeout_graceful_shutdown=STOP_SECONDS,
                h11_max_incomplete_event_size=LONGEST_HEAD,
            )
        )
        self._threads = threads
        self._told = told

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        limit_threads(self._threads)
        await super().startup(sockets)
        self._told()


def prepare_folder(path: Path) -> None:
    """Make the data folder, closed to other accounts, and see that it can be written to."""
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
        probe = path / f".writable-{os.getpid()}"
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise StartError(
            f"The data folder {path} cannot be written to ({error.strerror or error}); "
            "choose another with --data"
        ) from error

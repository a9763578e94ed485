"""A throw-away PostgreSQL on loopback: started when a test asks, always ended by its pid."""

from __future__ import annotations

import contextlib
import ctypes
import itertools
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql

from app import migrate

MISSING = (
    "PostgreSQL's server programs are missing; on Debian or Ubuntu: apt-get install postgresql"
)
# No test needs power-loss safety, and without it a database from the template takes 65 ms.
OPTIONS = {
    "listen_addresses": "127.0.0.1",
    "unix_socket_directories": "",
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "shared_buffers": "32MB",
    "max_connections": "100",
    "logging_collector": "off",
}

ROOM = 2**30
FILE_COPY_SINCE = 150000  # before, there was no other way to copy a database
TEMPLATE = "template_shop"
INITDB = ("-E", "UTF8", "--locale=C", "--no-sync")


def programs() -> Path | None:
    """The folder with initdb and postgres; they are often not on the PATH."""
    if config := shutil.which("pg_config"):
        told = subprocess.run([config, "--bindir"], capture_output=True, text=True, check=True)
        if (found := Path(told.stdout.strip()) / "initdb").exists():
            return found.parent
    places = [*Path("/usr/lib/postgresql").glob("*/bin"), *Path("/opt").glob("*/postgresql*/bin")]
    found_in = [place for place in places if (place / "initdb").exists()]
    if found_in:
        return max(found_in, key=lambda place: place.parent.name)
    on_path = shutil.which("initdb")
    return Path(on_path).parent if on_path else None


class Cluster:
    """One server with one migrated template; `new_database()` copies it."""

    def __init__(self) -> None:
        bin_folder = programs()
        if bin_folder is None:
            raise RuntimeError(MISSING)
        self.folder = Path(tempfile.mkdtemp(prefix="seatwright-pg-", dir=quick_place()))
        # initdb refuses root, and pytest's own folders are closed to other users.
        self.user: dict[str, Any] = {"cwd": "/"}
        if os.name == "posix" and os.geteuid() == 0:
            shutil.chown(self.folder, "postgres", "postgres")
            self.user |= {"user": "postgres", "group": "postgres", "extra_groups": []}
        self.port = _free_port()
        self.log = self.folder / "server.log"
        self.server: subprocess.Popen[bytes] | None = None
        self._command: list[str | Path] = []
        self._count = itertools.count(1)
        self._as_files = ""
        try:
            self._start(bin_folder)
        except BaseException:
            self.stop()
            raise

    def _start(self, bin_folder: Path) -> None:
        data = self.folder / "data"
        made = subprocess.run(
            [bin_folder / "initdb", "-D", data, "-U", "seatwright", "-A", "trust", *INITDB],
            capture_output=True,
            text=True,
            **self.user,
        )
        if made.returncode:
            raise RuntimeError(f"initdb failed: {made.stderr}")
        options = [f"-c{name}={value}" for name, value in OPTIONS.items()]
        self._command = [bin_folder / "postgres", "-D", data, "-p", str(self.port), *options]
        self._serve()
        with self._connect() as connection:
            # Copied block by block through the log it takes half as long again.
            if connection.info.server_version >= FILE_COPY_SINCE:
                self._as_files = " STRATEGY FILE_COPY"
        self._run("CREATE DATABASE {} ", TEMPLATE)
        migrate.upgrade(self.url(TEMPLATE))

    def _serve(self) -> None:
        with self.log.open("ab") as log:
            self.server = subprocess.Popen(
                self._command,
                stdout=log,
                stderr=subprocess.STDOUT,
                preexec_fn=_end_with_parent if sys.platform == "linux" else None,
                **self.user,
            )
        self._await()

    @contextlib.contextmanager
    def away(self) -> Iterator[None]:
        """The server is stopped meanwhile, and started again on the same port."""
        self._end()
        try:
            yield
        finally:
            self._serve()

    def url(self, name: str) -> str:
        return f"postgresql+psycopg://seatwright@127.0.0.1:{self.port}/{name}"

    def new_database(self, template: str = TEMPLATE) -> str:
        """A fresh database's name; `template0` for one without any table."""
        name = f"shop_{next(self._count)}"
        self._run("CREATE DATABASE {} TEMPLATE {}" + self._as_files, name, template)
        return name

    def drop(self, name: str) -> None:
        self._run("DROP DATABASE {} WITH (FORCE)", name)

    def stop(self) -> None:
        self._end()
        shutil.rmtree(self.folder, ignore_errors=True)

    def _end(self) -> None:
        if self.server is not None:
            self.server.send_signal(signal.SIGINT)  # fast shutdown: open sessions are ended
            try:
                self.server.wait(timeout=20)
            except subprocess.TimeoutExpired:
                self.server.kill()
                self.server.wait()

    def _run(self, statement: str, *names: str) -> None:
        with self._connect() as connection:
            connection.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))

    def _connect(self) -> psycopg.Connection[Any]:
        return psycopg.connect(
            host="127.0.0.1", port=self.port, user="seatwright", dbname="postgres", autocommit=True
        )

    def _await(self) -> None:
        deadline = time.monotonic() + 30
        while time.monotonic() < deadline:
            assert self.server is not None
            if self.server.poll() is not None:
                break
            with contextlib.suppress(psycopg.OperationalError), self._connect():
                return
            time.sleep(0.05)
        raise RuntimeError(f"PostgreSQL did not start: {self.log.read_text(errors='replace')}")


def quick_place() -> str | None:
    """Memory, where there is plenty: a database is some 700 files, made and removed in a third
    of the time that a disk takes."""
    memory = Path("/dev/shm")
    if memory.is_dir() and os.access(memory, os.W_OK):
        return str(memory) if shutil.disk_usage(memory).free > ROOM else None
    return None


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _end_with_parent() -> None:
    """A test run that is killed outright takes its server along (PR_SET_PDEATHSIG is 1)."""
    ctypes.CDLL(None).prctl(1, signal.SIGINT)

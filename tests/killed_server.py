"""A shop's server that is killed at random moments while tablets type, and started again.

Run as a program it forks a server for every line it reads: the modules are loaded once, so that a
server is up again in a moment, and its death takes nothing else along.
"""

from __future__ import annotations

import http.client
import itertools
import os
import random
import re
import secrets
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from fastapi import FastAPI
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database
from app.main import create_app
from app.server import Server, StartError, bind
from app.threads import TOKENS_SQLITE

LONGEST_ROUND = 60.0


@dataclass
class Tablet:
    """One machinist's tablet, typing one position's figure over and over."""

    page: str
    name: str
    had: str
    token: str
    last_id: str
    acknowledged: dict[str, str] = field(default_factory=dict)  # form's key to what was typed
    waiting: tuple[str, str, str] | None = None
    refused: list[str] = field(default_factory=list)
    gone: str = ""
    _typed: Iterator[int] = field(default_factory=itertools.count)

    def type_on(self, port: int, file: Path, acks: list[None]) -> None:
        """Send one figure after another until the server is gone; what got no answer waits."""
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        headers = {
            "Cookie": f"seatwright_{port}={self.token}",
            "Origin": f"http://127.0.0.1:{port}",
            "Content-Type": "application/x-www-form-urlencoded",
        }
        with closing(connection), closing(sqlite3.connect(file)) as kept:
            while not self.refused:
                if self.waiting is None:
                    figure = f"1.85{10 + next(self._typed) % 90}"
                    self.waiting = (secrets.token_hex(8), figure, self.last_id)
                key, figure, had = self.waiting
                form = {"client_key": key, self.name: figure, self.had: had}
                try:
                    connection.request("POST", self.page, urlencode(form), headers)
                    answer = connection.getresponse()
                    answer.read()
                except (OSError, http.client.HTTPException) as gone:
                    self.gone = repr(gone)
                    return
                if (answer.status, answer.getheader("Location")) != (303, self.page):
                    self.refused.append(
                        f"{answer.status} to {answer.getheader('Location')} for {form}"
                    )
                    return
                self.acknowledged[key] = figure
                self.waiting = None
                query = "SELECT id FROM reading WHERE client_key LIKE ?"
                self.last_id = str(kept.execute(query, (f"{key}%",)).fetchone()[0])
                acks.append(None)


@contextmanager
def forked_servers(settings: Settings, tablet: Tablet) -> Iterator[subprocess.Popen[str]]:
    """The program that forks a server at a word."""
    program = subprocess.Popen(
        [
            *(sys.executable, "-m", "tests.killed_server", str(settings.data), settings.url),
            *(tablet.token, tablet.page),
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert program.stdout is not None
        assert program.stdout.readline() == "ready\n"
        yield program
    finally:
        program.stdin.close()  # type: ignore[union-attr]
        program.wait(20)


def kill_while_typing(
    program: subprocess.Popen[str], tablets: Sequence[Tablet], file: Path
) -> None:
    """One round: a server comes up, all tablets type, and it is killed at a random moment."""
    assert program.stdin is not None
    assert program.stdout is not None
    program.stdin.write("serve\n")
    program.stdin.flush()
    pid, port = map(int, program.stdout.readline().split())
    acks: list[None] = []
    threads = [
        threading.Thread(target=tablet.type_on, args=(port, file, acks)) for tablet in tablets
    ]
    for thread in threads:
        thread.start()
    enough, over = random.randint(1, 8), time.monotonic() + LONGEST_ROUND
    while len(acks) < enough and time.monotonic() < over and not any(t.refused for t in tablets):
        time.sleep(0.001)
    time.sleep(random.uniform(0, 0.02))
    os.kill(pid, signal.SIGKILL)
    for thread in threads:
        thread.join(LONGEST_ROUND)
    assert [tablet.refused for tablet in tablets if tablet.refused] == []
    assert len(acks) >= enough, [tablet.gone for tablet in tablets]


def fields(html: str, quantity: str) -> list[tuple[str, str, str]]:
    """Of a grid's page: each field's name, the name of what it had, and that reading's id."""
    found = re.findall(rf'name="((?!had){quantity}[^"]*)"', html)
    had = dict(re.findall(r'name="(had\.[^"]*)"[^>]* value="(\d*)"', html))
    return [(name, f"had.{name}", had.get(f"had.{name}", "")) for name in dict.fromkeys(found)]


def _serve(app: FastAPI, port: int) -> int:
    """Fork a server on the port; returns its process once it listens."""
    door = _bind_again(port)
    child = os.fork()
    if not child:
        Server(app, threads=TOKENS_SQLITE).run(sockets=[door])
        os._exit(0)
    door.close()
    return child


def _bind_again(port: int) -> socket.socket:
    """The port, once the system has buried the server before."""
    over = time.monotonic() + LONGEST_ROUND
    while True:
        try:
            return bind("127.0.0.1", port)
        except StartError:
            if time.monotonic() > over:
                raise
            time.sleep(0.005)


def main(data: str, url: str, token: str, page: str) -> None:
    """A server for each line that is read; all on one port, as a shop's is.

    One reading is recorded first, so that every server knows its statements from the start.
    """
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    with closing(bind("127.0.0.1", 0)) as door:
        port = int(door.getsockname()[1])
    settings = Settings(data=Path(data), database_url=url, port=port, pin_cost="cheap")
    database = Database(url)
    app = create_app(settings, database)
    here = f"http://127.0.0.1:{port}"
    browser = TestClient(app, base_url=here, headers={"Origin": here}, follow_redirects=False)
    browser.cookies.set(settings.cookie_name, token)
    name, had, had_id = fields(browser.get(page).text, "stem_height")[-1]
    assert browser.post(page, data={name: "1.8502", had: had_id}).status_code == 303
    database.close()
    print("ready", flush=True)
    for _ in sys.stdin:
        print(_serve(app, port), port, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])

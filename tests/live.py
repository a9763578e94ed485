"""A real server on a free loopback port, in a thread of the test run."""

from __future__ import annotations

import dataclasses
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass

from app.config import Settings
from app.db import Database
from app.main import create_app
from app.server import Server, bind
from app.threads import TOKENS_SQLITE
from tests.databases import opened


@dataclass(frozen=True)
class LiveShop:
    """A shop being served: where, and its database to look into."""

    url: str
    settings: Settings
    database: Database


@contextmanager
def serving(settings: Settings, port: int = 0) -> Iterator[LiveShop]:
    """Serve the shop of `settings` until the block ends; its database must be migrated.

    On any free port, or on one that an earlier server had, as after a restart.
    """
    with (
        closing(bind("127.0.0.1", port)) as door,
        opened(settings.url) as database,
    ):
        settings = dataclasses.replace(settings, port=door.getsockname()[1])
        answers = threading.Event()
        faults: list[BaseException] = []
        server = Server(
            create_app(settings, database),
            threads=TOKENS_SQLITE,
            fronts=settings.fronts,
            told=answers.set,
        )

        def run() -> None:
            try:
                server.run(sockets=[door])
            except BaseException as fault:
                faults.append(fault)
            finally:
                answers.set()

        thread = threading.Thread(target=run, name="live shop", daemon=True)
        thread.start()
        answers.wait(20)
        if faults or not server.started:
            raise RuntimeError("the server did not start") from (faults[0] if faults else None)
        try:
            yield LiveShop(f"http://127.0.0.1:{settings.port}", settings, database)
        finally:
            server.should_exit = True
            thread.join(15)
            assert not thread.is_alive(), "the server did not stop"

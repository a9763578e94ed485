"""Each test's own database, through an engine that the tests before it have warmed up.

An engine compiles a statement when it first meets it. One made for each test would compile them
all anew, an eighth of the whole run.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import event
from sqlalchemy.engine import Dialect, make_url

from app.db import Database


class Pointed(Database):
    """A database whose engine goes on to the next test's file or name."""

    def __init__(self, url: str) -> None:
        super().__init__(url)
        event.listen(self.engine, "do_connect", self._connect_there)

    def point_to(self, url: str) -> None:
        """Every connection from now on is to this one."""
        self.close()
        self.url = make_url(url)

    def _connect_there(
        self, dialect: Dialect, _record: Any, arguments: list[Any], options: dict[str, Any]
    ) -> None:
        arguments[:], changed = dialect.create_connect_args(self.url)
        options.clear()
        options.update(changed)


_spare: defaultdict[str, list[Pointed]] = defaultdict(list)


@contextmanager
def opened(url: str) -> Iterator[Database]:
    """A database for one test; whoever has it open has it alone."""
    kind = make_url(url).get_backend_name()
    database = _spare[kind].pop() if _spare[kind] else Pointed(url)
    database.point_to(url)
    try:
        yield database
    finally:
        database.close()
        _spare[kind].append(database)

"""The database: one engine, many readers, one writer at a time on SQLite and PostgreSQL."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from datetime import UTC, datetime
from enum import Enum
from typing import Any

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    DateTime,
    Dialect,
    Engine,
    MetaData,
    String,
    create_engine,
    event,
    text,
)
from sqlalchemy.engine import Connection, make_url
from sqlalchemy.types import TypeDecorator
from sqlmodel import Session, SQLModel

from app.calc.units import Length

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
# Set before the first table class, or its constraints go nameless and cannot be migrated.
SQLModel.metadata.naming_convention = NAMING
metadata: MetaData = SQLModel.metadata

# How long a write waits for whoever else holds the records: another program that has the SQLite
# file, another process of the shop on PostgreSQL.
BUSY_SECONDS = 5.0

# A process that stops in the middle of a write, or whose PC went to sleep, would hold up the whole
# shop: PostgreSQL undoes its write after so long without a statement, or with a single one.
HUNG_SECONDS = 15.0
LONGEST_STATEMENT_SECONDS = 30.0

# Any process of this app that writes on PostgreSQL takes this lock first.
ONE_WRITER = 0x5EA7
_WRITES_ALONE = text(
    "SELECT set_config('lock_timeout', :busy, true), set_config('statement_timeout', :longest,"
    " true), set_config('idle_in_transaction_session_timeout', :hung, true),"
    " pg_advisory_xact_lock(:key)"
)

# How a serving process is known to PostgreSQL, so that an upgrade finds those that still run.
APPLICATION = "seatwright"
# A network that went away in silence is noticed in about as many seconds as a form waits.
CONNECTING = {
    "application_name": APPLICATION,
    "connect_timeout": 5,
    "keepalives_idle": 10,
    "keepalives_interval": 3,
    "keepalives_count": 3,
    "tcp_user_timeout": 15000,
}


def now() -> datetime:
    """The present moment, aware, in UTC."""
    return datetime.now(UTC)


class Utc(TypeDecorator[datetime]):
    """Aware UTC in Python, naive UTC in both databases: SQLite would drop the zone silently."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without a zone cannot be stored")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)


class Nanometres(TypeDecorator[Length]):
    """A `Length` as a whole number of nanometres."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: Length | None, dialect: Dialect) -> int | None:
        return None if value is None else value.nm

    def process_result_value(self, value: int | None, dialect: Dialect) -> Length | None:
        return None if value is None else Length(value)


class Worded(TypeDecorator[Any]):
    """A member of a vocabulary, stored as its plain word; `one_of` adds the CHECK."""

    impl = String(40)
    cache_ok = True

    def __init__(self, words: type[Enum]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        return None if value is None else str(self.words(value).value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else self.words(value)


def one_of(column: str, words: type[Enum]) -> CheckConstraint:
    """A named CHECK that a column holds one of a vocabulary's words."""
    allowed = ", ".join(f"'{word.value}'" for word in words)
    return CheckConstraint(f"{column} IN ({allowed})", name=f"{column}_word")


class Database:
    """One database: `read()` for pages, `write()` for the one change under way."""

    def __init__(self, url: str) -> None:
        self.url = make_url(url)
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        # What a fault says goes into the log: statements do, names and marks of sign-ins do not.
        if self.is_sqlite:
            self.engine = create_engine(url, pool_size=12, max_overflow=20, hide_parameters=True)
            event.listen(self.engine, "connect", _prepare_sqlite)
            event.listen(self.engine, "begin", _begin_sqlite)
        else:
            self.engine = create_engine(
                url,
                pool_size=12,
                max_overflow=20,
                pool_pre_ping=True,
                connect_args=CONNECTING,
                hide_parameters=True,
            )
        self._write_engine: Engine = self.engine.execution_options(write=True)
        self._read_engine: Engine = (
            self.engine
            if self.is_sqlite
            else self.engine.execution_options(isolation_level="REPEATABLE READ")
        )
        # SQLite's own waiting sleeps in steps: with 8 writers a lock in front of it took the
        # slowest hundredth from about 300 ms to 20 ms. PostgreSQL queues its writers itself.
        self._writer: AbstractContextManager[Any] = (
            threading.Lock() if self.is_sqlite else nullcontext()
        )

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one moment and never commits."""
        # Closing rolls back; an explicit rollback would also empty the rows just read.
        with Session(self._read_engine, expire_on_commit=False) as session:
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        """The one write transaction: committed when the block ends, rolled back if it raises."""
        with self._writer, Session(self._write_engine, expire_on_commit=False) as session:
            if not self.is_sqlite:
                limits = {
                    "busy": BUSY_SECONDS,
                    "longest": LONGEST_STATEMENT_SECONDS,
                    "hung": HUNG_SECONDS,
                }
                given = {name: f"{seconds:.3f}s" for name, seconds in limits.items()}
                session.execute(_WRITES_ALONE, given | {"key": ONE_WRITER})
            yield session
            session.commit()

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    # The driver's own transaction handling loses updates; `_begin_sqlite` begins instead.
    connection.isolation_level = None
    cursor = connection.cursor()
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        f"busy_timeout={int(BUSY_SECONDS * 1000)}",
        # Without it INSERT OR REPLACE deletes a row past the guard that forbids it.
        "recursive_triggers=ON",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("write")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

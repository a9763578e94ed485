"""Bringing a database up to this program: one configuration for the app and for developers.

Alembic is configured here in code, because a wheel carries no pyproject.toml. Developers write
the next migration with ``python -m app.migrate "what changes"``.
"""

from __future__ import annotations

import functools
import os
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from alembic import command, op
from alembic.autogenerate import compare_metadata
from alembic.autogenerate.api import AutogenContext
from alembic.autogenerate.rewriter import Rewriter
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.operations.ops import CreateTableOp
from alembic.runtime.environment import EnvironmentContext
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import OperationalError
from sqlalchemy.pool import NullPool
from sqlalchemy.types import TypeDecorator

import app.models  # noqa: F401  the metadata is empty until every table class is imported
from app.db import APPLICATION, ONE_WRITER, metadata, now
from app.models.job_words import INDEX
from app.paths import folder
from app.triggers import lift_guards, set_guards

# Our own name, so that a database of another program is told apart from a newer one of ours.
VERSION_TABLE = "seatwright_version"
# A new migration is formatted as all code here is.
_FORMAT_HOOK = {
    "hooks": "format",
    "format.type": "module",
    "format.module": "ruff",
    "format.options": "format --quiet REVISION_SCRIPT_FILENAME",
}
_CONNECT_SECONDS = 5
_LOCK_SECONDS = 30


class MigrationError(RuntimeError):
    """The database cannot be brought up to this program; the message is one line."""


@dataclass(frozen=True)
class Migrated:
    """What `upgrade` did: from and to which revision, and the copy it made first."""

    before: str | None
    after: str
    copy: Path | None = None


def config_for(url: str) -> Config:
    """Alembic's configuration for the database at `url`."""
    config = Config(attributes={"url": url})
    config.set_main_option("script_location", str(folder("migrations")).replace("%", "%%"))
    config.set_main_option("file_template", "%%(rev)s_%%(slug)s")
    config.set_main_option("path_separator", "os")
    for name, value in _FORMAT_HOOK.items():
        config.set_section_option("post_write_hooks", name, value)
    return config


def latest() -> str:
    """The revision this program works with."""
    head = ScriptDirectory.from_config(config_for("")).get_current_head()
    if head is None:
        raise MigrationError("This copy of Seatwright is incomplete: it has no migrations")
    return head


def current(url: str) -> str | None:
    """The revision of the database at `url`; None when it is new and empty.

    Raises MigrationError for a database of another program or of a newer Seatwright.
    """
    where = make_url(url)
    if where.drivername == "sqlite" and not _has_content(Path(where.database or "")):
        return None
    with _connection(url) as connection:
        tables = inspect(connection).get_table_names()
        if VERSION_TABLE not in tables:
            if tables:
                raise MigrationError(f"{_name(where)} holds tables of another program")
            return None
        revision = _context(connection).get_current_revision()
    if revision is None:
        return None
    try:
        ScriptDirectory.from_config(config_for(url)).get_revision(revision)
    except CommandError:
        raise MigrationError(
            f"{_name(where)} was written by a newer Seatwright (revision {revision}; this one "
            f"knows up to {latest()}): start the newer program"
        ) from None
    return revision


def servers_at_work(url: str) -> int:
    """How many connections serving processes hold to the PostgreSQL database at `url`."""
    with _connection(url) as connection:
        found = connection.execute(
            text(
                "SELECT count(*) FROM pg_stat_activity"
                " WHERE datname = current_database() AND application_name = :name"
            ),
            {"name": APPLICATION},
        )
        return int(found.scalar_one())


def upgrade(url: str, backups: Path | None = None) -> Migrated:
    """Bring the database at `url` to `latest()`; a SQLite file is copied into `backups` first.

    Each migration is one transaction: one that fails leaves nothing behind.
    """
    before, after = current(url), latest()
    if before == after:
        return Migrated(before, after)
    copy = None
    file = make_url(url).database
    if before is not None and backups is not None and make_url(url).drivername == "sqlite":
        copy = copy_sqlite(Path(str(file)), backups, f"before-{after}")
    command.upgrade(config_for(url), "head")
    return Migrated(before, after, copy)


def copy_sqlite(source: Path, target_folder: Path, why: str) -> Path:
    """A consistent copy of a SQLite file that may be in use; appears whole or not at all.

    Its name ends with the head of the log, so that a copy on a shelf vouches for what is in it.
    """
    stem = f"seatwright-{now():%Y%m%dT%H%M%S%f}Z-{why}"
    part = target_folder / f"{stem}.part"
    try:
        target_folder.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(source)) as db, closing(sqlite3.connect(part)) as copy:
            db.backup(copy)
            # The journal mode travels with the file; a copy must not need companions.
            copy.execute("PRAGMA journal_mode=DELETE")
            verdict = copy.execute("PRAGMA quick_check").fetchone()[0]
            head = _log_head(copy)
        _to_disk(part)
        if verdict != "ok":
            raise MigrationError(f"The copy of {source} did not read back well: {verdict}")
        target = target_folder / f"{stem}-{head}.sqlite3"
        part.replace(target)
    except (sqlite3.Error, OSError) as error:
        raise MigrationError(
            f"{source} could not be copied to {target_folder} ({error}); nothing was changed"
        ) from error
    finally:
        # A disk that filled up leaves the copy's own journal beside it.
        for left in (part, part.with_name(f"{part.name}-journal")):
            with suppress(OSError):
                left.unlink()
    return target


def _to_disk(file: Path) -> None:
    """A copy must be on its disk before it takes its name: the disk may be pulled out."""
    with file.open("rb+") as opened:
        os.fsync(opened.fileno())


def _log_head(db: sqlite3.Connection) -> str:
    if db.execute("SELECT 1 FROM sqlite_master WHERE name = 'event'").fetchone() is None:
        return "nolog"
    newest = db.execute("SELECT hash FROM event ORDER BY id DESC LIMIT 1").fetchone()
    return str(newest[0])[:12] if newest else "empty"


def differences(url: str) -> list[Any]:
    """What autogenerate would still change in the database at `url`: nothing, when up to date."""
    with _connection(url) as connection:
        return list(compare_metadata(_context(connection), metadata))


def guarded(migration: Callable[[], None]) -> Callable[[], None]:
    """Decorates every migration's `upgrade`: the guards are lifted before and set anew after."""

    @functools.wraps(migration)
    def with_guards() -> None:
        lift_guards(op.get_bind())
        migration()
        set_guards(op.get_bind(), metadata)

    with_guards.__dict__["is_guarded"] = True
    return with_guards


def run_environment(context: EnvironmentContext) -> None:
    """The whole of migrations/env.py."""
    with _connection(context.config.attributes["url"]) as connection:
        if connection.dialect.name == "postgresql":
            _write_alone(connection)
        context.configure(
            connection=connection,
            target_metadata=metadata,
            version_table=VERSION_TABLE,
            include_name=_is_compared,
            # Alembic believes SQLite cannot roll back DDL; with an own BEGIN it can.
            transactional_ddl=True,
            transaction_per_migration=True,
            render_as_batch=True,
            render_item=_render_item,
            process_revision_directives=_without_info,
            on_version_apply=_check_foreign_keys,  # type: ignore[arg-type]  # called by name
        )
        with context.begin_transaction():
            context.run_migrations()


def _write_alone(connection: Connection) -> None:
    """Held to the end of the connection: nobody writes while tables change, and a second process
    that starts now waits and then finds nothing to do. Not for ever: the first one may hang."""
    connection.execute(text(f"SET lock_timeout = '{_LOCK_SECONDS}s'"))
    try:
        connection.execute(text("SELECT pg_advisory_lock(:key)"), {"key": ONE_WRITER})
    except OperationalError as error:
        raise MigrationError(
            f"Another Seatwright writes to {_name(connection.engine.url)} and comes to no end: "
            "stop every server of the shop, then start one"
        ) from error
    connection.commit()


def write_next(what: str) -> list[Path]:
    """Write the migration from the newest revision to the models as they are now."""
    with tempfile.TemporaryDirectory() as scratch:
        url = URL.create("sqlite", database=str(Path(scratch, "scratch.sqlite3")))
        config = config_for(url.render_as_string())
        command.upgrade(config, "head")
        count = len(list(ScriptDirectory.from_config(config).walk_revisions()))
        made = command.revision(config, what, autogenerate=True, rev_id=f"{count + 1:04d}")
    scripts = made if isinstance(made, list) else [made]
    return [Path(script.path) for script in scripts if script is not None]


def _has_content(file: Path) -> bool:
    return file.exists() and file.stat().st_size > 0


def _name(url: URL) -> str:
    return url.database or "" if url.drivername == "sqlite" else url.render_as_string()


def _context(connection: Connection) -> MigrationContext:
    return MigrationContext.configure(
        connection, opts={"version_table": VERSION_TABLE, "include_name": _is_compared}
    )


def _is_compared(name: str | None, kind: str, _parents: Any) -> bool:
    """The full-text index is each database's own, and no table or index of the models."""
    return kind not in ("table", "index") or not (name or "").startswith(INDEX)


@contextmanager
def _connection(url: str) -> Iterator[Connection]:
    engine = _engine(url)
    try:
        with engine.connect() as connection:
            yield connection
    finally:
        engine.dispose()


def _engine(url: str) -> Engine:
    """An engine without the app's listeners: foreign keys stay off, or rebuilding a parent
    table in a batch empties its children; and it begins for itself, or a failed migration
    leaves half its tables."""
    if make_url(url).drivername != "sqlite":
        return create_engine(
            url, poolclass=NullPool, connect_args={"connect_timeout": _CONNECT_SECONDS}
        )
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": _LOCK_SECONDS})
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None
    for pragma in ("foreign_keys=OFF", "journal_mode=WAL", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _check_foreign_keys(*, ctx: MigrationContext, **_: Any) -> None:
    """Inside the migration's transaction, because the keys were not watched while it ran."""
    connection = ctx.connection
    if connection is None or connection.dialect.name != "sqlite":
        return
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        table, row, parent, _key = broken[0]
        raise MigrationError(f"{len(broken)} broken references; first: {table} {row} to {parent}")


def _render_item(kind: str, item: Any, _context: AutogenContext) -> str | Literal[False]:
    """Own column types as the plain type below: a migration outlives the code it was made from."""
    if kind == "type" and isinstance(item, TypeDecorator):
        return f"sa.{item.impl!r}"
    return False


_without_info = Rewriter()


@_without_info.rewrites(CreateTableOp)
def _drop_info(_context: MigrationContext, _revision: Any, made: CreateTableOp) -> CreateTableOp:
    """How a table is kept is read from the models, so a migration does not repeat it."""
    made.info = {}
    return made


if __name__ == "__main__":
    for path in write_next(" ".join(sys.argv[1:]) or "change"):
        print(path)

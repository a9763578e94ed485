"""A shop of any size, for benches: `python -m tests.bench.size FOLDER --jobs 10000`.

A few jobs are built through the services (`patterns.py`); the rest are copies of their rows with
other ids, days and figures (`copies.py`), told as years of work (`history.py`). The working frozen
with a bore keeps the figures of its pattern.
"""

from __future__ import annotations

import argparse
import shutil
import sqlite3
import time
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from itertools import chain
from pathlib import Path
from typing import Any

import psycopg

from app.config import Settings
from app.db import Database, now
from app.migrate import copy_sqlite, upgrade
from app.models.job_words import INDEX
from app.queries.job_words import texts_of
from app.services.write import log_head
from app.web.sheet_page import drawer
from tests.bench.copies import TABLES, Copier, read_pattern
from tests.bench.history import History, Start
from tests.bench.patterns import build_patterns, cutters_of, job_ids

VALUES_AT_ONCE = 120


def start(folder: Path, at: datetime | None = None) -> Start:
    """Build the pattern shop in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    settings = Settings(data=folder)
    upgrade(settings.url)
    database = Database(settings.url)
    try:
        build_patterns(database, drawer("http://127.0.0.1:8137"), at or now())
        file = copy_sqlite(folder / "seatwright.sqlite3", folder, "patterns")
        return start_from(database, file, cutters_of(database))
    finally:
        database.close()


def start_from(
    database: Database,
    file: Path,
    cutters: tuple[Sequence[int], Sequence[int]],
    only: frozenset[str] | None = None,
) -> Start:
    """What is copied of any SQLite shop with finished jobs; `file` is it in one piece.

    `cutters` are those of iron and of aluminium; `only` are the tables that are asked for.
    """
    finished, under_way = (job_ids(database, finished=over) for over in (True, False))
    with database.read() as session:
        texts = texts_of(session, finished + under_way)
        head = log_head(session)
    source = sqlite3.connect(file)
    try:
        patterns = [
            [read_pattern(source, one, texts[one], only) for one in ids]
            for ids in (finished, under_way)
        ]
    finally:
        source.close()
    return Start(file, patterns[0], patterns[1], *cutters, head)


def make_sqlite(start: Start, file: Path, jobs: int, at: datetime | None = None) -> None:
    """A SQLite shop of so many jobs at `file`."""
    shutil.copyfile(start.file, file)
    connection = sqlite3.connect(file, isolation_level=None)
    for pragma in (
        "journal_mode=OFF",
        "synchronous=OFF",
        "cache_size=-600000",
        "temp_store=MEMORY",
        "ignore_check_constraints=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")
    indexes = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
    ).fetchall()
    connection.execute("BEGIN")
    for name, _ in indexes:
        connection.execute(f'DROP INDEX "{name}"')
    last_ids = dict(connection.execute("SELECT name, seq FROM sqlite_sequence").fetchall())
    for name, rows in _history(start, jobs, last_ids, at):
        _insert(connection, name, rows)
    for _, sql in indexes:
        connection.execute(sql)
    for statement in _SERIES:
        connection.execute(statement)
    connection.execute(f"INSERT INTO {INDEX} ({INDEX}) VALUES ('rebuild')")
    connection.execute("COMMIT")
    connection.execute("PRAGMA journal_mode=WAL")
    connection.close()


def _insert(connection: sqlite3.Connection, name: str, rows: list[tuple[Any, ...]]) -> None:
    """Several rows a statement: each statement also keeps the table's last id."""
    columns = [f'"{column.name}"' for column in TABLES[name].columns]
    into = f'INSERT INTO "{name}" ({", ".join(columns)}) VALUES '
    row = f"({', '.join('?' * len(columns))})"
    some = max(1, VALUES_AT_ONCE // len(columns))
    whole = len(rows) - len(rows) % some
    connection.executemany(
        into + ", ".join([row] * some),
        (list(chain.from_iterable(rows[n : n + some])) for n in range(0, whole, some)),
    )
    connection.executemany(into + row, rows[whole:])


def make_postgresql(start: Start, url: str, jobs: int, at: datetime | None = None) -> None:
    """The same shop in an empty, migrated PostgreSQL database."""
    source = sqlite3.connect(start.file)
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("SET session_replication_role = replica")
        connection.execute("SET synchronous_commit = off")
        indexes = connection.execute(
            "SELECT i.indexname, i.indexdef FROM pg_indexes i JOIN pg_class c ON "
            "c.relname = i.indexname LEFT JOIN pg_constraint k ON k.conindid = c.oid "
            "WHERE i.schemaname = current_schema() AND k.oid IS NULL"
        ).fetchall()
        for name, _ in indexes:
            connection.execute(f'DROP INDEX "{name}"')
        last_ids = dict(source.execute("SELECT name, seq FROM sqlite_sequence").fetchall())
        for name in TABLES:
            columns = ", ".join(f'"{column.name}"' for column in TABLES[name].columns)
            _copy_in(connection, name, source.execute(f'SELECT {columns} FROM "{name}"'))
        for name, rows in _history(start, jobs, last_ids, at):
            _copy_in(connection, name, rows)
        for _, sql in indexes:
            connection.execute(sql)
        for statement in _SERIES:
            connection.execute(statement)
        for name in TABLES:
            connection.execute(
                f"SELECT setval(pg_get_serial_sequence('\"{name}\"', 'id'), "
                f'greatest(1, (SELECT coalesce(max(id), 1) FROM "{name}")))'
            )
        connection.execute("ANALYZE")
    source.close()


_SERIES = (
    "UPDATE number_series SET last = "
    "(SELECT max(seq) FROM job WHERE job.year = number_series.year)",
    "INSERT INTO number_series (series, year, last) SELECT 'job', year, max(seq) FROM job "
    "WHERE year NOT IN (SELECT year FROM number_series) GROUP BY year",
)


def _copy_in(connection: psycopg.Connection[Any], name: str, rows: Any) -> None:
    columns = ", ".join(f'"{column.name}"' for column in TABLES[name].columns)
    statement = f'COPY "{name}" ({columns}) FROM STDIN'
    with connection.cursor() as cursor, cursor.copy(statement) as into:
        for row in rows:
            into.write_row(row)


def _history(
    start: Start, jobs: int, last_ids: Mapping[str, int], at: datetime | None
) -> Iterator[tuple[str, list[tuple[Any, ...]]]]:
    today = (at or now()).date()
    days = _Days()
    copier = Copier(last_ids, start.log_head, days)  # type: ignore[arg-type]  # read by day only
    for _ in History(start, jobs, copier, today).tell():
        yield from copier.taken()


class _Days(dict[int, str]):
    """The text of a day by its number."""

    def __missing__(self, day: int) -> str:
        self[day] = text = date.fromordinal(day).isoformat()
        return text


def main() -> None:
    """Make shops of the sizes asked for, each in a folder of its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where: FOLDER/JOBS/seatwright.sqlite3")
    parser.add_argument("--jobs", type=int, nargs="+", default=[1000, 10_000])
    parser.add_argument("--postgresql", metavar="URL", help="into this empty database instead")
    options = parser.parse_args()
    began = time.monotonic()
    first = start(options.folder / "patterns")
    print(f"pattern jobs in {time.monotonic() - began:.1f} s", flush=True)
    for jobs in options.jobs:
        began = time.monotonic()
        if options.postgresql:
            make_postgresql(first, options.postgresql, jobs)
            where = options.postgresql
        else:
            file = options.folder / str(jobs) / "seatwright.sqlite3"
            file.parent.mkdir(parents=True, exist_ok=True)
            make_sqlite(first, file, jobs)
            where = f"{file}, {file.stat().st_size / 1e6:.0f} MB"
        print(f"{jobs} jobs in {time.monotonic() - began:.1f} s: {where}", flush=True)


if __name__ == "__main__":
    main()

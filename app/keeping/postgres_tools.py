"""PostgreSQL's own programs, where they are there: they alone copy its databases whole."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

from sqlalchemy import text
from sqlalchemy.engine import URL, make_url

from app.db import Database, now
from app.migrate import MigrationError

LONGEST_SECONDS = 3600
MISSING = (
    "pg_dump is not on this PC, so Seatwright makes no backups of this PostgreSQL database: "
    "install PostgreSQL's client programs, or back it up where it runs"
)


def dump(database: Database, folder: Path, why: str) -> Path:
    """A whole copy by pg_dump, of the very moment whose log's head is in its name."""
    stem = f"seatwright-{now():%Y%m%dT%H%M%S%f}Z-{why}"
    part = folder / f"{stem}.part"
    with database.read() as session:
        newest = session.execute(text("SELECT hash FROM event ORDER BY id DESC LIMIT 1")).scalar()
        snapshot = session.execute(text("SELECT pg_export_snapshot()")).scalar_one()
        try:
            _run(
                ["pg_dump", "--format=custom", f"--snapshot={snapshot}", f"--file={part}"],
                database.url,
            )
            target = folder / f"{stem}-{str(newest or 'empty')[:12]}.pgdump"
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    return target


def restore_dump(url: str, file: Path) -> None:
    """Bring a copy into an empty database: the whole of it, or nothing."""
    _run(
        ["pg_restore", "--single-transaction", "--no-owner", "--exit-on-error", str(file)],
        make_url(url),
    )


def _run(command: list[str], url: URL) -> None:
    program = _program(command[0])
    if program is None:
        raise MigrationError(MISSING.replace("pg_dump", command[0]))
    where = {"--host": url.host, "--port": url.port, "--username": url.username}
    options = [f"{name}={value}" for name, value in where.items() if value]
    options += ["--no-password", f"--dbname={url.database}"]
    environment = os.environ | ({"PGPASSWORD": str(url.password)} if url.password else {})
    try:
        subprocess.run(
            [program, *options, *command[1:]],
            env=environment,
            check=True,
            capture_output=True,
            text=True,
            timeout=LONGEST_SECONDS,
        )
    except subprocess.CalledProcessError as error:
        last = (str(error.stderr).strip().splitlines() or ["no reason given"])[-1]
        raise MigrationError(f"{command[0]}: {last}") from error
    except subprocess.TimeoutExpired as error:
        raise MigrationError(f"{command[0]} did not end within an hour") from error


def _program(name: str) -> str | None:
    """In the path, or where Debian keeps some versions' programs out of it."""
    if found_in_path := shutil.which(name):
        return found_in_path
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(found[-1]) if found else None

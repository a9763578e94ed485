"""Bringing a backup back: looked through first, and what it replaces is kept."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session

from app.config import Settings
from app.db import Database, now
from app.keeping.backups import copy_pictures
from app.keeping.check import check_records, first_line
from app.keeping.copies import Copy, copy_at
from app.keeping.parts import Part
from app.keeping.postgres_tools import restore_dump
from app.migrate import MigrationError, current, upgrade
from app.models.shop import Shop
from app.services.sign_in import end_sign_ins
from app.services.write import Refused, Write, log_head, use_case

SIDE_FILES = ("", "-wal", "-shm", "-journal")


class RestoreFault(RuntimeError):
    """Nothing was replaced; the message says why."""


@dataclass(frozen=True, slots=True)
class Ready:
    """A backup that was looked through and lies ready to take its place."""

    copy: Copy
    url: str
    parts: tuple[Part, ...]

    @property
    def is_in_order(self) -> bool:
        """The check found nothing."""
        return not any(part.faults for part in self.parts)


def make_ready(settings: Settings, file: Path) -> Ready:
    """Bring a backup beside the records, up to this program, and look it through."""
    if not file.is_file():
        raise RestoreFault(f"{file} is not there; nothing was changed")
    copy = copy_at(file)
    is_dump = file.suffix == ".pgdump"
    if is_dump != (settings.database_file is None):
        kind = "PostgreSQL database" if is_dump else "SQLite file"
        raise RestoreFault(
            f"{file.name} is of a {kind}, and these records are kept otherwise; nothing was changed"
        )
    try:
        url = _into_empty(settings, file) if is_dump else _beside(settings, file)
        # Pictures are named by their content: adding what is missing changes nothing that is there.
        _add_pictures(file.parent / "photos", settings.photos)
        with closing(Database(url)) as database:
            parts = tuple(_look(database, settings, copy))
    except (SQLAlchemyError, OSError, MigrationError) as error:
        _forget(_building(settings))
        said = first_line(error) if isinstance(error, SQLAlchemyError) else str(error)
        raise RestoreFault(f"{file.name} cannot be used: {said}; nothing was changed") from error
    return Ready(copy, url, parts)


def put_in_place(settings: Settings, ready: Ready) -> Path | None:
    """The records are the backup's from now on; what was there before is in the folder returned."""
    with closing(Database(ready.url)) as database, database.write() as session:
        note_restored(Write(session, by=None), log_head(session))
    file, kept_in = settings.database_file, None
    if file is None:
        return None
    if file.exists():
        kept_in = settings.data / f"replaced-{now():%Y%m%dT%H%M%S%f}Z"
        kept_in.mkdir()
        for end in SIDE_FILES:
            old = file.with_name(file.name + end)
            if old.exists():
                old.replace(kept_in / old.name)
    _building(settings).replace(file)
    return kept_in


def leave(settings: Settings) -> None:
    """Do without it after all."""
    if settings.database_file is not None:
        _forget(_building(settings))


@use_case
def note_restored(tx: Write, head: str) -> Shop:
    """The log says itself that it was brought back, from which head on. Sign-ins end: some were
    ended since that backup was made, and it does not know of them."""
    shop = tx.session.get(Shop, 1)
    if shop is None:
        raise Refused("This backup holds no shop.")
    tx.log("brought back a backup", shop, from_head=head, sign_ins_ended=end_sign_ins(tx))
    return shop


def _building(settings: Settings) -> Path:
    return settings.data / "restoring.sqlite3"


def _beside(settings: Settings, file: Path) -> str:
    building = _building(settings)
    _forget(building)
    shutil.copyfile(file, building)
    url = f"sqlite:///{building}"
    if current(url) is None:
        raise MigrationError("it holds no records")
    upgrade(url)
    return url


def _into_empty(settings: Settings, file: Path) -> str:
    if current(settings.url) is not None:
        raise MigrationError(
            "the database of SEATWRIGHT_DATABASE_URL holds records already, and they stay as they "
            "are: make a new, empty database and name that one"
        )
    restore_dump(settings.url, file)
    upgrade(settings.url)
    return settings.url


def _look(database: Database, settings: Settings, copy: Copy) -> Iterator[Part]:
    yield from check_records(database, settings.photos)
    with database.read() as session:
        yield _named(session, copy)


def _named(session: Session, copy: Copy) -> Part:
    head = log_head(session)
    if not copy.vouches:
        return Part("Its name", "tells no head of a log: the file was renamed")
    if not head.startswith(copy.head):
        fault = (
            f"its log's head is {head[:12]}, and its name says {copy.head}: it was changed since"
        )
        return Part("Its name", "", (fault,))
    return Part("Its name", f"tells its log's head, {copy.head}")


def _add_pictures(source: Path, target: Path) -> None:
    for file in target.glob("??/*.jpg"):
        # A picture that was damaged here gives way to the backup's.
        better = source / file.parent.name / file.name
        if better.exists() and sha256(file.read_bytes()).hexdigest() != file.stem:
            file.unlink()
    copy_pictures(source, target)


def _forget(building: Path) -> None:
    for end in SIDE_FILES:
        building.with_name(building.name + end).unlink(missing_ok=True)

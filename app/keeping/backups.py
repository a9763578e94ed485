"""Backups: a whole copy of the database while it is in use, and the pictures beside it."""

from __future__ import annotations

import shutil
import sqlite3
import threading
import time
from collections.abc import Iterable
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from pathlib import Path

from sqlmodel import Session, col, select

from app.config import Settings
from app.db import Database, now
from app.keeping.copies import Copy, copies_in, copy_at
from app.keeping.folder import FolderFault, State, look_at_folder, read_state, write_state
from app.keeping.postgres_tools import dump
from app.migrate import MigrationError, copy_sqlite
from app.models.event import Event
from app.services.write import FIRST_PREV, log_head

DAYS, WEEKS, MONTHS = 7, 5, 12
BEFORE_UPGRADES = 5
EVERY = timedelta(hours=2)
AGAIN = timedelta(minutes=30)
# Longer than any copy takes, and another server may be making one.
PART_MAY_GROW = timedelta(days=1)
# How often a bounded look asks for the time: thousands of times a second.
STEPS_BETWEEN_LOOKS = 10_000
BY_HAND, OF_THE_DAY = "by-hand", "day"
HEAD_IN_NAMES, MARK_LENGTH = 12, 32
_one_at_a_time = threading.Lock()


class BackupFault(RuntimeError):
    """No backup was made; the message says why."""


@dataclass(frozen=True, slots=True)
class Made:
    """A backup that was made, and what was not as it should be."""

    copy: Copy
    pictures: int
    fault: str = ""


def shop_mark(session: Session) -> str:
    """What tells this shop's backups from another's: its first event is like no other."""
    first = session.exec(select(Event.hash).order_by(col(Event.id)).limit(1)).first()
    return (first or FIRST_PREV)[:MARK_LENGTH]


def make_backup(database: Database, settings: Settings, why: str, to: Path | None = None) -> Made:
    """Copy the database and the pictures it lacks into the chosen folder, and clear old copies.

    When the chosen folder is not there, the copy is kept in the data folder and the fault told.
    What came of it is written down for the pages. `to` is another folder, for this once.
    """
    with _one_at_a_time:
        state = read_state(settings)
        try:
            made = _make(database, settings, state, why, to)
        except BackupFault as fault:
            write_state(settings, replace(state, fault=str(fault), fault_at=now().isoformat()))
            raise
        if to is None:
            write_state(settings, _written_down(state, made))
        return made


def is_due(settings: Settings, head: str, mark: str, at: datetime) -> bool:
    """Whether something was done since the newest copy where copies belong just now, and it is of
    another day or hours old; what failed is tried again after a while."""
    if head == FIRST_PREV:
        return False
    state, folder = read_state(settings), settings.backups
    if state.failed_at is not None and timedelta(0) <= at - state.failed_at < AGAIN:
        return False
    if state.folder:
        with suppress(FolderFault):
            look_at_folder(Path(state.folder), mark)
            folder = Path(state.folder)
    copies = [copy for copy in copies_in(folder) if copy.vouches and not copy.is_before_upgrade]
    if any(copy.head == head[:HEAD_IN_NAMES] for copy in copies):
        return False
    if not copies:
        return True
    age = at - copies[-1].at
    # A clock that was set back must not keep copies away until it has caught up.
    return age >= EVERY or age < timedelta(0) or _day(copies[-1].at) != _day(at)


def kept(copies: Iterable[Copy], at: datetime, zone: tzinfo | None = None) -> set[Copy]:
    """The copies that stay: the newest of seven days, five weeks and twelve months that have one,
    those before the last upgrades, and whatever a clock that was set back has left ahead."""
    ordered = sorted(copies, key=lambda copy: (copy.at, copy.path.name), reverse=True)
    stay = {copy for copy in ordered if copy.at > at}
    past = [copy for copy in ordered if copy.at <= at]
    upgrades = [copy for copy in past if copy.is_before_upgrade]
    stay.update(upgrades[:BEFORE_UPGRADES])
    daily = [copy for copy in past if copy not in upgrades]
    for count, named in ((DAYS, "%Y-%m-%d"), (WEEKS, "%G-%V"), (MONTHS, "%Y-%m")):
        newest_of: dict[str, Copy] = {}
        for copy in daily:
            newest_of.setdefault(copy.at.astimezone(zone).strftime(named), copy)
        stay.update(list(newest_of.values())[:count])
    return stay


def copy_pictures(source: Path, target: Path) -> int:
    """Pictures that the target lacks; they are named by their content and never change."""
    count = 0
    for file in sorted(source.glob("??/*.jpg")):
        place = target / file.parent.name / file.name
        if place.exists() and place.stat().st_size == file.stat().st_size:
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        part = place.with_suffix(".part")
        shutil.copyfile(file, part)
        part.replace(place)
        count += 1
    return count


def known_copies(settings: Settings) -> list[Copy]:
    """Those in the data folder and in the chosen one, the oldest first."""
    found, chosen = copies_in(settings.backups), read_state(settings).folder
    if chosen:
        found += copies_in(Path(chosen))
    return sorted(found, key=lambda copy: (copy.at, copy.path.name))


def folder_for_upgrades(settings: Settings) -> Path:
    """The chosen folder when it is there, else the data folder's own; of a SQLite database."""
    chosen = read_state(settings).folder
    if not chosen or settings.database_file is None:
        return settings.backups
    try:
        uri = f"{settings.database_file.as_uri()}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True)) as db:
            first = db.execute("SELECT hash FROM event ORDER BY id LIMIT 1").fetchone()
        look_at_folder(Path(chosen), str(first[0])[:MARK_LENGTH] if first else "")
    except (FolderFault, sqlite3.Error):
        return settings.backups
    return Path(chosen)


def newest_good(settings: Settings) -> Copy | None:
    """The newest copy of a SQLite database that reads well from end to end."""
    found = [copy for copy in known_copies(settings) if copy.is_sqlite]
    return next((copy for copy in reversed(found) if not damage(copy.path)), None)


def damage(file: Path, within: float | None = None) -> str:
    """What is wrong with a SQLite file, in its own words; empty when it reads well.

    `within` so many seconds: of a large file only a part is read then; its copies are read whole.
    """
    until = None if within is None else time.monotonic() + within
    try:
        with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as db:
            if until is not None:
                db.set_progress_handler(lambda: time.monotonic() > until, STEPS_BETWEEN_LOOKS)
            found = [str(row[0]) for row in db.execute("PRAGMA quick_check(3)")]
    except sqlite3.OperationalError:
        # Locked, not to be opened, or out of time: that is no damage; it is told where it is met.
        return ""
    except sqlite3.DatabaseError as error:
        return str(error)
    return "" if found == ["ok"] else " / ".join("; ".join(found).split("\n"))[:200]


def _make(database: Database, settings: Settings, state: State, why: str, to: Path | None) -> Made:
    with database.read() as session:
        mark = shop_mark(session)
        head = log_head(session)
    if head == FIRST_PREV:
        raise BackupFault("There is nothing to back up yet: nobody has done anything here")
    folder, fault = settings.backups, ""
    if to is not None:
        folder = to
    elif state.folder:
        try:
            look_at_folder(Path(state.folder), mark)
            folder = Path(state.folder)
        except FolderFault as away:
            fault = f"The folder {state.folder} {away}"
    try:
        copy, pictures = _copy_into(database, settings, folder, why)
    except (OSError, MigrationError) as error:
        if to is not None or folder == settings.backups:
            raise BackupFault(_words(error)) from error
        # A stick that is full or was pulled out: this PC is better than nothing.
        fault = f"The folder {folder} could not take the copy: {_words(error)}"
        try:
            copy, pictures = _copy_into(database, settings, settings.backups, why)
        except (OSError, MigrationError) as here:
            raise BackupFault(f"{fault}; and this PC neither: {_words(here)}") from here
    return Made(copy, pictures, fault)


def _copy_into(database: Database, settings: Settings, folder: Path, why: str) -> tuple[Copy, int]:
    folder.mkdir(parents=True, exist_ok=True)
    file = settings.database_file
    made = copy_at(copy_sqlite(file, folder, why) if file else dump(database, folder, why))
    # In the data folder they are beside the copies already.
    apart = folder != settings.backups
    pictures = copy_pictures(settings.photos, folder / "photos") if apart else 0
    copies = copies_in(folder)
    for old in set(copies) - kept(copies, now()) - {made}:
        old.path.unlink(missing_ok=True)
    _clear_parts(folder)
    return made, pictures


def _clear_parts(folder: Path) -> None:
    """What a copy that was cut off left behind: the power went, or a stick was pulled out."""
    before = (now() - PART_MAY_GROW).timestamp()
    for part in (*folder.glob("seatwright-*.part*"), *folder.glob("photos/??/*.part")):
        with suppress(OSError):
            if part.stat().st_mtime < before:
                part.unlink()


def _written_down(state: State, made: Made) -> State:
    return replace(
        state,
        at=made.copy.at.isoformat(),
        name=made.copy.path.name,
        kept_in=str(made.copy.path.parent),
        head=made.copy.head,
        size=made.copy.path.stat().st_size,
        pictures=made.pictures,
        fault=made.fault,
        fault_at=now().isoformat() if made.fault else "",
        names=tuple(copy.path.name for copy in copies_in(made.copy.path.parent)),
    )


def _day(at: datetime) -> str:
    return at.astimezone().strftime("%Y-%m-%d")


def _words(error: Exception) -> str:
    if isinstance(error, OSError):
        return f"{error.filename or ''}: {error.strerror or error}".lstrip(": ")
    return str(error)

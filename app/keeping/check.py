"""Looking a record through from end to end: what is wrong with it, in words. Changes nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Table, inspect, text
from sqlalchemy.exc import DatabaseError, SQLAlchemyError
from sqlmodel import Session, col, select

from app.db import Database, metadata
from app.keeping.check_log import check_log, check_results, check_sheets, event_of
from app.keeping.parts import Faults, Part
from app.models.head import Head
from app.models.photo import Photo
from app.pictures import file_of
from app.triggers import guard_faults, guards
from app.workflow.stages import stages_of
from app.workflow.words import counted
from app.worksheets.facts import load_sheets

HEADS_AT_ONCE = 40
Look = Callable[[Session], Iterable[Part]]


def check_records(
    database: Database, photos: Path, copies: Iterable[tuple[str, str]] = ()
) -> Iterator[Part]:
    """Every part of the record in turn; `copies` are backups' names with the head in each.

    What cannot be read at all is a fault of its part, and the other parts are still looked at.
    """
    for name, look in looks(database.is_sqlite, photos, copies):
        try:
            with database.read() as session:
                yield from look(session)
        except (SQLAlchemyError, ValueError, LookupError) as error:
            yield Part(name, "", (f"cannot be read to the end: {first_line(error)}",))


def looks(
    is_sqlite: bool, photos: Path, copies: Iterable[tuple[str, str]] = ()
) -> list[tuple[str, Look]]:
    """What a check looks at, in order."""
    return [
        ("The database itself", lambda session: [_database(session, is_sqlite)]),
        ("References", lambda session: [_references(session, is_sqlite)]),
        ("Guards", lambda session: [_guards(session)]),
        ("The log", lambda session: check_log(session, is_sqlite)),
        ("Accepted figures", lambda session: [check_results(session)]),
        ("Issued sheets", lambda session: [check_sheets(session)]),
        ("Pictures", lambda session: [_photos(session, photos)]),
        ("Stages", lambda session: [_stages(session)]),
        ("Backups", lambda session: [_copies(session, copies)]),
    ]


def first_line(error: Exception) -> str:
    """An error's own words, without the statement that met it."""
    said = error.orig if isinstance(error, DatabaseError) else error
    return next(iter(str(said).strip().splitlines()), type(error).__name__)


def _database(session: Session, is_sqlite: bool) -> Part:
    faults = Faults()
    tables = set(inspect(session.connection()).get_table_names())
    for missing in sorted(set(metadata.tables) - tables):
        faults.add(f"the table {missing} is missing")
    if is_sqlite:
        for row in session.execute(text("PRAGMA integrity_check(100)")):
            for words in str(row[0]).splitlines():
                if words != "ok":
                    faults.add(words)
    else:
        for name in sorted(set(metadata.tables) & tables):
            # A damaged page shows itself when it is read.
            session.execute(text(f'SELECT count(t.*::text) FROM "{name}" t'))
    return Part(
        "The database itself", f"{counted(len(tables), 'table')}, read to the end", (*faults,)
    )


def _references(session: Session, is_sqlite: bool) -> Part:
    faults, count = Faults(), 0
    if is_sqlite:
        for table, row, parent, _key in session.execute(text("PRAGMA foreign_key_check")):
            faults.add(f"{table} {row} names a {parent} that is not there")
    for table in metadata.sorted_tables:
        count += len(table.foreign_keys)
        if not is_sqlite:
            for words in _without_parent(session, table):
                faults.add(words)
    return Part("References", f"{counted(count, 'kind')}, none names what is not there", (*faults,))


def _without_parent(session: Session, table: Table) -> Iterator[str]:
    for key in table.foreign_keys:
        child, parent = key.parent.name, key.column
        broken = session.execute(
            text(
                f'SELECT c.id FROM "{table.name}" c LEFT JOIN "{parent.table.name}" p '
                f'ON p."{parent.name}" = c."{child}" '
                f'WHERE c."{child}" IS NOT NULL AND p."{parent.name}" IS NULL'
            )
        )
        for (row,) in broken:
            yield f"{table.name} {row} names a {parent.table.name} that is not there"


def _guards(session: Session) -> Part:
    faults = guard_faults(session.connection(), metadata)
    return Part("Guards", f"{counted(len(guards(metadata)), 'guard')} in place", tuple(faults))


def _photos(session: Session, folder: Path) -> Part:
    faults, count = Faults(), 0
    for photo in session.exec(select(Photo).order_by(col(Photo.id))):
        count += 1
        for digest, which in ((photo.sha256, "picture"), (photo.small_sha256, "small picture")):
            file = file_of(folder, digest)
            try:
                found = sha256(file.read_bytes()).hexdigest()
            except OSError as error:
                why = "is missing" if isinstance(error, FileNotFoundError) else "cannot be read"
                faults.add(f"the file of {which} {photo.id} {why}: {file}")
                continue
            if found != digest:
                faults.add(f"the file of {which} {photo.id} is not as it was taken: {file}")
    return Part("Pictures", f"{counted(count, 'picture')}, as taken", (*faults,))


def _stages(session: Session) -> Part:
    faults, heads, ports, last = Faults(), 0, 0, 0
    while True:
        query = select(Head).where(col(Head.id) > last).order_by(col(Head.id))
        batch = session.exec(query.limit(HEADS_AT_ONCE)).all()
        if not batch:
            break
        # Where readings came since, storing them waits for the next change.
        stored = [head for head in batch if not head.stages_due]
        for sheet in load_sheets(session, stored).values():
            worked = stages_of(sheet.facts)
            for rows in sheet.rows.ports:
                ports += 1
                if rows.port.stage is not worked[rows.label].stage:
                    faults.add(
                        f"position {rows.label} of head {sheet.head.id} is stored as "
                        f"“{rows.port.stage.screen}”, and by its record it is at "
                        f"“{worked[rows.label].stage.screen}”"
                    )
        heads, last = heads + len(batch), batch[-1].id
        session.expunge_all()
    return Part(
        "Stages",
        f"{counted(ports, 'position')} of {counted(heads, 'head')}, as worked from the record",
        (*faults,),
    )


def _copies(session: Session, copies: Iterable[tuple[str, str]]) -> Part:
    faults, count = Faults(), 0
    for name, head in copies:
        count += 1
        if event_of(session, head) is None:
            faults.add(
                f"{name} was made when the log's head was {head}, and the log holds no such event: "
                "it was cut short or written anew since, or the copy is another shop's"
            )
    return Part("Backups", f"{counted(count, 'copy', 'copies')}, each over this log", (*faults,))

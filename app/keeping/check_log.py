"""The log looked through: every event sealed by the next, every figure as the log says it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

from sqlalchemy import func, text
from sqlmodel import Session, col, select

from app.calc.trace import sha256
from app.keeping.parts import Faults, Part, when
from app.models.base import Row
from app.models.event import Event
from app.models.photo import Photo
from app.models.reading import Reading
from app.models.result import Result
from app.models.sheet import Sheet
from app.services.write import FIRST_PREV, event_hash
from app.workflow.words import counted

BATCH = 500
Bodies = Mapping[int, Mapping[str, Any]]
_READINGS = "recorded readings"


def check_log(session: Session, is_sqlite: bool) -> Iterator[Part]:
    """The chain, then what it vouches for: readings, sheets and pictures."""
    chain, readings, sealed = Faults(), Faults(), Faults()
    prev, last, events, figures = FIRST_PREV, 0, 0, 0
    while batch := _events_after(session, last):
        for event in batch:
            if event.prev != prev:
                chain.add(
                    f"just before {_told(event)} the chain is broken: an event was put in, taken "
                    "out or changed there"
                )
            if event_hash(event) != event.hash:
                chain.add(f"{_told(event)} is not as it was written")
            prev = event.hash
        bodies = {event.id: _body(event, chain) for event in batch}
        figures += _compare_readings(session, batch, bodies, readings)
        _compare_sealed(session, batch, bodies, sealed)
        events += len(batch)
        last = batch[-1].id
    if is_sqlite and (missing := _given_ids(session) - last) > 0:
        chain.add(f"the newest {counted(missing, 'event')} of the log are missing")
    stored = session.exec(select(func.count()).select_from(Reading)).one()
    if stored > figures:
        readings.add(f"{counted(stored - figures, 'reading')} that the log does not know")
    head = f", its head is {prev[:16]}" if events else ""
    yield Part("The log", f"{counted(events, 'event')}, each sealed by the next{head}", (*chain,))
    yield Part("Readings", f"{counted(figures, 'reading')}, each as the log says", (*readings,))
    yield Part("What the log names", "sheets and pictures are the ones it names", (*sealed,))


def check_sheets(session: Session) -> Part:
    """Every issued sheet byte for byte, and the log's head that is printed on it."""
    faults, count, last = Faults(), 0, 0
    while True:
        query = select(Sheet).where(col(Sheet.id) > last).order_by(col(Sheet.id)).limit(50)
        batch = session.exec(query).all()
        if not batch:
            break
        for sheet in batch:
            told = f"sheet {sheet.id} ({sheet.kind.screen}, revision {sheet.rev})"
            style = sheet.html.partition("<style>")[2].partition("</style>")[0]
            if sha256(sheet.html) != sheet.sha256:
                faults.add(f"{told} is not as it was issued")
            elif sha256(style) != sheet.style_sha256:
                faults.add(f"{told} does not look as it was issued: its style was changed")
            if sheet.log_head != FIRST_PREV and event_of(session, sheet.log_head) is None:
                faults.add(
                    f"{told} was printed over a log whose head was {sheet.log_head[:16]}, and the "
                    "log holds no such event any more: it was cut short or written anew"
                )
            session.expunge(sheet)
        count, last = count + len(batch), batch[-1].id
    return Part("Issued sheets", f"{counted(count, 'sheet')}, byte for byte as issued", (*faults,))


def check_results(session: Session) -> Part:
    """Every accepted figure with its working, as it was accepted."""
    faults, count, last = Faults(), 0, 0
    while True:
        query = (
            select(Result.id, Result.kind, Result.record, Result.sha256)
            .where(col(Result.id) > last)
            .order_by(col(Result.id))
            .limit(BATCH)
        )
        batch = session.exec(query).all()
        if not batch:
            break
        for result_id, kind, record, digest in batch:
            if sha256(record) != digest:
                faults.add(f"result {result_id} ({kind}) is not as it was accepted")
        count, last = count + len(batch), batch[-1][0]
    return Part("Accepted figures", f"{counted(count, 'result')}, as accepted", (*faults,))


def event_of(session: Session, head: str) -> Event | None:
    """The event whose fingerprint begins so; a copy's name and a tag hold only its beginning."""
    query = select(Event).where(col(Event.hash) >= head, col(Event.hash) < head + "g").limit(1)
    return session.exec(query).first()


def _events_after(session: Session, last: int) -> list[Event]:
    found = session.exec(
        select(Event).where(col(Event.id) > last).order_by(col(Event.id)).limit(BATCH)
    ).all()
    for event in found:
        session.expunge(event)
    return list(found)


def _given_ids(session: Session) -> int:
    """How many events there ever were: SQLite counts them apart from the rows."""
    query = text("SELECT coalesce(max(seq), 0) FROM sqlite_sequence WHERE name = 'event'")
    return int(session.execute(query).scalar_one())


def _told(event: Event) -> str:
    return f"event {event.id} (“{event.verb}”, {when(event.at)})"


def _body(event: Event, faults: Faults) -> Mapping[str, Any]:
    try:
        found = json.loads(event.body)
    except ValueError:
        found = None
    if not isinstance(found, dict):
        faults.add(f"the figures of {_told(event)} cannot be read")
        return {}
    return found


def _compare_readings(
    session: Session,
    batch: Sequence[Event],
    bodies: Mapping[int, Mapping[str, Any]],
    faults: Faults,
) -> int:
    said: dict[int, tuple[str, int]] = {}
    for event in batch:
        if event.verb == _READINGS:
            said |= {one: (what, nm) for one, what, nm in bodies[event.id].get("readings", ())}
    found = _rows(session, Reading, said)
    for reading_id, (quantity, nm) in said.items():
        reading = found.get(reading_id)
        if reading is None:
            faults.add(f"reading {reading_id} is in the log, and is not there any more")
        elif (reading.quantity.value, reading.value.nm) != (quantity, nm):
            faults.add(f"reading {reading_id} is not what the log says was read")
    return len(said)


def _compare_sealed(
    session: Session,
    batch: Sequence[Event],
    bodies: Mapping[int, Mapping[str, Any]],
    faults: Faults,
) -> None:
    for table in (Sheet, Photo):
        name = str(table.__tablename__)
        said = {
            event.subject_id: bodies[event.id]
            for event in batch
            if event.subject == name and event.subject_id and "sha256" in bodies[event.id]
        }
        found = _rows(session, table, said)
        for row_id, body in said.items():
            row = cast(Any, found.get(row_id))
            if row is None:
                faults.add(f"{name} {row_id} is in the log, and is not there any more")
            elif row.sha256 != body["sha256"]:
                faults.add(f"{name} {row_id} is another one than the log names")
            elif isinstance(row, Sheet) and sha256(row.data) != body["data_sha256"]:
                faults.add(f"the figures kept with sheet {row_id} are not those it was issued with")


def _rows(session: Session, table: type[Row], ids: Mapping[int, object]) -> dict[int, Any]:
    wanted, found = sorted(ids), {}
    for start in range(0, len(wanted), BATCH):
        some = wanted[start : start + BATCH]
        for row in session.exec(select(table).where(col(table.id).in_(some))):
            found[row.id] = row
    for row in found.values():
        session.expunge(row)
    return found

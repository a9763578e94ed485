"""Readings: recorded once, never changed; a slip is struck, a doubtful one kept with a reason."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from secrets import token_hex
from typing import Any

from sqlmodel import col, select

from app.calc.units import Length
from app.forms.earlier import ReadEarlier
from app.forms.readings import Clash, Entry
from app.models.base import Row
from app.models.head import Head, Port
from app.models.person import Person
from app.models.port_pass import PortPass
from app.models.reading import Reading, ReadingKept, ReadingSet, ReadingStrike
from app.models.ring import Ring, RingSet
from app.services.earlier import Taken, taken
from app.services.stages import refresh_stages, stages_due
from app.services.stale import unsettle_readings
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import ReadingKind
from app.worksheets.cells import Cell
from app.worksheets.readings import Kept, Readings, Subject, load_readings

TYPED_AGAIN = "typed again"
TAKEN_OUT = "taken out of its field"


@dataclass(frozen=True, slots=True)
class ReadWith:
    """The instrument, its master, the temperatures of part and gauge; when, if not now."""

    instrument_id: int | None = None
    zeroed_on: Length | None = None
    part_c: float | None = None
    gauge_c: float | None = None
    method: str = ""
    earlier: ReadEarlier | None = None
    typed_by_id: int | None = None


PLAIN = ReadWith()
# A reading that waited no longer than this on its tablet was read when it came.
AT_ONCE = timedelta(minutes=1)


class Clashed(Refused):
    """Another reading arrived at this field after the page was opened that typed differently."""

    def __init__(self, message: str, entry: Entry, there: Kept) -> None:
        super().__init__(message, entry.cell.name)
        self.clash = Clash(entry.cell.label, entry.typed, there)


@use_case
def record_readings(
    tx: Write,
    about: Row,
    entries: Sequence[Entry],
    read_with: ReadWith = PLAIN,
) -> Row:
    """Keep what was typed in a grid; `about` is the head, ring set or pass whose page it was.

    A page that was sent as it was kept changes nothing, and nothing is logged.

    A figure typed over a kept one strikes it. When another reading arrived in the meantime at a
    field that was typed differently, nothing is kept and both figures are named. What a tablet
    sends a second time, because no answer came, is recorded once.
    """
    entries = not_kept_yet(tx, entries)
    current = _current(tx, entries)
    when = _typed_by(tx, read_with.typed_by_id, taken(tx, read_with.earlier, about))
    sets: dict[tuple[Subject, ReadingKind], ReadingSet] = {}
    recorded: list[Reading] = []
    struck: list[int] = []
    for entry in entries:
        readings = current[entry.cell.subject, entry.cell.kind]
        there = readings.at(entry.cell.column.quantity, entry.cell.column.place)
        if _is_as_kept(entry, there) or _was_not_touched(tx, entry, readings):
            continue
        _refuse_clash(tx, entry, there)
        if there is not None and (entry.value is not None or entry.had_id == there.id):
            reason = TYPED_AGAIN if entry.value is not None else TAKEN_OUT
            tx.session.add(
                ReadingStrike(reading_id=there.id, reason=reason, by_id=tx.by_id, at=tx.at)
            )
            struck.append(there.id)
        if entry.value is not None:
            recorded.append(
                _record(tx, entry, _set_for(tx, entry.cell, readings, read_with, sets), when)
            )
    if not recorded and not struck:
        return tx.leave(about)
    tx.session.flush()
    unsettle_readings(tx, struck, "a reading under it was typed again")
    if struck:
        _after(tx, about)
    else:
        stages_due(tx, _head_ids(tx, about))
    tx.log(
        "recorded readings",
        about,
        **_belongs(tx, about),
        readings=[[reading.id, reading.quantity, reading.value.nm] for reading in recorded],
        struck=struck,
    )
    return about


def not_kept_yet(tx: Write, entries: Sequence[Entry]) -> Sequence[Entry]:
    """Those that did not arrive before under the very key that their tablet gave them."""
    keys = [entry.key for entry in entries if entry.key]
    if not keys:
        return entries
    kept = set(
        tx.session.exec(select(Reading.client_key).where(col(Reading.client_key).in_(keys))).all()
    )
    return [entry for entry in entries if not entry.key or entry.key not in kept]


@use_case
def read_afresh(tx: Write, about: Row, subject: Subject, kind: ReadingKind) -> Row:
    """Start a kind of reading over: what was read before stays on record but no longer counts."""
    before = load_readings(tx.session, kind, subject.kind, [subject.id])[subject.id]
    afresh = ReadingSet(kind=kind, is_afresh=True, by_id=tx.by_id, at=tx.at)
    setattr(afresh, subject.column, subject.id)
    tx.add(afresh)
    unsettle_readings(tx, [kept.id for kept in before.counting], "it was read from the start again")
    _after(tx, about)
    tx.log("started readings afresh", about, **_belongs(tx, about), kind=kind, on=subject.id)
    return about


@use_case
def strike_reading(tx: Write, reading_id: int, reason: str, about: Row) -> Row:
    """Say that a reading no longer counts; what was accepted on it no longer stands."""
    reading = _get(tx, reading_id)
    if tx.session.exec(
        select(ReadingStrike.id).where(ReadingStrike.reading_id == reading_id)
    ).first():
        raise Refused("This reading was already struck; nothing was changed.")
    tx.session.add(ReadingStrike(reading_id=reading_id, reason=reason, by_id=tx.by_id, at=tx.at))
    tx.session.flush()
    unsettle_readings(tx, [reading_id], f"a reading under it was struck: {reason}")
    _after(tx, about)
    tx.log(
        "struck a reading",
        about,
        **_belongs(tx, about),
        reading=reading_id,
        value=reading.value.nm,
        reason=reason,
    )
    return about


@use_case
def keep_reading(tx: Write, reading_id: int, reason: str, about: Row) -> Row:
    """Keep a doubtful reading after looking again; figures are worked from it from now on."""
    _get(tx, reading_id)
    if tx.session.exec(select(ReadingKept.id).where(ReadingKept.reading_id == reading_id)).first():
        raise Refused("This reading was already kept; nothing was changed.")
    tx.session.add(ReadingKept(reading_id=reading_id, reason=reason, by_id=tx.by_id, at=tx.at))
    tx.session.flush()
    _after(tx, about)
    tx.log(
        "kept a doubtful reading", about, **_belongs(tx, about), reading=reading_id, reason=reason
    )
    return about


def _head_ids(tx: Write, about: Row) -> set[int]:
    """The heads whose stages may change with readings on this page's subject."""
    if isinstance(about, Head):
        return {about.id}
    ports = select(Port.head_id)
    if isinstance(about, PortPass):
        ports = ports.where(Port.id == about.port_id)
    elif isinstance(about, RingSet):
        ports = ports.where(Port.ring_set_id == about.id)
    elif isinstance(about, Ring):
        ports = ports.where(Port.ring_set_id == about.ring_set_id)
    elif isinstance(about, Port):
        ports = ports.where(Port.id == about.id)
    else:
        return set()
    return set(tx.session.exec(ports).all())


def _after(tx: Write, about: Row) -> None:
    for head_id in _head_ids(tx, about):
        refresh_stages(tx, tx.session.get_one(Head, head_id))


def _current(tx: Write, entries: Iterable[Entry]) -> dict[tuple[Subject, ReadingKind], Readings]:
    """Read again inside the write: the page's own view may be old."""
    wanted: dict[tuple[str, ReadingKind], set[int]] = {}
    for entry in entries:
        key = (entry.cell.subject.kind, entry.cell.kind)
        wanted.setdefault(key, set()).add(entry.cell.subject.id)
    return {
        (found.subject, kind): found
        for (subject, kind), ids in wanted.items()
        for found in load_readings(tx.session, kind, subject, ids).values()  # type: ignore[arg-type]
    }


def _is_as_kept(entry: Entry, there: Kept | None) -> bool:
    if there is None:
        return entry.value is None
    return entry.value == there.value and entry.typed == there.typed


def _was_not_touched(tx: Write, entry: Entry, readings: Readings) -> bool:
    """The page still shows what was struck or read afresh elsewhere: nobody typed it now."""
    if entry.had_id is None or entry.value is None:
        return False
    if any(kept.id == entry.had_id and kept.counts for kept in readings.all):
        return False
    had = tx.session.get(Reading, entry.had_id)
    return had is not None and had.typed == entry.typed


def _refuse_clash(tx: Write, entry: Entry, there: Kept | None) -> None:
    if there is None or entry.had_id == there.id:
        return
    if entry.value is None:
        if _was_taken_out(tx, entry):
            return
        raise Clashed(
            f"{entry.cell.label}: {there.typed} was read here by {there.typed_by} after this page "
            "was opened. It was kept; empty the field again to take it out.",
            entry,
            there,
        )
    raise Clashed(
        f"{entry.cell.label}: {there.typed_by} read {there.typed} here after this page was "
        f"opened, and {entry.typed} was typed now. {entry.typed} is not stored yet: choose which "
        "of the two counts.",
        entry,
        there,
    )


def _was_taken_out(tx: Write, entry: Entry) -> bool:
    """The kept reading that was to be taken out is out already: an answer got lost."""
    had = select(ReadingStrike.reason).where(ReadingStrike.reading_id == entry.had_id)
    return tx.session.exec(had).first() == TAKEN_OUT


def _set_for(
    tx: Write,
    cell: Cell,
    readings: Readings,
    read_with: ReadWith,
    sets: dict[tuple[Subject, ReadingKind], ReadingSet],
) -> ReadingSet:
    """The set that these readings join: a new one when the instrument or temperature differs."""
    key = (cell.subject, cell.kind)
    if key in sets:
        return sets[key]
    newest = readings.set
    if newest is None or _differs(newest, read_with):
        newest = ReadingSet(
            kind=cell.kind,
            with_instrument_id=read_with.instrument_id,
            zeroed_on=read_with.zeroed_on,
            part_temperature_c=read_with.part_c,
            gauge_temperature_c=read_with.gauge_c,
            method=read_with.method,
            by_id=tx.by_id,
            at=tx.at,
        )
        setattr(newest, cell.subject.column, cell.subject.id)
        tx.add(newest)
    sets[key] = newest
    return newest


def _differs(found: ReadingSet, read_with: ReadWith) -> bool:
    return (
        found.with_instrument_id,
        found.zeroed_on,
        found.part_temperature_c,
        found.gauge_temperature_c,
        found.method,
    ) != (
        read_with.instrument_id,
        read_with.zeroed_on,
        read_with.part_c,
        read_with.gauge_c,
        read_with.method,
    )


def _typed_by(tx: Write, person_id: int | None, when: Taken) -> Taken:
    """What waited on a tablet is of whoever typed it, and sent by whoever is signed in now."""
    if person_id is None or person_id == tx.by_id or when.by_id != tx.by_id:
        return when
    if tx.session.get(Person, person_id) is None:
        raise Refused("There is no such person; nothing was stored.")
    return Taken(when.at, person_id)


def _record(tx: Write, entry: Entry, into: ReadingSet, when: Taken) -> Reading:
    assert entry.value is not None
    key = entry.key or f"{tx.client_key or token_hex(12)}.{entry.cell.name}"
    is_late = when.at == tx.at and entry.waited > AT_ONCE
    reading = Reading(
        reading_set_id=into.id,
        quantity=entry.cell.column.quantity,
        place=entry.cell.column.place,
        nth=1,
        value=entry.value,
        typed=entry.typed,
        unit=entry.cell.unit,
        typed_by_id=when.by_id,
        sent_by_id=tx.by_id,
        taken_at=tx.at - entry.waited if is_late else when.at,
        kept_at=tx.at,
        client_key=key[:100],
    )
    tx.session.add(reading)
    return reading


def _get(tx: Write, reading_id: int) -> Reading:
    found = tx.session.get(Reading, reading_id)
    if found is None:
        raise NotFound("There is no such reading.")
    return found


def _belongs(tx: Write, about: Row) -> dict[str, Any]:
    """The job, head and position that readings of this subject are about, for the log."""
    port = about if isinstance(about, Port) else None
    if isinstance(about, PortPass):
        port = tx.session.get(Port, about.port_id)
    head = about if isinstance(about, Head) else None
    if port is not None:
        head = tx.session.get(Head, port.head_id)
    owner = tx.session.get(RingSet, about.ring_set_id) if isinstance(about, Ring) else head or about
    return {"job": getattr(owner, "job_id", None), "head": head, "port": port}

"""One tool of the crib with its past: tips and overcut, diameters, checks."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, func, select

from app.calc.units import Length
from app.models.crib import (
    Cutter,
    Fixture,
    Instrument,
    InstrumentCheck,
    Machine,
    Pilot,
    TipChange,
)
from app.models.event import Event
from app.models.person import Person
from app.models.reading import Reading, ReadingSet
from app.queries.crib import CutterLine, InstrumentLine, cutter_lines, instrument_line
from app.queries.overcut import MaterialRecord, overcut_records

T = TypeVar("T", Machine, Cutter, Pilot, Fixture, Instrument)


@dataclass(frozen=True, slots=True)
class Done:
    """One change of a tool, told from the log."""

    verb: str
    by: str
    at: datetime
    because: str


@dataclass(frozen=True, slots=True)
class CutterView:
    """A cutter's page."""

    line: CutterLine
    tips: Sequence[tuple[TipChange, str]]
    records: list[MaterialRecord]
    done: list[Done]


@dataclass(frozen=True, slots=True)
class Measured:
    """A pilot's diameters as they were read on one day."""

    guide: Length
    shank: Length
    on: str
    by: str


@dataclass(frozen=True, slots=True)
class InstrumentView:
    """An instrument's page."""

    line: InstrumentLine
    checks: Sequence[tuple[InstrumentCheck, str]]
    readings_in_doubt: int
    done: list[Done]


def find_tool(session: Session, table: type[T], tool_id: int) -> T | None:
    """The tool, retired or not."""
    return session.get(table, tool_id)


def show_cutter(session: Session, cutter: Cutter, unit: str) -> CutterView:
    """A cutter with every tip it had and what the present one cuts."""
    tips = session.exec(
        select(TipChange, Person.name)
        .join(Person, col(Person.id) == col(TipChange.by_id))
        .where(TipChange.cutter_id == cutter.id)
        .order_by(col(TipChange.id).desc())
    ).all()
    return CutterView(
        line=cutter_lines(session, [cutter])[0],
        tips=tips,
        records=overcut_records(session, cutter, unit),
        done=tool_history(session, cutter),
    )


def show_instrument(
    session: Session, instrument: Instrument, zone: ZoneInfo, today: date
) -> InstrumentView:
    """An instrument with its checks, and what was read with it since the last that held."""
    checks = session.exec(
        select(InstrumentCheck, Person.name)
        .join(Person, col(Person.id) == col(InstrumentCheck.by_id))
        .where(InstrumentCheck.instrument_id == instrument.id)
        .order_by(col(InstrumentCheck.id).desc())
        .limit(40)
    ).all()
    newest = checks[0][0] if checks else None
    doubtful = 0
    if newest is not None and not newest.is_within:
        doubtful = _read_since_it_held(session, instrument.id)
    return InstrumentView(
        line=instrument_line(instrument, newest, zone, today),
        checks=checks,
        readings_in_doubt=doubtful,
        done=tool_history(session, instrument),
    )


def pilot_sizes(session: Session, pilot: Pilot) -> list[Measured]:
    """What a pilot measured over the years, newest first, from the log."""
    found = session.exec(
        select(Event.body, Person.name)
        .join(Person, col(Person.id) == col(Event.by_id))
        .where(
            col(Event.job_id).is_(None),
            Event.subject == "pilot",
            Event.subject_id == pilot.id,
            col(Event.verb).in_(["added a pilot", "measured a pilot"]),
        )
        .order_by(col(Event.id).desc())
    )
    return [
        Measured(
            guide=Length(body["guide"]["nm"]),
            shank=Length(body["shank"]["nm"]),
            on=body["measured_on"],
            by=name,
        )
        for body, name in ((json.loads(text), name) for text, name in found)
    ]


def tool_history(
    session: Session, tool: Machine | Cutter | Pilot | Fixture | Instrument
) -> list[Done]:
    """Who changed it, newest first."""
    return [
        Done(verb, name, at, json.loads(body).get("because", ""))
        for verb, body, at, name in session.exec(
            select(Event.verb, Event.body, Event.at, Person.name)
            .join(Person, col(Person.id) == col(Event.by_id))
            .where(
                # Indexed, and few of the log's events are about no job.
                col(Event.job_id).is_(None),
                Event.subject == tool.__tablename__,
                Event.subject_id == tool.id,
            )
            .order_by(col(Event.id).desc())
            .limit(40)
        )
    ]


def _read_since_it_held(session: Session, instrument_id: int) -> int:
    held = session.exec(
        select(func.max(col(InstrumentCheck.at))).where(
            InstrumentCheck.instrument_id == instrument_id, col(InstrumentCheck.is_within)
        )
    ).one()
    count = (
        select(func.count())
        .select_from(Reading)
        .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
        .where(ReadingSet.with_instrument_id == instrument_id)
    )
    if held is not None:
        count = count.where(col(Reading.taken_at) > held)
    return session.exec(count).one()

"""What was done on a job, newest first, as a person reads it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Self

from sqlmodel import Session, col, select

from app.calc.units import Length
from app.models.event import Event
from app.models.head import Head, Port
from app.models.job import Job, PriceLine
from app.models.person import Person
from app.workflow.gate_table import GATES
from app.workflow.kinds import Quantity, Verdict
from app.workflow.parts import NOTHING
from app.workflow.words import MONTHS, listed, money

MOST_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Happened:
    """One event: when, who, what, and about what."""

    id: int
    at: datetime
    by: str
    words: str
    about: str
    figures: str


def history(session: Session, job_id: int, before: int | None = None) -> list[Happened]:
    """The newest events of a job; `before` is the id of the last one shown."""
    query = (
        select(Event, Person.name, Head.name, Port.label)
        .join(Person, col(Person.id) == col(Event.by_id), isouter=True)
        .join(Head, col(Head.id) == col(Event.head_id), isouter=True)
        .join(Port, col(Port.id) == col(Event.port_id), isouter=True)
        .where(Event.job_id == job_id)
        .order_by(col(Event.id).desc())
        .limit(MOST_SHOWN)
    )
    if before is not None:
        query = query.where(col(Event.id) < before)
    rows = session.exec(query).all()
    bodies: dict[int, dict[str, Any]] = {event.id: json.loads(event.body) for event, *_ in rows}
    names = _Names.of(session, job_id, [event for event, *_ in rows], bodies)
    return [
        Happened(
            id=event.id,
            at=event.at,
            by=name or "the shop's PC",
            words=event.verb,
            about=label or head or "",
            figures=names.figures(event, bodies[event.id]),
        )
        for event, name, head, label in rows
    ]


@dataclass(frozen=True, slots=True)
class _Names:
    """What events name only by id: price lines, positions; and the job's unit."""

    unit: str
    lines: Mapping[int, str]
    ports: Mapping[int, str]

    @classmethod
    def of(
        cls,
        session: Session,
        job_id: int,
        events: Sequence[Event],
        bodies: Mapping[int, Mapping[str, Any]],
    ) -> Self:
        """Gathered for a page of events at once."""
        job = session.get(Job, job_id)
        line_ids = [each.subject_id for each in events if each.subject == PriceLine.__tablename__]
        port_ids = {port for body in bodies.values() for port in _numbers(body.get("ports"))}
        return cls(
            unit=job.unit.value if job else "in",
            lines=dict(
                session.exec(
                    select(PriceLine.id, PriceLine.text).where(col(PriceLine.id).in_(line_ids))
                ).all()
            )
            if line_ids
            else {},
            ports=dict(
                session.exec(select(Port.id, Port.label).where(col(Port.id).in_(port_ids))).all()
            )
            if port_ids
            else {},
        )

    def figures(self, event: Event, body: Mapping[str, Any]) -> str:
        """The few figures of an event that the counter wants to read."""
        told = [self.lines.get(event.subject_id or 0, "")] if event.subject == "price_line" else []
        told += [self._judged(body), self._not_done(body)]
        told += [
            _FIGURES[name](body[name]) for name in _FIGURES if body.get(name) not in (None, "", [])
        ]
        return ", ".join(text for text in told if text)

    def _judged(self, body: Mapping[str, Any]) -> str:
        """``inside the window, interference .0046 in``."""
        verdict, interference = body.get("verdict"), body.get("interference")
        if verdict not in set(Verdict) or not isinstance(interference, dict):
            return ""
        size = Length(interference["nm"]).shown(self.unit, 5, 4)
        return f"{Verdict(verdict).screen}, interference {size} {self.unit}"

    def _not_done(self, body: Mapping[str, Any]) -> str:
        """``2E and 3E: wall behind the counterbore: no thickness gauge here``."""
        points = body.get("points")
        if not isinstance(points, list):
            return ""
        at = listed(
            [self.ports[port] for port in _numbers(body.get("ports")) if port in self.ports]
        )
        what = listed([_POINTS[key] for key in points if key in _POINTS])
        return ": ".join(filter(None, [at, what, str(body.get("because") or "")]))


def _numbers(given: object) -> list[int]:
    return [each for each in given if isinstance(each, int)] if isinstance(given, list) else []


# The same point may stand at two gates; it is called the same at both.
_POINTS = {line.key: line.screen for version in GATES.values() for line in version}


def _readings(rows: list[list[Any]]) -> str:
    """``8 of stem height, 8 of guide bore``."""
    counts = Counter(quantity for _, quantity, _ in rows if quantity in set(Quantity))
    return ", ".join(f"{count} of {Quantity(each).screen}" for each, count in counts.items())


def _day(text: str) -> str:
    day = date.fromisoformat(text)
    return f"{day.day} {MONTHS[day.month - 1]}"


def _positions(rows: list[list[str]]) -> str:
    return f"{len(rows)} changed" if rows else ""


def _counts(rows: list[list[Any]]) -> str:
    return ", ".join(what if what == NOTHING else f"{pieces} {what}" for what, pieces in rows)


_FIGURES: dict[str, Any] = {
    "limit": lambda minor: f"up to {money(minor)}" if isinstance(minor, int) else "",
    "amount": lambda minor: money(minor) if isinstance(minor, int) else "",
    "promised": lambda day: f"for {_day(day)}",
    "place": lambda place: f"at {place}" if isinstance(place, str) else "",
    "casting": str,
    "seats": str,
    "layout": str,
    "waiting": lambda word: f"for {word}" if isinstance(word, str) else "",
    "ended": lambda word: str(word).replace("_", " "),
    "counts": _counts,
    "readings": lambda rows: _readings(rows) if isinstance(rows, list) else "",
    "struck": lambda rows: f"{len(rows)} struck" if isinstance(rows, list) else "",
    "positions": lambda rows: _positions(rows) if isinstance(rows, list) else "",
}

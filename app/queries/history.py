"""What was done on a job, newest first, as a person reads it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from app.models.event import Event
from app.models.head import Head, Port
from app.models.person import Person
from app.workflow.words import MONTHS, money

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
    return [
        Happened(
            id=event.id,
            at=event.at,
            by=name or "the shop's PC",
            words=event.verb,
            about=label or head or "",
            figures=figures_of(event),
        )
        for event, name, head, label in session.exec(query)
    ]


def figures_of(event: Event) -> str:
    """The few figures of an event that the counter wants to read."""
    body: dict[str, Any] = json.loads(event.body)
    told = [_FIGURES[name](body[name]) for name in _FIGURES if body.get(name) not in (None, "", [])]
    return ", ".join(text for text in told if text)


def _day(text: str) -> str:
    day = date.fromisoformat(text)
    return f"{day.day} {MONTHS[day.month - 1]}"


def _positions(rows: list[list[str]]) -> str:
    return f"{len(rows)} changed" if rows else ""


def _counts(rows: list[list[Any]]) -> str:
    return ", ".join(f"{pieces} {what}" for what, pieces in rows)


_FIGURES: dict[str, Any] = {
    "limit": lambda minor: f"up to {money(minor)}" if isinstance(minor, int) else "",
    "amount": lambda minor: money(minor) if isinstance(minor, int) else "",
    "promised": lambda day: f"for {_day(day)}",
    "place": lambda place: f"at {place}" if isinstance(place, str) else "",
    "casting": str,
    "layout": str,
    "waiting": lambda word: f"for {word}" if isinstance(word, str) else "",
    "ended": lambda word: str(word).replace("_", " "),
    "counts": _counts,
    "positions": lambda rows: _positions(rows) if isinstance(rows, list) else "",
}

"""What was done on a job, newest first, as a person reads it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from app.models.event import Event
from app.models.head import Head, Port
from app.models.person import Person
from app.queries.history_figures import Names

MOST_SHOWN = 40
# Readings that were taken in one go with what is logged after them: told in one line.
_WITH_READINGS = ("gauged a bore", "measured guides")


@dataclass(frozen=True, slots=True)
class Happened:
    """One event: when, who, what, and about what."""

    id: int
    at: datetime
    by: str
    words: str
    about: str
    figures: str


def history(
    session: Session, job_id: int, before: int | None = None, most: int = MOST_SHOWN
) -> list[Happened]:
    """The newest events of a job; `before` is the id of the last one shown."""
    query = (
        select(Event, Person.name, Head.name, Port.label)
        .join(Person, col(Person.id) == col(Event.by_id), isouter=True)
        .join(Head, col(Head.id) == col(Event.head_id), isouter=True)
        .join(Port, col(Port.id) == col(Event.port_id), isouter=True)
        .where(Event.job_id == job_id)
        .order_by(col(Event.id).desc())
        .limit(most)
    )
    if before is not None:
        query = query.where(col(Event.id) < before)
    rows = session.exec(query).all()
    bodies: dict[int, dict[str, Any]] = {event.id: json.loads(event.body) for event, *_ in rows}
    names = Names.of(session, job_id, [event for event, *_ in rows], bodies)
    told = [
        Happened(
            id=event.id,
            at=event.at,
            by=name or "the shop's PC",
            words=event.verb,
            about=" ".join(filter(None, [head, label])),
            figures=names.figures(event, bodies[event.id]),
        )
        for event, name, head, label in rows
    ]
    return list(_in_one_line(told))


def is_earlier(session: Session, job_id: int, event_id: int) -> bool:
    """Whether something was done on the job before this event."""
    query = select(Event.id).where(Event.job_id == job_id, col(Event.id) < event_id).limit(1)
    return session.exec(query).first() is not None


def _in_one_line(told: Iterable[Happened]) -> Iterator[Happened]:
    later: Happened | None = None
    for each in told:
        if later is not None:
            same = (each.at, each.by, each.about) == (later.at, later.by, later.about)
            if same and later.words in _WITH_READINGS and each.words == "recorded readings":
                figures = ", ".join(filter(None, [later.figures, each.figures]))
                yield replace(later, id=each.id, figures=figures)
                later = None
                continue
            yield later
        later = each
    if later is not None:
        yield later

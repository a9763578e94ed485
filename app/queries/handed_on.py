"""Notes handed on from one person to the next, until somebody took them."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.head import Head, Port
from app.models.job import Job, Note, NoteTaken
from app.models.person import Person
from app.queries.people import readers
from app.workflow.kinds import NoteKind

MOST_SHOWN = 40


@dataclass(frozen=True, slots=True)
class HandedOn:
    """One note that waits for the next person."""

    note: Note
    number: str
    by: str
    for_whom: str  # empty: whoever goes on
    about: str


def colleagues(session: Session, own_id: int = 0) -> list[tuple[int, str]]:
    """Everyone who works here, but oneself, by name."""
    rows = session.exec(
        select(Person.id, Person.name)
        .where(col(Person.retired_at).is_(None), col(Person.id) != own_id)
        .order_by(col(Person.name))
    )
    return list(rows)


def number_of_note(session: Session, note_id: int) -> str:
    """The job that a note is about; empty when there is no such note."""
    found = session.exec(
        select(Job.number).join(Note, col(Note.job_id) == col(Job.id)).where(Note.id == note_id)
    ).first()
    return found or ""


def handed_on(
    session: Session,
    *,
    job_id: int | None = None,
    number: str = "",
    head_id: int | None = None,
    port_id: int | None = None,
) -> list[HandedOn]:
    """Those not taken yet, oldest first: of one job however it is named, else of all open jobs."""
    query = (
        select(Note, Job.number, Head.name, Port.label)
        .join(Job, col(Job.id) == col(Note.job_id))
        .outerjoin(Head, col(Head.id) == col(Note.head_id))
        .outerjoin(Port, col(Port.id) == col(Note.port_id))
        .outerjoin(NoteTaken, col(NoteTaken.note_id) == col(Note.id))
        .where(Note.kind == NoteKind.HAND_ON, col(NoteTaken.id).is_(None))
        .order_by(col(Note.id))
        .limit(MOST_SHOWN)
    )
    if port_id is not None:
        of_port = select(Head.job_id).join(Port, col(Port.head_id) == col(Head.id))
        query = query.where(col(Note.job_id).in_(of_port.where(Port.id == port_id)))
    elif head_id is not None:
        query = query.where(col(Note.job_id).in_(select(Head.job_id).where(Head.id == head_id)))
    elif job_id is not None:
        query = query.where(Note.job_id == job_id)
    elif number:
        query = query.where(Job.number == number)
    else:
        query = query.where(col(Job.ended_at).is_(None))
    rows = session.exec(query).all()
    names = dict(readers(session)) if rows else {}
    return [
        HandedOn(
            note=note,
            number=job,
            by=names[note.by_id],
            for_whom=names.get(note.for_id or 0, ""),
            about=" ".join(filter(None, [head, label])),
        )
        for note, job, head, label in rows
    ]

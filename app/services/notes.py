"""Notes and calls, also on jobs that are over."""

from __future__ import annotations

from sqlmodel import select

from app.forms.notes import NoteForm
from app.models.head import Head, Port
from app.models.job import Job, Note, NoteTaken
from app.models.person import Person
from app.services.owned import the_job
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import NoteKind

_VERBS = {NoteKind.NOTE: "wrote a note", NoteKind.HAND_ON: "handed it on"}


@use_case
def write_note(tx: Write, number: str, form: NoteForm) -> Note:
    """Write down a note or a call, about the job, a head or a position."""
    job = the_job(tx.session, number)
    head, port = _about(tx, job, form)
    note = tx.add(
        Note(
            by_id=tx.by_id,
            at=tx.at,
            job_id=job.id,
            head_id=head.id if head else None,
            port_id=port.id if port else None,
            kind=form.kind,
            text=form.words,
            for_id=_colleague(tx, form.for_id),
        )
    )
    tx.log(
        _VERBS.get(form.kind, "noted a call"),
        note,
        job=job,
        head=head,
        port=port,
        kind=form.kind,
    )
    return note


@use_case
def take_note(tx: Write, note_id: int) -> NoteTaken:
    """Take a note that was handed on: read and taken, it leaves the top of the pages."""
    note = tx.session.get(Note, note_id)
    if note is None or note.kind is not NoteKind.HAND_ON:
        raise NotFound("There is no such note that was handed on.")
    if tx.session.exec(select(NoteTaken).where(NoteTaken.note_id == note.id)).first():
        raise Refused("This note was taken already; it stands among the notes of the job.")
    taken = tx.add(NoteTaken(by_id=tx.by_id, at=tx.at, note_id=note.id))
    tx.log(
        "took back a note" if note.by_id == tx.by_id else "took a note that was handed on",
        taken,
        job=note.job_id,
        head=note.head_id,
        port=note.port_id,
        note=note.id,
    )
    return taken


def _colleague(tx: Write, person_id: int | None) -> int | None:
    if person_id is None:
        return None
    person = tx.session.get(Person, person_id)
    if person is None or person.retired_at is not None:
        raise Refused("does not work here; choose again, or leave it to whoever goes on", "for")
    if person.id == tx.by_id:
        raise Refused("is you; choose a colleague, or leave it to whoever goes on", "for")
    return person.id


def _about(tx: Write, job: Job, form: NoteForm) -> tuple[Head | None, Port | None]:
    port = tx.session.get(Port, form.port_id) if form.port_id else None
    head_id = port.head_id if port else form.head_id
    head = tx.session.get(Head, head_id) if head_id else None
    is_missing = (form.port_id and port is None) or (head_id and head is None)
    if is_missing or (head is not None and head.job_id != job.id):
        raise Refused("is not on this job; choose again", "about")
    return head, port

"""Notes and calls, also on jobs that are over."""

from __future__ import annotations

from app.forms.notes import NoteForm
from app.models.head import Head, Port
from app.models.job import Job, Note
from app.services.owned import the_job
from app.services.write import Refused, Write, use_case


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
        )
    )
    tx.log(
        f"wrote a {form.kind.screen}" if form.kind == "note" else "noted a call",
        note,
        job=job,
        head=head,
        port=port,
        kind=form.kind,
    )
    return note


def _about(tx: Write, job: Job, form: NoteForm) -> tuple[Head | None, Port | None]:
    port = tx.session.get(Port, form.port_id) if form.port_id else None
    head_id = port.head_id if port else form.head_id
    head = tx.session.get(Head, head_id) if head_id else None
    is_missing = (form.port_id and port is None) or (head_id and head is None)
    if is_missing or (head is not None and head.job_id != job.id):
        raise Refused("is not on this job; choose again", "about")
    return head, port

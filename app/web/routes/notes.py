"""Notes and calls on a job, a head or a position."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.notes import NoteForm
from app.queries.handed_on import colleagues, number_of_note
from app.queries.jobs import show_job
from app.services.notes import take_note, write_note
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep
from app.web.job_page import about_choices
from app.web.render import page
from app.workflow.kinds import NoteKind
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/notes", dependencies=[may(Verb.WRITE_NOTE)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, NoteForm.showing({"kind": NoteKind.NOTE}))


@router.post("/jobs/{number}/notes", dependencies=[may(Verb.WRITE_NOTE)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = NoteForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: write_note(tx, number, form),
        then=lambda _row: f"{addresses.job(number)}#notes",
        show=lambda status: _page(request, db, number, form, status),
    )


@router.post("/notes/{note_id}/taken", dependencies=[may(Verb.WRITE_NOTE)])
def take(request: Request, db: DatabaseDep, note_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    with db.read() as session:
        number = number_of_note(session, note_id)
    back = sent.fields.get("next", "")
    # Only back to a page of ours: a path, and no address of another host.
    is_ours = back.startswith("/") and not back.startswith(("//", "/\\")) and "\\" not in back
    return answer(
        request,
        sent,
        form,
        lambda tx: take_note(tx, note_id),
        then=lambda _row: back[:200] if is_ours else addresses.job(number),
        show=lambda status: _page(request, db, number, NoteForm.showing(form.raw), status, form),
        said="Taken. The note stays among the notes of the job.",
    )


def _page(
    request: Request,
    db: DatabaseDep,
    number: str,
    form: NoteForm,
    status: int = 200,
    refused: Form | None = None,
) -> Response:
    with db.read() as session:
        view = show_job(session, the_job(session, number), today(request))
        people = colleagues(session, request.state.person.id)
    return page(
        request,
        "notes/new.html",
        status,
        nav="counter",
        job=view.job,
        view=view,
        form=form,
        errors=(refused or form).errors,
        about=about_choices(view),
        colleagues=people,
    )

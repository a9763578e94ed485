"""Notes and calls on a job, a head or a position."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.notes import NoteForm
from app.queries.jobs import show_job
from app.services.notes import write_note
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
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


def _page(
    request: Request, db: DatabaseDep, number: str, form: NoteForm, status: int = 200
) -> Response:
    with db.read() as session:
        view = show_job(session, the_job(session, number), today(request))
    return page(
        request,
        "notes/new.html",
        status,
        nav="counter",
        job=view.job,
        view=view,
        form=form,
        about=about_choices(view),
    )

"""Heads: added to a job, and described."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.heads import AddHeadForm, HeadForm
from app.models.head import Head
from app.services.heads import add_head, describe_head
from app.services.owned import the_job
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep
from app.web.head_page import edit_page
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/heads", dependencies=[may(Verb.TAKE_IN)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _new_page(request, db, number, AddHeadForm.showing())


@router.post("/jobs/{number}/heads", dependencies=[may(Verb.TAKE_IN)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = AddHeadForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_head(tx, number, form),
        then=lambda head: f"/heads/{head.id}/edit",
        show=lambda status: _new_page(request, db, number, form, status),
    )


@router.get("/heads/{head_id}/edit", dependencies=[may(Verb.TAKE_IN)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return edit_page(request, db, head_id)


@router.post("/heads/{head_id}/edit", dependencies=[may(Verb.TAKE_IN)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    if "patterns" in sent.fields:
        return edit_page(request, db, head_id, HeadForm.showing(sent.fields))
    form = HeadForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: describe_head(tx, head_id, form),
        then=lambda head: _after(head),
        said="Kept.",
        show=lambda status: edit_page(request, db, head_id, form, status),
    )


def _after(head: Head) -> str:
    return f"/heads/{head.id}/positions" if head.layout else f"/heads/{head.id}/edit"


def _new_page(
    request: Request, db: DatabaseDep, number: str, form: AddHeadForm, status: int = 200
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
    return page(request, "heads/new.html", status, nav="counter", job=job, form=form)

"""What is known of a comeback: its cause, its cost, who was told."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.comebacks import ComebackForm
from app.queries.comebacks import return_of
from app.services.comebacks import record_comeback
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import money

router = APIRouter(prefix="/jobs/{number}/comeback", dependencies=[may(Verb.TAKE_IN)])


@router.get("")
def edit(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number)


@router.post("")
def update(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = ComebackForm(sent.fields, today=today(request))
    return answer(
        request,
        sent,
        form,
        lambda tx: record_comeback(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="The comeback is written down; both jobs show it.",
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request, db: Database, number: str, form: Form | None = None, status: int = 200
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        came_back = return_of(session, job)
    known = {
        "cause": job.comeback_cause,
        "found": job.comeback_found or "",
        "cost": money(job.comeback_cost) if job.comeback_cost is not None else "",
        "told": job.comeback_told or "",
        "told_on": job.comeback_told_on or "",
    }
    return page(
        request,
        "comebacks/edit.html",
        status,
        nav="counter",
        job=job,
        came_back=came_back,
        form=form or ComebackForm.showing(known),
        currency=request.state.shop.currency,
    )

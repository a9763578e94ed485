"""What a job waits for."""

from __future__ import annotations

from fastapi import APIRouter
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.waiting import WaitingForm
from app.models.job import Job
from app.services.owned import the_job
from app.services.waiting import start_waiting, stop_waiting
from app.web import addresses
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.worksheets.facts import shop_zone

router = APIRouter()


@router.get("/jobs/{number}/waiting", dependencies=[may(Verb.SET_WAITING)])
def edit(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, None)


@router.post("/jobs/{number}/waiting", dependencies=[may(Verb.SET_WAITING)])
def update(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = WaitingForm(sent.fields, today=today(request))
    return answer(
        request,
        sent,
        form,
        lambda tx: start_waiting(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="It waits.",
        undo=lambda job: Undo(f"{addresses.job(job.number)}/waiting/over"),
        show=lambda status: _page(request, db, number, form, status),
    )


@router.post("/jobs/{number}/waiting/over", dependencies=[may(Verb.SET_WAITING)])
def end(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = Form(sent.fields)
    with db.read() as session:
        waited = _as_kept(session, the_job(session, number))
    return answer(
        request,
        sent,
        form,
        lambda tx: stop_waiting(tx, number),
        then=lambda job: addresses.job(job.number),
        said="It no longer waits.",
        undo=lambda job: Undo(f"{addresses.job(job.number)}/waiting", waited),
        show=lambda status: _page(request, db, number, form, status),
    )


def _as_kept(session: Session, job: Job) -> dict[str, str]:
    """The waiting as its form shows it, and as an undo sends it again."""
    since = job.waiting_since.astimezone(shop_zone(session)).date() if job.waiting_since else ""
    return {
        "waiting": str(job.waiting or ""),
        "waiting_for": job.waiting_for,
        "since": str(since),
        "expected_on": str(job.waiting_until or ""),
    }


def _page(
    request: Request, db: DatabaseDep, number: str, form: Form | None, status: int = 200
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        kept = _as_kept(session, job)
    shown = form or WaitingForm.showing({**kept, "since": kept["since"] or today(request)})
    return page(request, "waiting/edit.html", status, nav="counter", job=job, form=shown)

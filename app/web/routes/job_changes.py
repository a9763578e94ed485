"""Short changes of a job itself: its place, its promise, what is wanted."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.jobs import PlaceForm, PromiseForm, WantedForm
from app.queries.jobs import places_in_use
from app.services.jobs import set_place, set_promise, set_wanted
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/place", dependencies=[may(Verb.TAKE_IN)])
def edit_place(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, "jobs/place.html")


@router.post("/jobs/{number}/place", dependencies=[may(Verb.TAKE_IN)])
def update_place(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = PlaceForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: set_place(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="Kept.",
        show=lambda status: _page(request, db, number, "jobs/place.html", form, status),
    )


@router.get("/jobs/{number}/promise", dependencies=[may(Verb.TAKE_IN)])
def edit_promise(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, "jobs/promise.html")


@router.post("/jobs/{number}/promise", dependencies=[may(Verb.TAKE_IN)])
def update_promise(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = PromiseForm(sent.fields, today=today(request))
    return answer(
        request,
        sent,
        form,
        lambda tx: set_promise(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="Kept.",
        show=lambda status: _page(request, db, number, "jobs/promise.html", form, status),
    )


@router.get("/jobs/{number}/wanted", dependencies=[may(Verb.TAKE_IN)])
def edit_wanted(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, "jobs/wanted.html")


@router.post("/jobs/{number}/wanted", dependencies=[may(Verb.TAKE_IN)])
def update_wanted(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = WantedForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: set_wanted(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="Kept.",
        show=lambda status: _page(request, db, number, "jobs/wanted.html", form, status),
    )


def _page(
    request: Request,
    db: DatabaseDep,
    number: str,
    template: str,
    form: Form | None = None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        places = places_in_use(session)
    shown = form or Form.showing(
        {"place": job.place, "promised_on": job.promised_on, "wanted": job.wanted}
    )
    return page(request, template, status, nav="counter", job=job, form=shown, places=places)

"""Short changes of a job itself: its place, its promise, what is wanted."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TypeVar

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.jobs import PlaceForm, PromiseForm, WantedForm
from app.models.job import Job
from app.queries.jobs import places_in_use
from app.services.jobs import set_place, set_promise, set_wanted
from app.services.owned import the_job
from app.services.write import Write
from app.web import addresses
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.days import today
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import day_words

F = TypeVar("F", bound=Form)

router = APIRouter()


def _kept_before(
    change: Callable[[Write, str, F], Job], number: str, form: F, name: str
) -> tuple[Callable[[Write], Job], Callable[[Job], Undo]]:
    """The change, and the form that puts back what stood there before it."""
    before: dict[str, str] = {}

    def run(tx: Write) -> Job:
        stood = getattr(the_job(tx.session, number), name)
        before[name] = "" if stood is None else str(stood)
        return change(tx, number, form)

    path = name.removesuffix("d_on")
    return run, lambda job: Undo(f"{addresses.job(job.number)}/{path}", before)


@router.get("/jobs/{number}/place", dependencies=[may(Verb.TAKE_IN)])
def edit_place(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, "jobs/place.html")


@router.post("/jobs/{number}/place", dependencies=[may(Verb.TAKE_IN)])
def update_place(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = PlaceForm(sent.fields)
    change, undo = _kept_before(set_place, number, form, "place")
    return answer(
        request,
        sent,
        form,
        change,
        then=lambda job: addresses.job(job.number),
        said=lambda job: f"Rack place: {job.place}." if job.place else "No rack place any more.",
        undo=undo,
        show=lambda status: _page(request, db, number, "jobs/place.html", form, status),
    )


@router.get("/jobs/{number}/promise", dependencies=[may(Verb.TAKE_IN)])
def edit_promise(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, "jobs/promise.html")


@router.post("/jobs/{number}/promise", dependencies=[may(Verb.TAKE_IN)])
def update_promise(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = PromiseForm(sent.fields, today=today(request))
    change, undo = _kept_before(set_promise, number, form, "promised_on")
    return answer(
        request,
        sent,
        form,
        change,
        then=lambda job: addresses.job(job.number),
        said=lambda job: (
            f"Promised for {day_words(job.promised_on, today(request))}."
            if job.promised_on
            else "Nothing is promised any more."
        ),
        undo=undo,
        show=lambda status: _page(request, db, number, "jobs/promise.html", form, status),
    )


@router.get("/jobs/{number}/wanted", dependencies=[may(Verb.TAKE_IN)])
def edit_wanted(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, "jobs/wanted.html")


@router.post("/jobs/{number}/wanted", dependencies=[may(Verb.TAKE_IN)])
def update_wanted(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = WantedForm(sent.fields)
    change, undo = _kept_before(set_wanted, number, form, "wanted")
    return answer(
        request,
        sent,
        form,
        change,
        then=lambda job: addresses.job(job.number),
        said="What is wanted is kept.",
        undo=undo,
        show=lambda status: _page(request, db, number, "jobs/wanted.html", form, status),
    )


def _promised(job: Job, now: date) -> str:
    if job.promised_on is None:
        return "Nothing is promised any more."
    return f"Promised for {day_words(job.promised_on, now)}."


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

"""Other ends of a job than the hand-over, and jobs opened by mistake."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.ends import OTHER_ENDS, EndForm, VoidForm
from app.queries.notices import notices_of
from app.queries.received import counted
from app.services.ends import end_job, take_up_again, void_job
from app.services.owned import the_job
from app.web import addresses
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import Ended

router = APIRouter()

_MEANS = {
    Ended.RETURNED_UNREPAIRED: "it goes back as it is: unworked, or not repairable",
    Ended.SCRAPPED: "not repairable, and nobody wants it back",
    Ended.ABANDONED: "nobody came for it after the last notice",
    Ended.CANCELLED: "the customer withdrew",
    Ended.CORE_FOR_STOCK: "the shop keeps it",
    Ended.SOLD: "after the last notice, where local law allows it",
}


@router.get("/jobs/{number}/end", dependencies=[may(Verb.END_JOB)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, EndForm.showing())


@router.post("/jobs/{number}/end", dependencies=[may(Verb.END_JOB)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = EndForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: end_job(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="The job is over.",
        undo=lambda job: Undo(f"{addresses.job(job.number)}/end/undo"),
        show=lambda status: _page(request, db, number, form, status),
    )


@router.post("/jobs/{number}/end/undo", dependencies=[may(Verb.END_JOB)])
def remove(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_up_again(tx, number),
        then=lambda job: addresses.job(job.number),
        said="The job is open again.",
        show=lambda status: _page(request, db, number, form, status),
    )


@router.post("/jobs/{number}/void", dependencies=[may(Verb.VOID_JOB)])
def void(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = VoidForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: void_job(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="The job is void; its number stays used.",
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request, db: DatabaseDep, number: str, form: Form, status: int = 200
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        notices = notices_of(session, job)
        came = counted(session, job.id, is_out=False)
    return page(
        request,
        "ends/new.html",
        status,
        nav="counter",
        job=job,
        form=form,
        ends=[(end.value, end.screen, _MEANS[end]) for end in OTHER_ENDS],
        notices=notices,
        parts_in=[f"{pieces} {what}" for what, pieces in came.items() if pieces],
    )

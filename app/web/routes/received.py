"""What came with a job, counted in and out."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.forms.received import MOST_OTHERS, OTHER_LINES, USUAL_PARTS, ReceivedForm
from app.queries.received import counted
from app.services.owned import the_job
from app.services.received import count_received
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.render import page
from app.workflow.parts import differences
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/received", dependencies=[may(Verb.RECORD_RECEIVED)])
def new(
    request: Request,
    db: DatabaseDep,
    number: JobNumber,
    way: Annotated[Literal["in", "out"], Query()] = "in",
) -> Response:
    return _page(request, db, number, ReceivedForm.showing({"way": way}))


@router.post("/jobs/{number}/received", dependencies=[may(Verb.RECORD_RECEIVED)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = ReceivedForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: count_received(tx, number, form),
        then=lambda job: addresses.job(job.number),
        said="Counted out." if form.is_out else "Counted in.",
        show=lambda status: _page(request, db, number, form, status),
    )


def _page(
    request: Request, db: DatabaseDep, number: str, form: ReceivedForm, status: int = 200
) -> Response:
    way = "out" if form.raw.get("way") == "out" else "in"
    with db.read() as session:
        job = the_job(session, number)
        came = counted(session, job.id, is_out=False)
        went = counted(session, job.id, is_out=True)
    pieces_in = {what: pieces for what, pieces in came.items() if pieces}
    others = [what for what in pieces_in if what not in USUAL_PARTS][: MOST_OTHERS - OTHER_LINES]
    return page(
        request,
        "received/out.html" if way == "out" else "received/new.html",
        status,
        nav="counter",
        job=job,
        form=form,
        way=way,
        parts=USUAL_PARTS,
        others=OTHER_LINES,
        came=came,
        went=went,
        pieces_in=pieces_in,
        others_in=others,
        differ=differences(came, went),
    )

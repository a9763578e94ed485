"""The counter: open jobs, late and waiting first, and finding any job."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.queries.counter import Show, ended_jobs, find_jobs, open_jobs
from app.web import addresses
from app.web.access import may
from app.web.answers import done
from app.web.days import today
from app.web.deps import LARGEST_ID, DatabaseDep
from app.web.render import is_partial, page
from app.workflow.permissions import Verb

router = APIRouter()

BeforeJob = Annotated[int | None, Query(ge=1, le=LARGEST_ID)]


@router.get("/counter", dependencies=[may(Verb.READ)])
def list_jobs(
    request: Request,
    db: DatabaseDep,
    q: Annotated[str, Query(max_length=100)] = "",
    show: Show = Show.OPEN,
    before: BeforeJob = None,
) -> Response:
    day, typed = today(request), "".join(letter for letter in q if letter.isprintable()).strip()
    with db.read() as session:
        if typed:
            found = find_jobs(session, typed, day)
        elif show is Show.ENDED:
            found = ended_jobs(session, day, before)
        else:
            found = open_jobs(session, day, show)
    only = found.lines[0].job.number if len(found.lines) == 1 else ""
    if only and only == typed and not is_partial(request):
        return done(request, addresses.job(only))
    return page(
        request,
        "counter/list.html",
        nav="counter",
        found=found,
        typed=typed,
        show=show,
        shows=list(Show),
        before=before,
    )

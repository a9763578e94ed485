"""Today's list, for the counter and the bench."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.queries.today import todays_list
from app.web.access import may
from app.web.days import today
from app.web.deps import DatabaseDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.planning import hours_words

router = APIRouter()


@router.get("/today", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep) -> Response:
    with db.read() as session:
        view = todays_list(session, today(request))
    return page(request, "today/show.html", nav="counter", view=view, hours_words=hours_words)

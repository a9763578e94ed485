"""What pages ask by themselves: anything new here, and is a form recorded that was sent?"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from app.queries.live import is_news, is_taken
from app.web.access import may
from app.web.deps import LARGEST_ID, DatabaseDep
from app.workflow.permissions import Verb

router = APIRouter()
ROW = Query(ge=0, le=LARGEST_ID)


@router.get("/live", dependencies=[may(Verb.READ, polls=True)])
def show(
    request: Request,
    db: DatabaseDep,
    since: Annotated[int, ROW] = 0,
    job: Annotated[int | None, ROW] = None,
    but: Annotated[str, Query(max_length=32, pattern="^[0-9a-z]*$")] = "",
) -> Response:
    """Says so when there is, 204 when not; how far was looked stands in a header."""
    newest: int = request.state.newest
    found = False
    if newest > since:
        with db.read() as session:
            found = is_news(session, since, job_id=job, but=but)
    looked = {"Newest": str(newest)}
    return JSONResponse({"new": True}, headers=looked) if found else Response(None, 204, looked)


@router.get("/taken", dependencies=[may(Verb.READ, polls=True)])
def show_taken(
    request: Request,
    db: DatabaseDep,
    key: Annotated[str, Query(max_length=64, pattern="^[0-9a-zA-Z]+$")],
) -> Response:
    """Says so when the form of this key is recorded, 204 when not."""
    with db.read() as session:
        found = is_taken(session, key)
    return JSONResponse({"taken": True}) if found else Response(None, 204)

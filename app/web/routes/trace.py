"""Tracing: from a lot, a tool, a gauge or a rule to what it touched."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.queries.trace import TraceOf, trace
from app.services.write import NotFound
from app.web.access import may
from app.web.deps import LARGEST_ID, DatabaseDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/trace", dependencies=[may(Verb.READ)])
def show(
    request: Request,
    db: DatabaseDep,
    of: TraceOf,
    which: Annotated[str, Query(max_length=200)],
    after: Annotated[int | None, Query(ge=1, le=LARGEST_ID)] = None,
) -> Response:
    with db.read() as session:
        found = trace(session, of, "".join(each for each in which if each.isprintable()), after)
    if found is None:
        raise NotFound("There is nothing of that name to trace.")
    more = {"of": of.value, "which": which, "after": found.next_after}
    return page(
        request,
        "trace/show.html",
        nav="crib",
        of=of,
        trace=found,
        next_href=f"/trace?{urlencode(more)}" if found.next_after else "",
    )

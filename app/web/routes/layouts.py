"""Valve orders to touch, by cylinders and valves."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.forms.heads import HeadForm
from app.services.owned import the_head
from app.web.access import may
from app.web.deps import DatabaseDep, RowId
from app.web.head_page import patterns
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()

Count = Annotated[str, Query(max_length=4)]


@router.get("/heads/{head_id}/patterns", dependencies=[may(Verb.TAKE_IN)])
def list_patterns(
    request: Request,
    db: DatabaseDep,
    head_id: RowId,
    cylinder_count: Count = "",
    valves: Count = "",
    pattern: Annotated[str, Query(max_length=120)] = "",
) -> Response:
    with db.read() as session:
        _, head = the_head(session, head_id)
    form = HeadForm.showing(
        {"cylinder_count": cylinder_count, "valves": valves, "pattern": pattern}
    )
    return page(request, "heads/_patterns.html", form=form, patterns=patterns(form, head))

"""Slips on paper for sellers of seat rings."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.services.owned import the_job
from app.web.access import may
from app.web.deps import DatabaseDep, RowId
from app.web.ring_set_page import the_set
from app.web.slip_page import as_measured, order_slip
from app.workflow.permissions import Verb

router = APIRouter(dependencies=[may(Verb.PRINT_SHEET)])
MaybeNumber = Annotated[str, Query(pattern=r"^([0-9]{2}-[0-9]{4,6})?$", max_length=12)]


@router.get("/order-slip")
def order(
    request: Request,
    db: DatabaseDep,
    job: MaybeNumber = "",
    also: Annotated[Literal["", "ordered"], Query()] = "",
) -> Response:
    with db.read() as session:
        of = the_job(session, job) if job else None
        return order_slip(request, session, of, with_ordered=also == "ordered")


@router.get("/ring-sets/{ring_set_id}/as-measured")
def measured(db: DatabaseDep, ring_set_id: RowId) -> Response:
    with db.read() as session:
        return as_measured(session, the_set(session, ring_set_id))

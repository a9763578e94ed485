"""Pages for paper: tag, set-up sheet, head record and the blank card, as they stand now."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.services.owned import the_head, the_job
from app.services.write import NotFound
from app.web.access import may
from app.web.deps import LARGEST_ID, DatabaseDep, JobNumber, RowId
from app.web.sheet_page import blank_card, draft
from app.workflow.kinds import SheetKind
from app.workflow.permissions import Verb

router = APIRouter()
MOST_COPIES = 9  # three rows of three fill an A4 page
MaybeId = Annotated[int | None, Query(ge=1, le=LARGEST_ID)]


@router.get("/jobs/{number}/tag", dependencies=[may(Verb.PRINT_SHEET)])
def tag(
    request: Request,
    db: DatabaseDep,
    number: JobNumber,
    paper: Annotated[Literal["page", "label"], Query()] = "page",
    copies: Annotated[int, Query(ge=1, le=MOST_COPIES)] = 1,
) -> Response:
    """One tag a head, or more: the box of its parts carries the same number."""
    with db.read() as session:
        job = the_job(session, number)
        ways = {"label": paper == "label", "copies": copies}
        return draft(request, session, SheetKind.TAG, job, None, **ways)


@router.get("/jobs/{number}/set-up", dependencies=[may(Verb.PRINT_SHEET)])
def set_up(
    request: Request,
    db: DatabaseDep,
    number: JobNumber,
    head: MaybeId = None,
    setting: MaybeId = None,
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        chosen = the_head(session, head)[1] if head is not None else None
        if chosen is not None and chosen.job_id != job.id:
            raise NotFound("There is no such head in this job.")
        return draft(request, session, SheetKind.SET_UP, job, chosen, setting_id=setting)


@router.get("/heads/{head_id}/record", dependencies=[may(Verb.PRINT_SHEET)])
def record(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        return draft(request, session, SheetKind.RECORD, job, head)


@router.get("/heads/{head_id}/customer-record", dependencies=[may(Verb.PRINT_SHEET)])
def customer_record(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        return draft(request, session, SheetKind.CUSTOMER, job, head)


@router.get("/heads/{head_id}/card", dependencies=[may(Verb.PRINT_SHEET)])
def card(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        return blank_card(request, session, job, head)

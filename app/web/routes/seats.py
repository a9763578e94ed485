"""One position's seat: from the land that is wanted to the cuts that give it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.web.access import may
from app.web.deps import DatabaseDep, RowId
from app.web.seat_page import seat_page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/positions/{port_id}/seat", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    return seat_page(request, db, port_id)

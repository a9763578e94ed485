"""The crib: machines, cutters, pilots, fixtures and instruments on one page."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.queries.crib import crib
from app.web.access import may
from app.web.deps import DatabaseDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/crib", dependencies=[may(Verb.READ)])
def list_all(request: Request, db: DatabaseDep) -> Response:
    zone = ZoneInfo(request.state.shop.zone)
    with db.read() as session:
        return page(
            request,
            "crib/list.html",
            nav="crib",
            crib=crib(session, zone, datetime.now(zone).date()),
        )

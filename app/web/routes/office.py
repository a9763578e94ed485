"""The owner's first page."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import now
from app.keeping.view import backups_view
from app.queries.office import office
from app.web.access import may
from app.web.deps import DatabaseDep, SettingsDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/office", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, settings: SettingsDep) -> Response:
    may_back_up = request.state.may(Verb.EXPORT)
    zone = ZoneInfo(request.state.shop.zone)
    with db.read() as session:
        return page(
            request,
            "office/show.html",
            nav="office",
            office=office(session, zone, datetime.now(zone).date()),
            backups=backups_view(session, settings, now()) if may_back_up else None,
        )

"""The start: each role's own home."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.web.access import may
from app.workflow.permissions import Verb
from app.workflow.words import Role

router = APIRouter()

HOMES = {Role.SERVICE_WRITER: "/counter", Role.MACHINIST: "/bench", Role.OWNER: "/office"}


@router.get("/", dependencies=[may(Verb.READ)])
def show(request: Request) -> Response:
    return RedirectResponse(HOMES[request.state.person.role], status_code=303)

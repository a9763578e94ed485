"""One signature for a batch of finished positions."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.signatures import SignForm
from app.services.owned import open_job
from app.services.signatures import sign_positions
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, SentDep
from app.web.sign_page import sign_page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/jobs/{number}/sign", dependencies=[may(Verb.READ)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return sign_page(request, db, number, Form.showing())


@router.post("/jobs/{number}/sign", dependencies=[may(Verb.SIGN)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    form = SignForm(sent.fields, sent.lists.get("port", []))
    return answer(
        request,
        sent,
        form,
        lambda tx: sign_positions(tx, open_job(tx, number), form.port_ids),
        then=lambda _row: f"/jobs/{number}/sign",
        said=lambda row: f"Signed. {row.words}."[:200],
        show=lambda status: sign_page(request, db, number, form, status, form.port_ids),
    )

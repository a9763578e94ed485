"""A doubtful or mistaken bore reading is struck, or kept, each with a reason."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.readings import KeepForm, StrikeForm
from app.models.port_pass import PortPass
from app.services.owned import open_port
from app.services.readings import keep_reading, strike_reading
from app.services.verifications import bore_pass_of
from app.services.write import Write
from app.web.access import may
from app.web.answers import answer
from app.web.cut_page import cut_page
from app.web.deps import DatabaseDep, RowId, Sent, SentDep
from app.workflow.permissions import Verb

router = APIRouter()


@router.post(
    "/positions/{port_id}/cut/readings/{reading_id}/strike",
    dependencies=[may(Verb.STRIKE_READING)],
)
def strike(
    request: Request, db: DatabaseDep, port_id: RowId, reading_id: RowId, sent: SentDep
) -> Response:
    form = StrikeForm(sent.fields)
    return _settle(
        request,
        db,
        port_id,
        sent,
        form,
        lambda tx, bored: strike_reading(tx, reading_id, form.reason, bored),
        reading_id,
    )


@router.post(
    "/positions/{port_id}/cut/readings/{reading_id}/keep", dependencies=[may(Verb.KEEP_READING)]
)
def keep(
    request: Request, db: DatabaseDep, port_id: RowId, reading_id: RowId, sent: SentDep
) -> Response:
    form = KeepForm(sent.fields)
    return _settle(
        request,
        db,
        port_id,
        sent,
        form,
        lambda tx, bored: keep_reading(tx, reading_id, form.reason, bored),
        reading_id,
    )


def _settle(
    request: Request,
    db: Database,
    port_id: int,
    sent: Sent,
    form: Form,
    change: Callable[[Write, PortPass], object],
    reading_id: int,
) -> Response:
    """Strike or keep one of this bore's own readings."""

    def run(tx: Write) -> PortPass:
        bored = bore_pass_of(tx, open_port(tx, port_id).id, reading_id)
        change(tx, bored)
        return bored

    return answer(
        request,
        sent,
        form,
        run,
        then=lambda _row: f"/positions/{port_id}/cut",
        show=lambda status: cut_page(request, db, port_id, form, status),
    )

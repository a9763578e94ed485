"""Which ring would save a position: looked up, and taken from the shelf."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.rescues import TakeRingForm
from app.models.head import Port
from app.models.ring import RingSet
from app.services.rescues import take_ring_for
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.rescue_page import rescue_page
from app.workflow.permissions import Verb

router = APIRouter()
AT_THE_JOB = "The ring is at the job. Take the way “a larger ring” with a reason, then measure it."


@router.get("/positions/{port_id}/rescue", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    return rescue_page(request, db, port_id)


@router.post("/positions/{port_id}/rescue/take", dependencies=[may(Verb.EDIT_SHELF)])
def take(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = TakeRingForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_ring_for(tx, port_id, form),
        then=lambda taken: (
            f"/ring-sets/{taken.id}"
            if _is_its_set(db, port_id, taken)
            else f"/positions/{port_id}/hold"
        ),
        show=lambda status: rescue_page(request, db, port_id, form, status),
        said=lambda taken: (
            "It is at the job, for this position: measure it."
            if _is_its_set(db, port_id, taken)
            else AT_THE_JOB
        ),
    )


def _is_its_set(db: Database, port_id: int, taken: RingSet) -> bool:
    with db.read() as session:
        return session.get_one(Port, port_id).ring_set_id == taken.id

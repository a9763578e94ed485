"""Heats of a head: begun for its rings, over, and cold before anything is measured or cut."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.heats import CoolDownForm, HeatCloseForm, HeatForm
from app.forms.readings import GridForm
from app.queries.rings_in import RingsInView, rings_in_view
from app.services.heats import begin_heat, close_heat, prove_cold
from app.services.owned import the_head
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.heat_page import heat_address, heat_page
from app.web.rings_page import rings_address
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/heads/{head_id}/heat", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return heat_page(request, db, head_id)


@router.post("/heads/{head_id}/heat", dependencies=[may(Verb.PRESS_RING)])
def create(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    among = [line.rows.port.id for line in _view(db, head_id).lines]
    form = HeatForm(sent.fields, among)
    return answer(
        request,
        sent,
        form,
        lambda tx: begin_heat(tx, head_id, form),
        then=lambda _heat: rings_address(head_id),
        said=lambda heat: f"Heat {heat.nth} has begun. Have every ring ready before it comes out.",
        show=lambda status: heat_page(request, db, head_id, form, status),
    )


@router.post("/heads/{head_id}/heat/over", dependencies=[may(Verb.PRESS_RING)])
def close(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = HeatCloseForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: close_heat(tx, head_id, form),
        then=lambda _row: heat_address(head_id),
        said="The heat is over. Let the head cool in still air before anything is measured or cut.",
        show=lambda status: heat_page(request, db, head_id, form, status),
    )


@router.post("/heads/{head_id}/cool-down", dependencies=[may(Verb.PRESS_RING)])
def cool(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    view = _view(db, head_id)
    form = CoolDownForm(
        sent.fields, {line.rows.port.id: line.rows.label for line in view.lines if line.is_warm}
    )
    heights = {}
    for line in view.warm:
        read = GridForm(sent.fields, line.heights)
        form.errors |= read.errors
        heights[line.rows.port.id] = read.entries
    return answer(
        request,
        sent,
        form,
        lambda tx: prove_cold(tx, head_id, form, heights),
        then=lambda _head: (
            f"/heads/{head_id}/finish"
            if all(line.ring_in is not None for line in view.lines)
            else rings_address(head_id)
        ),
        said="The head is cold, and its rings are proved down.",
        show=lambda status: heat_page(request, db, head_id, form, status),
    )


def _view(db: Database, head_id: int) -> RingsInView:
    with db.read() as session:
        return rings_in_view(session, *the_head(session, head_id))

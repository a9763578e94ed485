"""Rings in: one position, or all of a head in one heat; and a ring out again."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.readings import GridForm
from app.forms.rings_in import RingOutForm, RingsInForm
from app.queries.rings_in import rings_in_view
from app.services.owned import open_port, the_head, the_port
from app.services.rings_in import press_rings, take_ring_out
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, Sent, SentDep
from app.web.heat_page import heat_address
from app.web.rings_page import rings_address, rings_page
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/heads/{head_id}/rings-in", dependencies=[may(Verb.READ)])
def new(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return rings_page(request, db, head_id, None, None)


@router.post("/heads/{head_id}/rings-in", dependencies=[may(Verb.PRESS_RING)])
def create(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return _press(request, db, head_id, None, sent)


@router.get("/positions/{port_id}/ring-in", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    return rings_page(request, db, _head_of(db, port_id), port_id, None)


@router.post("/positions/{port_id}/ring-in", dependencies=[may(Verb.PRESS_RING)])
def press(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    return _press(request, db, _head_of(db, port_id), port_id, sent)


@router.post("/positions/{port_id}/ring-out", dependencies=[may(Verb.PRESS_RING)])
def out(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form, head_id = RingOutForm(sent.fields), _head_of(db, port_id)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_ring_out(tx, open_port(tx, port_id), form.because),
        then=lambda _row: f"/positions/{port_id}/ring-in",
        said="The ring is recorded as out again; what was recorded of it stays on record.",
        show=lambda status: rings_page(request, db, head_id, port_id, form, status),
    )


def _head_of(db: Database, port_id: int) -> int:
    with db.read() as session:
        return the_port(session, port_id)[1].id


def _press(
    request: Request, db: Database, head_id: int, port_id: int | None, sent: Sent
) -> Response:
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id), port_id)
    form = RingsInForm(sent.fields, view.job.unit, [line.rows.port.id for line in view.lines])
    heights = {}
    for line in view.lines:
        read = GridForm(sent.fields, line.heights)
        form.errors |= read.errors
        heights[line.rows.port.id] = read.entries
    return answer(
        request,
        sent,
        form,
        lambda tx: press_rings(tx, form.rings, heights, form.earlier),
        then=lambda _row: _after_the_last(db, head_id),
        said=_said(len(form.rings)),
        show=lambda status: rings_page(request, db, head_id, port_id, form, status),
    )


def _said(count: int) -> str:
    return "The ring is in." if count == 1 else f"{count} rings are in."


def _after_the_last(db: Database, head_id: int) -> str:
    """On to the seats once every ring is in; a head that was heated cools first."""
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id))
    running = view.running
    if running is not None and not running.waiting:
        return heat_address(head_id)
    if any(line.ring_in is None for line in view.lines):
        return rings_address(head_id)
    if running is not None or view.warm:
        return heat_address(head_id)
    return f"/heads/{head_id}/finish"

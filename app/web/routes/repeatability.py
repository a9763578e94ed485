"""How well an instrument repeats: readings of one size, worked out before they are kept."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.crib import RepeatabilityForm
from app.models.crib import Instrument
from app.queries.tools import find_tool
from app.services.crib import NOT_THERE
from app.services.instruments import keep_repeatability
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/instruments")


@router.get("/{instrument_id}/repeatability", dependencies=[may(Verb.EDIT_CRIB)])
def edit(request: Request, db: DatabaseDep, instrument_id: RowId) -> Response:
    instrument = _the(db, instrument_id)
    sent = {name: request.query_params.get(name, "") for name in RepeatabilityForm.names}
    if not any(sent.values()):
        return _page(request, instrument, RepeatabilityForm.showing())
    form = RepeatabilityForm(sent, instrument=instrument)
    return _page(request, instrument, form, 200 if form.ok else 422)


@router.post("/{instrument_id}/repeatability", dependencies=[may(Verb.EDIT_CRIB)])
def update(request: Request, db: DatabaseDep, instrument_id: RowId, sent: SentDep) -> Response:
    instrument = _the(db, instrument_id)
    form = RepeatabilityForm(sent.fields, instrument=instrument)
    return answer(
        request,
        sent,
        form,
        lambda tx: keep_repeatability(tx, instrument_id, form, seen=form.seen),
        then=lambda kept: f"/crib/instruments/{kept.id}",
        show=lambda status: _page(request, instrument, form, status),
        said="Kept as how well it repeats.",
    )


def _page(
    request: Request, instrument: Instrument, form: RepeatabilityForm, status: int = 200
) -> Response:
    return page(
        request,
        "crib/repeatability.html",
        status,
        nav="crib",
        tool=instrument,
        form=form,
        found=getattr(form, "found", None),
    )


def _the(db: Database, instrument_id: int) -> Instrument:
    with db.read() as session:
        instrument = find_tool(session, Instrument, instrument_id)
    if instrument is None:
        raise NotFound(NOT_THERE)
    return instrument

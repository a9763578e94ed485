"""Pilots of the crib, one page each."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.crib import PilotForm, PilotKindForm, PilotSizesForm
from app.forms.field_text import field_text
from app.models.crib import Pilot
from app.queries.tools import find_tool, pilot_sizes, tool_history
from app.services.crib import NOT_THERE
from app.services.pilots import create_pilot, measure_pilot, update_pilot
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/pilots")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_CRIB)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    form = PilotForm.showing({"unit": request.state.shop.unit.value, **_unread(request, None)})
    return _page(request, db, None, form=form)


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = PilotForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: create_pilot(tx, form),
        then=lambda _: "/crib",
        show=lambda status: _page(request, db, None, status, form=form),
        said=lambda pilot: f"{pilot.name} is in the crib.",
    )


@router.get("/{pilot_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, pilot_id: RowId) -> Response:
    return _page(request, db, pilot_id)


@router.post("/{pilot_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, pilot_id: RowId, sent: SentDep) -> Response:
    form = PilotKindForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_pilot(tx, pilot_id, form),
        then=lambda pilot: f"/crib/pilots/{pilot.id}",
        show=lambda status: _page(request, db, pilot_id, status, form=form),
        said="Changed.",
    )


@router.post("/{pilot_id}/measure", dependencies=[EDIT])
def measure(request: Request, db: DatabaseDep, pilot_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        pilot = find_tool(session, Pilot, pilot_id)
        unit = pilot.unit if pilot else request.state.shop.unit
    form = PilotSizesForm(sent.fields, unit=unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: measure_pilot(tx, pilot_id, form),
        then=lambda pilot: f"/crib/pilots/{pilot.id}",
        show=lambda status: _page(request, db, pilot_id, status, sizes=form),
        said="Measured. What was set over its old figures has to be read again.",
    )


def _page(
    request: Request,
    db: Database,
    pilot_id: int | None,
    status: int = 200,
    *,
    form: Form | None = None,
    sizes: PilotSizesForm | None = None,
) -> Response:
    with db.read() as session:
        pilot = None if pilot_id is None else find_tool(session, Pilot, pilot_id)
        if pilot is None and pilot_id is not None:
            raise NotFound(NOT_THERE)
        return page(
            request,
            "crib/pilot.html",
            status,
            nav="crib",
            tool=pilot,
            form=form or PilotKindForm.showing(_known(pilot)),
            sizes=sizes or PilotSizesForm.showing(_unread(request, pilot)),
            measured=pilot_sizes(session, pilot) if pilot else [],
            done=tool_history(session, pilot) if pilot else [],
        )


def _unread(request: Request, pilot: Pilot | None) -> dict[str, object]:
    """Empty figures, so that old ones are not kept again by a press, and today's date."""
    today = datetime.now(ZoneInfo(request.state.shop.zone)).date()
    return {"measured_on": today, "row_version": pilot.row_version if pilot else ""}


def _known(pilot: Pilot | None) -> dict[str, str]:
    if pilot is None:
        return {}
    return {
        "name": pilot.name,
        "unit": pilot.unit.value,
        "guide_diameter": field_text(pilot.guide_diameter, pilot.unit),
        "shank_diameter": field_text(pilot.shank_diameter, pilot.unit),
        "is_tapered": "yes" if pilot.is_tapered else "",
        "row_version": str(pilot.row_version),
    }

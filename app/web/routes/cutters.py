"""Cutters of the crib, one page each."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.crib import CutterForm, TipForm
from app.forms.field_text import field_text
from app.models.crib import Cutter
from app.queries.tools import find_tool, show_cutter
from app.services.crib import NOT_THERE
from app.services.cutters import change_tip, create_cutter, update_cutter
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/cutters")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_CRIB)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    form = CutterForm.showing({"unit": request.state.shop.unit.value})
    return _page(request, db, None, form=form)


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = CutterForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: create_cutter(tx, form),
        then=lambda _: "/crib",
        show=lambda status: _page(request, db, None, status, form=form),
        said=lambda cutter: f"{cutter.name} is in the crib.",
    )


@router.get("/{cutter_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, cutter_id: RowId) -> Response:
    return _page(request, db, cutter_id)


@router.post("/{cutter_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, cutter_id: RowId, sent: SentDep) -> Response:
    form = CutterForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_cutter(tx, cutter_id, form),
        then=lambda cutter: f"/crib/cutters/{cutter.id}",
        show=lambda status: _page(request, db, cutter_id, status, form=form),
        said="Changed.",
    )


@router.post("/{cutter_id}/tip", dependencies=[EDIT])
def create_tip(request: Request, db: DatabaseDep, cutter_id: RowId, sent: SentDep) -> Response:
    form = TipForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: change_tip(tx, cutter_id, form.what),
        then=lambda tip: f"/crib/cutters/{tip.cutter_id}",
        show=lambda status: _page(request, db, cutter_id, status, tip_form=form),
        said="Kept. Its overcut starts afresh with this tip.",
    )


def _page(
    request: Request,
    db: Database,
    cutter_id: int | None,
    status: int = 200,
    *,
    form: CutterForm | None = None,
    tip_form: TipForm | None = None,
) -> Response:
    unit = request.state.shop.unit
    with db.read() as session:
        cutter = None if cutter_id is None else find_tool(session, Cutter, cutter_id)
        if cutter is None and cutter_id is not None:
            raise NotFound(NOT_THERE)
        return page(
            request,
            "crib/cutter.html",
            status,
            nav="crib",
            tool=cutter,
            form=form or CutterForm.showing(_known(cutter, unit)),
            tip_form=tip_form or TipForm.showing(),
            view=show_cutter(session, cutter, unit.value) if cutter else None,
        )


def _known(cutter: Cutter | None, unit: Unit) -> dict[str, str]:
    if cutter is None:
        return {}
    return {
        "name": cutter.name,
        "kind": cutter.kind.value,
        "fixed_size": field_text(cutter.fixed_size, unit),
        "corner_radius": field_text(cutter.corner_radius, unit),
        "note": cutter.note,
        "row_version": str(cutter.row_version),
    }

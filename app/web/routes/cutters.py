"""Cutters of the crib, one page each."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.crib import CutterForm, TipForm
from app.services.cutters import change_tip, create_cutter, update_cutter
from app.web.access import may
from app.web.answers import answer
from app.web.cutter_page import cutter_page
from app.web.deps import DatabaseDep, RowId, SentDep
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/cutters")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_CRIB)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    form = CutterForm.showing({"unit": request.state.shop.unit.value})
    return cutter_page(request, db, None, form=form)


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = CutterForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: create_cutter(tx, form),
        then=lambda _: "/crib",
        show=lambda status: cutter_page(request, db, None, status, form=form),
        said=lambda cutter: f"{cutter.name} is in the crib.",
    )


@router.get("/{cutter_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, cutter_id: RowId) -> Response:
    return cutter_page(request, db, cutter_id)


@router.post("/{cutter_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, cutter_id: RowId, sent: SentDep) -> Response:
    form = CutterForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_cutter(tx, cutter_id, form),
        then=lambda cutter: f"/crib/cutters/{cutter.id}",
        show=lambda status: cutter_page(request, db, cutter_id, status, form=form),
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
        show=lambda status: cutter_page(request, db, cutter_id, status, tip_form=form),
        said="Kept. Its overcut starts afresh with this tip.",
    )

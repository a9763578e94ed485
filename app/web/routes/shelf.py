"""The shelf: boxes of seat rings, what the box says and what is in it."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.shelf import NewShelfSetForm, ShelfSetForm
from app.queries.materials import ring_choices
from app.queries.shelf import shelf
from app.services.shelf import create_shelf_set, update_shelf_set
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.web.shelf_page import OWNERS, box_page, own_ring_keys
from app.workflow.kinds import RingOwner
from app.workflow.permissions import Verb

router = APIRouter(prefix="/shelf")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_SHELF)


@router.get("", dependencies=[SEE])
def list_all(request: Request, db: DatabaseDep) -> Response:
    zone = ZoneInfo(request.state.shop.zone)
    find = request.query_params.get("q", "")[:60]
    with db.read() as session:
        view = shelf(session, datetime.now(zone).date(), find)
        return page(request, "shelf/list.html", nav="shelf", shelf=view, find=find)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    known = {"unit": request.state.shop.unit.value, "owner": RingOwner.SHOP.value}
    return _new_page(request, db, NewShelfSetForm.showing(known))


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = NewShelfSetForm(
        sent.fields, unit=request.state.shop.unit, own_materials=own_ring_keys(db)
    )
    return answer(
        request,
        sent,
        form,
        lambda tx: create_shelf_set(tx, form),
        then=lambda box: f"/shelf/{box.id}",
        show=lambda status: _new_page(request, db, form, status),
        said="The rings are on the shelf. Only what is measured counts: read them when you can.",
    )


@router.get("/{box_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, box_id: RowId) -> Response:
    return box_page(request, db, box_id)


@router.post("/{box_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, box_id: RowId, sent: SentDep) -> Response:
    form = ShelfSetForm(sent.fields, unit=request.state.shop.unit, own_materials=own_ring_keys(db))
    return answer(
        request,
        sent,
        form,
        lambda tx: update_shelf_set(tx, box_id, form),
        then=lambda _: f"/shelf/{box_id}",
        show=lambda status: box_page(request, db, box_id, status, form=form),
        said="Changed.",
    )


def _new_page(request: Request, db: Database, form: Form, status: int = 200) -> Response:
    with db.read() as session:
        materials = ring_choices(session)
    return page(
        request,
        "shelf/new.html",
        status,
        nav="shelf",
        form=form,
        materials=materials,
        owners=OWNERS,
    )

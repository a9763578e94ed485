"""The size list: seat rings that can be had, as their sellers print them."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.field_text import field_text
from app.forms.ring_sizes import RingSizeForm, SizeFilter
from app.models.ring_size import RingSize
from app.queries.ring_sizes import size_list, suppliers
from app.services.ring_sizes import (
    add_size,
    bring_back_size,
    retire_size,
    update_size,
)
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

BASE = "/shelf/sizes"
router = APIRouter(prefix=BASE)
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_SHELF)


@router.get("", dependencies=[SEE])
def list_all(request: Request, db: DatabaseDep) -> Response:
    return _list_page(request, db, RingSizeForm.showing({"unit": request.state.shop.unit.value}))


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = RingSizeForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_size(tx, form),
        then=lambda row: f"{BASE}#size-{row.id}",
        show=lambda status: _list_page(request, db, form, status),
        said="On the list. It is a size in print: a ring of it is measured before it counts.",
    )


@router.get("/{size_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, size_id: RowId) -> Response:
    return _page(request, db, size_id)


@router.post("/{size_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, size_id: RowId, sent: SentDep) -> Response:
    form = RingSizeForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_size(tx, size_id, form),
        then=lambda row: f"{BASE}#size-{row.id}",
        show=lambda status: _page(request, db, size_id, form, status),
        said="Changed. Rings that are wanted keep what was asked for.",
    )


@router.post("/{size_id}/retire", dependencies=[EDIT])
def retire(request: Request, db: DatabaseDep, size_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_size(tx, size_id),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, size_id, form, status),
        said="Off the list. What was wanted by it stays.",
        undo=lambda row: Undo(f"{BASE}/{row.id}/bring-back"),
    )


@router.post("/{size_id}/bring-back", dependencies=[EDIT])
def bring_back(request: Request, db: DatabaseDep, size_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: bring_back_size(tx, size_id),
        then=lambda row: f"{BASE}#size-{row.id}",
        show=lambda status: _page(request, db, size_id, form, status),
        said="On the list again.",
    )


def _list_page(request: Request, db: Database, form: RingSizeForm, status: int = 200) -> Response:
    wanted = SizeFilter(dict(request.query_params), unit=request.state.shop.unit)
    with db.read() as session:
        found = size_list(session, wanted)
        known = suppliers(session)
    return page(
        request,
        "ring_sizes/list.html",
        status,
        nav="shelf",
        sizes=found,
        wanted=wanted,
        form=form,
        suppliers=known,
    )


def _page(
    request: Request, db: Database, size_id: int, form: Form | None = None, status: int = 200
) -> Response:
    with db.read() as session:
        row = session.get(RingSize, size_id)
        known = suppliers(session)
    if row is None:
        raise NotFound("There is no such size on the list.")
    shown = form if form is not None and "od" in form.raw else RingSizeForm.showing(_known(row))
    if form is not None:
        shown.errors = dict(form.errors)
    return page(
        request,
        "ring_sizes/show.html",
        status,
        nav="shelf",
        size=row,
        form=shown,
        suppliers=known,
    )


def _known(row: RingSize) -> dict[str, str]:
    return {
        "unit": row.unit.value,
        "supplier": row.supplier,
        "part": row.part,
        "material": row.material,
        "note": row.note,
        **{name: field_text(getattr(row, name), row.unit) for name in ("od", "height", "inside")},
        "row_version": str(row.row_version),
    }

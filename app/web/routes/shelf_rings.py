"""Rings of a box: more of them, one that is gone, to a job and back."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.shelf import PiecesForm, RingGoneForm, RingsForm, TakeForm
from app.queries.shelf import loose_rings, number_of_set
from app.services.shelf import add_rings, bring_ring_back, put_back, retire_ring, take_to_job
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.web.shelf_page import box_page
from app.workflow.permissions import Verb

router = APIRouter(prefix="/shelf", dependencies=[may(Verb.EDIT_SHELF)])


@router.post("/{box_id}/rings")
def create(request: Request, db: DatabaseDep, box_id: RowId, sent: SentDep) -> Response:
    form = PiecesForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_rings(tx, box_id, form.pieces or 0),
        then=lambda _: f"/shelf/{box_id}",
        show=lambda status: box_page(request, db, box_id, status, more=form),
    )


@router.post("/{box_id}/gone")
def remove(request: Request, db: DatabaseDep, box_id: RowId, sent: SentDep) -> Response:
    form = RingGoneForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_ring(tx, box_id, form.ring_id or 0, form.because),
        then=lambda _: f"/shelf/{box_id}",
        show=lambda status: box_page(request, db, box_id, status, gone=form),
        said=lambda ring: f"Ring {ring.tag} is off the shelf.",
        undo=lambda ring: Undo(f"/shelf/{box_id}/rings/{ring.id}/back"),
    )


@router.post("/{box_id}/rings/{ring_id}/back")
def bring_back(
    request: Request, db: DatabaseDep, box_id: RowId, ring_id: RowId, sent: SentDep
) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: bring_ring_back(tx, box_id, ring_id),
        then=lambda _: f"/shelf/{box_id}",
        show=lambda status: box_page(request, db, box_id, status, gone=form),
        said=lambda ring: f"Ring {ring.tag} is back in its box.",
    )


@router.post("/{box_id}/take")
def take(request: Request, db: DatabaseDep, box_id: RowId, sent: SentDep) -> Response:
    form = TakeForm(sent.fields, ids=_ids(db, box_id))
    return answer(
        request,
        sent,
        form,
        lambda tx: take_to_job(tx, box_id, form.job_number, form.rings),
        then=lambda taken: f"/ring-sets/{taken.id}",
        show=lambda status: box_page(request, db, box_id, status, take=form),
        said=f"Taken to job {form.raw.get('number', '')}, with their readings.",
        undo=lambda taken: Undo(f"/shelf/{taken.id}/put-back", _ticked(form)),
    )


@router.get("/{ring_set_id}/put-back")
def show_put_back(request: Request, db: DatabaseDep, ring_set_id: RowId) -> Response:
    return _put_back_page(request, db, ring_set_id, Form.showing())


@router.post("/{ring_set_id}/put-back")
def update_put_back(
    request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep
) -> Response:
    form = RingsForm(sent.fields, ids=_ids(db, ring_set_id))
    with db.read() as session:
        number = number_of_set(session, ring_set_id)
    return answer(
        request,
        sent,
        form,
        lambda tx: put_back(tx, ring_set_id, form.rings),
        then=lambda box: f"/shelf/{box.id}",
        show=lambda status: _put_back_page(request, db, ring_set_id, form, status),
        said="Back on the shelf, with their readings.",
        undo=lambda box: Undo(f"/shelf/{box.id}/take", {"number": number, **_ticked(form)}),
    )


def _ticked(form: RingsForm) -> dict[str, str]:
    return {f"ring_{ring_id}": "yes" for ring_id in form.rings}


def _ids(db: Database, ring_set_id: int) -> tuple[int, ...]:
    with db.read() as session:
        return tuple(ring.id for ring in loose_rings(session, ring_set_id))


def _put_back_page(
    request: Request, db: Database, ring_set_id: int, form: Form, status: int = 200
) -> Response:
    with db.read() as session:
        return page(
            request,
            "shelf/put_back.html",
            status,
            nav="shelf",
            ring_set_id=ring_set_id,
            rings=loose_rings(session, ring_set_id),
            form=form,
        )

"""Wanted rings: said for a position, ordered, arrived, dropped."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.shelf import DropForm, OrderForm, WantedRingForm
from app.models.head import Head, Port
from app.models.job import Job
from app.queries.shelf import wanted_line
from app.services.wanted_rings import arrive_ring, drop_ring, order_ring, want_ring
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter(dependencies=[may(Verb.WANT_RING)])
ASKED_FOR = ("od_from", "od_to", "height", "inside", "note", "supplier", "ring_size")


@router.get("/positions/{port_id}/wanted-rings/new")
def new(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    known = {name: request.query_params.get(name, "")[:200] for name in ASKED_FOR}
    return _new_page(request, db, port_id, WantedRingForm.showing(known))


@router.post("/positions/{port_id}/wanted-rings")
def create(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = WantedRingForm(sent.fields, unit=_owner(db, port_id)[1].unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: want_ring(tx, port_id, form),
        then=lambda wanted: f"/wanted-rings/{wanted.id}",
        show=lambda status: _new_page(request, db, port_id, form, status),
        said="Kept among the wanted rings, on the shelf's page.",
    )


@router.get("/wanted-rings/{wanted_id}")
def show(request: Request, db: DatabaseDep, wanted_id: RowId) -> Response:
    return _page(request, db, wanted_id)


@router.post("/wanted-rings/{wanted_id}/order")
def order(request: Request, db: DatabaseDep, wanted_id: RowId, sent: SentDep) -> Response:
    form = OrderForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: order_ring(tx, wanted_id, form),
        then=lambda _: "/shelf#wanted",
        show=lambda status: _page(request, db, wanted_id, status, order_form=form),
        said="Ordered.",
    )


@router.post("/wanted-rings/{wanted_id}/arrive")
def arrive(request: Request, db: DatabaseDep, wanted_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: arrive_ring(tx, wanted_id),
        then=lambda _: f"/wanted-rings/{wanted_id}",
        show=lambda status: _page(request, db, wanted_id, status, arrive_form=form),
        said="It is here. Now it has to be measured.",
    )


@router.post("/wanted-rings/{wanted_id}/drop")
def drop(request: Request, db: DatabaseDep, wanted_id: RowId, sent: SentDep) -> Response:
    form = DropForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: drop_ring(tx, wanted_id, form.because),
        then=lambda _: "/shelf#wanted",
        show=lambda status: _page(request, db, wanted_id, status, drop_form=form),
        said="Not wanted any more.",
    )


def _owner(db: Database, port_id: int) -> tuple[Port, Job]:
    with db.read() as session:
        port = session.get(Port, port_id)
        head = session.get(Head, port.head_id) if port and not port.is_void else None
        job = session.get(Job, head.job_id) if head else None
        if port is None or job is None:
            raise NotFound("There is no such position.")
        session.expunge_all()
        return port, job


def _new_page(
    request: Request, db: Database, port_id: int, form: Form, status: int = 200
) -> Response:
    port, job = _owner(db, port_id)
    return page(request, "shelf/want.html", status, nav="shelf", port=port, job=job, form=form)


def _page(
    request: Request,
    db: Database,
    wanted_id: int,
    status: int = 200,
    *,
    order_form: Form | None = None,
    arrive_form: Form | None = None,
    drop_form: Form | None = None,
) -> Response:
    zone = ZoneInfo(request.state.shop.zone)
    with db.read() as session:
        line = wanted_line(session, wanted_id, datetime.now(zone).date())
        if line is None:
            raise NotFound("There is no such wanted ring; it may be dropped, or its job over.")
        known = {"expected_on": line.wanted.expected_on or ""}
        return page(
            request,
            "shelf/wanted.html",
            status,
            nav="shelf",
            line=line,
            order_form=order_form or OrderForm.showing(known),
            arrive_form=arrive_form or Form.showing(),
            drop_form=drop_form or Form.showing(),
        )

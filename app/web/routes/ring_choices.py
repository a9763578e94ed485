"""What is chosen on a ring set's page: positions, rings, window, how proud, what the box means."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter
from sqlmodel import Session, col, select
from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.forms.base import Form, row_ids
from app.forms.ring_sets import LabelMeansForm, ProtrusionForm, WindowForm
from app.forms.shelf import RingGoneForm
from app.models.head import Port
from app.models.job import Job
from app.models.ring import Ring
from app.services.ring_sets import (
    add_ring,
    bring_ring_back,
    choose_protrusion,
    choose_ring,
    choose_window,
    retire_ring,
    say_label_means,
    use_set_for,
)
from app.services.write import NotFound, Refused
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.ring_set_page import ring_set_page, the_set
from app.workflow.permissions import Verb
from app.workflow.words import LabelMeans

router = APIRouter(dependencies=[may(Verb.CHOOSE_RING)])


@router.post("/ring-sets/{ring_set_id}/positions")
def positions(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
        job = session.get(Job, ring_set.job_id) if ring_set.job_id else None
    if job is None:
        raise Refused("Take the rings to a job first; nothing was changed.")
    chosen = row_ids(sent.lists.get("port", []))
    return answer(
        request,
        sent,
        form,
        lambda tx: use_set_for(tx, ring_set, job, chosen),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about="positions", form=form
        ),
    )


@router.post("/ring-sets/{ring_set_id}/label")
def label(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    form = LabelMeansForm(sent.fields)
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
    return answer(
        request,
        sent,
        form,
        lambda tx: say_label_means(tx, ring_set, form.label_means or LabelMeans.UNKNOWN),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about="label", form=form
        ),
    )


@router.post("/ring-sets/{ring_set_id}/window")
def window(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
        ports = _ports(session, ring_set_id)
    by_rule = sent.fields.get("by") == "rule"
    form = Form(sent.fields) if by_rule else WindowForm(sent.fields, ring_set.unit)
    chosen = form if isinstance(form, WindowForm) else None
    return answer(
        request,
        sent,
        form,
        lambda tx: choose_window(tx, ports, chosen),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about="window", form=form
        ),
    )


@router.post("/ring-sets/{ring_set_id}/protrusion")
def protrusion(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
        ports = _ports(session, ring_set_id)
    form = ProtrusionForm(sent.fields, ring_set.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: choose_protrusion(tx, ports, form.protrusion or Length(0)),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about="protrusion", form=form
        ),
    )


@router.post("/ring-sets/{ring_set_id}/rings")
def more_rings(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_ring(tx, ring_set),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(request, db, ring_set_id, status, form=form),
    )


@router.post("/ring-sets/{ring_set_id}/rings/{ring_id}/away")
def away(
    request: Request, db: DatabaseDep, ring_set_id: RowId, ring_id: RowId, sent: SentDep
) -> Response:
    form = RingGoneForm({**sent.fields, "ring": str(ring_id)})
    with db.read() as session:
        ring = session.get(Ring, ring_id)
    if ring is None or ring.ring_set_id != ring_set_id:
        raise NotFound("There is no such ring in this set.")
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_ring(tx, ring, form.because),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about=f"away-{ring_id}", form=form
        ),
        said=f"Ring {ring.tag} is put away.",
        undo=lambda _: Undo(f"/ring-sets/{ring_set_id}/rings/{ring_id}/back"),
    )


@router.post("/ring-sets/{ring_set_id}/rings/{ring_id}/back", dependencies=[may(Verb.CHOOSE_RING)])
def bring_back(
    request: Request, db: DatabaseDep, ring_set_id: RowId, ring_id: RowId, sent: SentDep
) -> Response:
    form = Form(sent.fields)
    with db.read() as session:
        ring = session.get(Ring, ring_id)
    if ring is None or ring.ring_set_id != ring_set_id:
        raise NotFound("There is no such ring in this set.")
    return answer(
        request,
        sent,
        form,
        lambda tx: bring_ring_back(tx, ring),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about="ring", form=form
        ),
        said=f"Ring {ring.tag} is back in the set. What it was chosen for is chosen anew.",
    )


@router.post("/ring-sets/{ring_set_id}/positions/{port_id}/ring")
def choose(
    request: Request, db: DatabaseDep, ring_set_id: RowId, port_id: RowId, sent: SentDep
) -> Response:
    form = Form(sent.fields)
    ring_id = form.whole("ring", least=1)
    with db.read() as session:
        port = session.get(Port, port_id)
        ring = session.get(Ring, ring_id) if ring_id else None
    if port is None or port.ring_set_id != ring_set_id:
        raise NotFound("This position takes its ring from another set.")
    return answer(
        request,
        sent,
        form,
        lambda tx: choose_ring(tx, port, ring),
        then=lambda _: f"/ring-sets/{ring_set_id}#positions",
        show=lambda status: ring_set_page(
            request, db, ring_set_id, status, about="ring", form=form
        ),
    )


def _ports(session: Session, ring_set_id: int) -> Sequence[Port]:
    return session.exec(
        select(Port).where(Port.ring_set_id == ring_set_id).order_by(col(Port.place))
    ).all()

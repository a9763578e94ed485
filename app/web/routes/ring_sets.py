"""A ring set: opened for positions, read, edited."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter
from sqlmodel import col, select
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.field_text import field_text
from app.forms.ring_sets import RingSetForm, own_expansion
from app.models.customer import Customer
from app.models.head import Head
from app.models.ring import RingSet
from app.queries.materials import ring_choices
from app.services.owned import the_job
from app.services.ring_sets import edit_set, open_set
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep
from app.web.plan_page import about_job
from app.web.render import asks_beside, page
from app.web.ring_set_page import LIVE, SHOW, ring_set_page, the_set
from app.web.shelf_page import OWNERS
from app.workflow.kinds import RingOwner, Unit
from app.workflow.permissions import Verb
from app.workflow.words import Work
from app.worksheets.facts import load_sheets

router = APIRouter()


@router.get("/jobs/{number}/ring-sets/new", dependencies=[may(Verb.READ)])
def new(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _new_page(request, db, number, RingSetForm.showing())


@router.post("/jobs/{number}/ring-sets", dependencies=[may(Verb.CHOOSE_RING)])
def create(request: Request, db: DatabaseDep, number: JobNumber, sent: SentDep) -> Response:
    with db.read() as session:
        job = the_job(session, number)
    chosen = sent.lists.get("port", [])
    form = RingSetForm(sent.fields, job.unit, chosen)
    return answer(
        request,
        sent,
        form,
        lambda tx: open_set(tx, job, job.unit, form),
        then=lambda ring_set: f"/ring-sets/{ring_set.id}",
        show=lambda status: _new_page(request, db, number, form, status, chosen),
    )


@router.get("/ring-sets/{ring_set_id}", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, ring_set_id: RowId) -> Response:
    template = LIVE if asks_beside(request) else SHOW
    return ring_set_page(request, db, ring_set_id, template=template)


@router.get("/ring-sets/{ring_set_id}/edit", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, ring_set_id: RowId) -> Response:
    with db.read() as session:
        form = RingSetForm.showing(_as_typed(the_set(session, ring_set_id)))
    return _edit_page(request, db, ring_set_id, form)


@router.post("/ring-sets/{ring_set_id}/edit", dependencies=[may(Verb.CHOOSE_RING)])
def update(request: Request, db: DatabaseDep, ring_set_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
    form = RingSetForm(sent.fields, ring_set.unit, fresh=False)
    return answer(
        request,
        sent,
        form,
        lambda tx: edit_set(tx, ring_set, form),
        then=lambda _: f"/ring-sets/{ring_set_id}",
        show=lambda status: _edit_page(request, db, ring_set_id, form, status),
    )


def _new_page(
    request: Request,
    db: Database,
    number: str,
    form: RingSetForm,
    status: int = 200,
    chosen: Sequence[str] | None = None,
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        heads = session.exec(
            select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))
        ).all()
        sheets = load_sheets(session, heads)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
        materials = ring_choices(session)
    wanting = [
        target
        for sheet in sheets.values()
        for target in sheet.targets.values()
        if target.rows.port.ring_set_id is None and target.rows.port.work is Work.RING
    ]
    kinds = {target.rows.port.kind for target in wanting}
    if chosen is None:
        # One kind is read as one set; with both the exhausts come first.
        first = min(kinds, default=None)
        chosen = [str(t.rows.port.id) for t in wanting if t.rows.port.kind is first]
        form.raw.setdefault("count", str(len(chosen) or ""))
        form.raw.setdefault("name", first.screen if first else "")
        form.raw.setdefault("owner", RingOwner.SHOP.value)
    return page(
        request,
        "ring_sets/new.html",
        status,
        nav="bench",
        job=job,
        about=about_job(job, list(heads), customer),
        form=form,
        wanting=wanting,
        chosen=set(chosen),
        unit=job.unit.value,
        owners=OWNERS,
        materials=materials,
    )


def _edit_page(
    request: Request, db: Database, ring_set_id: int, form: RingSetForm, status: int = 200
) -> Response:
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
        materials = ring_choices(session, ring_set.material)
    return page(
        request,
        "ring_sets/edit.html",
        status,
        nav="bench" if ring_set.job_id else "shelf",
        ring_set=ring_set,
        form=form,
        unit=ring_set.unit.value,
        owners=OWNERS,
        materials=materials,
    )


def _as_typed(ring_set: RingSet) -> dict[str, str]:
    unit: Unit = ring_set.unit
    lengths = ("label_od", "label_height", "label_inside", "lead_chamfer")
    texts = ("name", "part", "supplier", "lot", "material", "place")
    raw = {name: getattr(ring_set, name) for name in texts}
    for name in lengths:
        length = getattr(ring_set, name)
        raw[name] = field_text(length, unit) if length is not None else ""
    raw["owner"] = ring_set.owner.value
    alpha = ring_set.alpha_per_k
    is_own = alpha is None or alpha == own_expansion(ring_set.material)
    raw["alpha_ppm"] = "" if is_own or alpha is None else f"{alpha * 1e6:g}"
    return raw

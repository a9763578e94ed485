"""Rings in: one position, or all of a head in one heat; and a ring out again."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.readings import GridForm
from app.forms.rings_in import FEELS, RingOutForm, RingsInForm
from app.queries.rings_in import RingsInView, rings_in_view
from app.services.owned import open_port, the_head, the_port
from app.services.rings_in import press_rings, take_ring_out
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import bench_map, half_href, strip_words
from app.web.deps import DatabaseDep, RowId, Sent, SentDep
from app.web.places import places_of
from app.web.render import page
from app.workflow.kinds import PressWay
from app.workflow.permissions import Verb

router = APIRouter()

_MEANS = {
    PressWay.PRESS: "at the shop's temperature",
    PressWay.CHILLED: "freezer, dry ice, liquid nitrogen",
    PressWay.HEATED: "oven, soaked through",
    PressWay.BOTH: "the two together",
}


@router.get("/heads/{head_id}/rings-in", dependencies=[may(Verb.READ)])
def new(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None, None)


@router.post("/heads/{head_id}/rings-in", dependencies=[may(Verb.PRESS_RING)])
def create(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    return _press(request, db, head_id, None, sent)


@router.get("/positions/{port_id}/ring-in", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    return _page(request, db, _head_of(db, port_id), port_id, None)


@router.post("/positions/{port_id}/ring-in", dependencies=[may(Verb.PRESS_RING)])
def press(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    return _press(request, db, _head_of(db, port_id), port_id, sent)


@router.post("/positions/{port_id}/ring-out", dependencies=[may(Verb.PRESS_RING)])
def out(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form, head_id = RingOutForm(sent.fields), _head_of(db, port_id)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_ring_out(tx, open_port(tx, port_id), form.because),
        then=lambda _row: f"/positions/{port_id}/ring-in",
        said="The ring is recorded as out again; what was recorded of it stays on record.",
        show=lambda status: _page(request, db, head_id, port_id, form, status),
    )


def _head_of(db: Database, port_id: int) -> int:
    with db.read() as session:
        return the_port(session, port_id)[1].id


def _press(
    request: Request, db: Database, head_id: int, port_id: int | None, sent: Sent
) -> Response:
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id), port_id)
    form = RingsInForm(sent.fields, view.job.unit, [line.rows.port.id for line in view.lines])
    heights = {}
    for line in view.lines:
        read = GridForm(sent.fields, line.heights)
        form.errors |= read.errors
        heights[line.rows.port.id] = read.entries
    return answer(
        request,
        sent,
        form,
        lambda tx: press_rings(tx, form.rings, heights),
        then=lambda _row: f"/heads/{head_id}/finish" if _is_last(db, head_id) else _here(head_id),
        said="The ring is in." if len(form.rings) == 1 else f"{len(form.rings)} rings are in.",
        show=lambda status: _page(request, db, head_id, port_id, form, status),
    )


def _here(head_id: int) -> str:
    return f"/heads/{head_id}/rings-in"


def _is_last(db: Database, head_id: int) -> bool:
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id))
    return all(line.ring_in is not None for line in view.lines)


def _page(
    request: Request,
    db: Database,
    head_id: int,
    port_id: int | None,
    form: Form | None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id), port_id)
    drawn = bench_map(request, view.sheet, here=port_id, turned=view.turned)
    number = view.job.number
    return page(
        request,
        "rings_in/show.html",
        status,
        nav="bench",
        view=view,
        job=view.job,
        who=strip_words(view.job, view.head, view.customer),
        here=_here(head_id) if port_id is None else f"/positions/{port_id}/ring-in",
        one=view.lines[0] if port_id is not None and view.lines else None,
        is_batch=port_id is None,
        map=drawn,
        half_href=half_href(request, drawn),
        form=form or Form.showing(_proposed(view, port_id)),
        shut={line.rows.port.id: places_of(line.shut, view.sheet, number) for line in view.lines},
        ways=[(way.value, way.screen.capitalize(), _MEANS[way]) for way in PressWay],
        feels=[(each, each.capitalize()) for each in FEELS],
        labels=_labels(view),
    )


def _proposed(view: RingsInView, port_id: int | None) -> dict[str, str]:
    """The only ring that can go in is chosen; one page for one position presses that one."""
    proposed = {}
    for line in view.ready:
        key = line.rows.port.id
        if len(line.rings) == 1 and (port_id is not None or len(view.ready) == 1):
            proposed[f"ring.{key}"] = str(line.rings[0].ring.id)
    return proposed


def _labels(view: RingsInView) -> dict[str, str]:
    found = {"way": "How it went in", "head_c": "Head", "ring_c": "Ring", "because": "Why"}
    found["feeler"] = "Feeler"
    for line in view.lines:
        key, label = line.rows.port.id, line.rows.label
        found |= {
            f"ring.{key}": f"{label}, ring",
            f"od_check.{key}": f"{label}, outside read again",
        } | {cell.name: cell.label for cell in line.heights}
    return found

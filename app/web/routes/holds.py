"""A position stops, and goes on only by a way out that someone signs for."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.calc.shown import ShownSum
from app.forms.base import Form
from app.forms.cuts import StopForm
from app.forms.holds import WayForm
from app.queries.holds import HoldView, hold_view
from app.services.holds import stop_position, take_way_out
from app.services.owned import open_port, the_port
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import (
    bench_map,
    half_href,
    position_words,
    stage_states,
    strip_words,
)
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.drawing import interference_scale
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.verdicts import fit_sum
from app.workflow.words import Way

router = APIRouter()


@router.get("/positions/{port_id}/hold", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    return _page(request, db, port_id, None)


@router.post("/positions/{port_id}/hold", dependencies=[may(Verb.PLACE_HOLD)])
def create(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = StopForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: stop_position(tx, open_port(tx, port_id), form.words),
        then=lambda _row: f"/positions/{port_id}/hold",
        show=lambda status: _page(request, db, port_id, form, status),
    )


@router.post("/positions/{port_id}/hold/way", dependencies=[may(Verb.RELEASE_HOLD)])
def release(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = WayForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_way_out(tx, open_port(tx, port_id), form),
        then=lambda row: _onward(form, port_id, db),
        said=lambda row: _said(form),
        show=lambda status: _page(request, db, port_id, form, status),
    )


def _onward(form: WayForm, port_id: int, db: DatabaseDep) -> str:
    with db.read() as session:
        number = the_port(session, port_id)[0].number
    if form.way is Way.CUT_AGAIN:
        return f"/jobs/{number}/plan"
    if form.way is Way.LARGER_RING:
        return f"/jobs/{number}/ring-sets/new"
    if form.way in (Way.READ_AGAIN, Way.ANOTHER_RING):
        return f"/positions/{port_id}/cut"
    if form.way is Way.DEVIATION:
        return f"/positions/{port_id}/ring-in"
    if form.way is Way.STOP_AND_ASK:
        return f"/positions/{port_id}/hold"
    return f"/jobs/{number}"


_TAKEN = {
    Way.CUT_AGAIN: "Another pass is open: plan its setting, for this position only.",
    Way.LARGER_RING: "Another pass is open: read the larger ring first.",
    Way.READ_AGAIN: "What was gauged stays on record and no longer counts: gauge it again.",
    Way.ANOTHER_RING: "The bore is judged with that ring now: prove it.",
    Way.DEVIATION: "Signed as a deviation.",
    Way.STOP_AND_ASK: "It is noted who was asked; the position stays on hold.",
    Way.WELD: "The job waits for the welder.",
    Way.SCRAP: "The position is given up. The customer is told from the job's page.",
}


def _said(form: WayForm) -> str:
    return _TAKEN.get(form.way, "") if form.way else ""


def _page(
    request: Request, db: DatabaseDep, port_id: int, form: Form | None, status: int = 200
) -> Response:
    with db.read() as session:
        view = hold_view(session, the_port(session, port_id))
    drawn = bench_map(request, view.sheet, here=view.port.id, turned=view.turned)
    shown = form or Form.showing()
    return page(
        request,
        "holds/show.html",
        status,
        nav="bench",
        view=view,
        who=strip_words(view.job, view.head, view.customer),
        title=position_words(view.port, view.name),
        map=drawn,
        half_href=half_href(request, drawn),
        stages=stage_states(view.sheet, view.rows),
        form=shown,
        taking=shown.raw.get("way", ""),
        scale=_scale(view),
        fit=_fit(view),
        rings_of=lambda way: [(tag, f"ring {tag}") for tag in way.rings],
        may_deviate=request.state.may(view.deviation),
    )


def _fit(view: HoldView) -> ShownSum | None:
    """Ring less bore, as the ways out reckon it; the scale draws the same figure."""
    ground = view.ground
    if ground.ring_od is None or ground.bore is None:
        return None
    window = [limit for limit in (ground.least, ground.most) if limit is not None]
    return fit_sum(ground.ring_od, ground.bore, ground.unit, window)


def _scale(view: HoldView) -> object:
    ground = view.ground
    if ground.least is None or ground.most is None or ground.bore is None:
        return None
    got = view.rows.verification
    return interference_scale(
        least=ground.least,
        most=ground.most,
        measured=ground.ring_od - ground.bore if ground.ring_od else None,
        possible_error=got.uncertainty if got else None,
        unit=view.job.unit.value,
    )

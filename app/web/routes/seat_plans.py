"""Seats wanted: what the intake and the exhaust seats of a head are to be."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import trimmed
from app.forms.field_text import field_text
from app.forms.seat_plans import SeatFields, SeatPlanForm
from app.queries.seat_plans import KindOfSeat, seats_view
from app.queries.shop_rules import current_rules
from app.services.owned import the_head
from app.services.seat_plans import plan_seats, version_of
from app.web.access import local_path, may
from app.web.answers import answer
from app.web.bench_page import strip_words
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb
from app.workflow.words import Kind
from app.worksheets.seat_plans import width_windows

router = APIRouter()
SAID = "Kept. Cuts are worked out from it from now on; nothing that was signed changes."


@router.get("/heads/{head_id}/seats", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id)


@router.post("/heads/{head_id}/seats", dependencies=[may(Verb.PLAN_SEAT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        job, _ = the_head(session, head_id)
        windows = width_windows(current_rules(session))
    form = SeatPlanForm(sent.fields, unit=job.unit, windows=windows)
    back = local_path(request, sent.fields.get("back", ""))
    return answer(
        request,
        sent,
        form,
        lambda tx: plan_seats(tx, head_id, form),
        then=lambda _row: back or f"/heads/{head_id}/seats",
        show=lambda status: _page(request, db, head_id, form, status),
        said=SAID,
    )


def _page(
    request: Request,
    db: DatabaseDep,
    head_id: int,
    sent: SeatPlanForm | None = None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        view = seats_view(session, *the_head(session, head_id))
    unit = view.job.unit
    forms: dict[Kind, SeatFields] = {
        each.kind: SeatFields.showing(_as_kept(each, unit)) for each in view.kinds
    }
    if sent is not None and sent.kind in forms:
        forms[sent.kind] = sent
    return page(
        request,
        "seat_plans/edit.html",
        status,
        nav="bench",
        view=view,
        here=f"/heads/{head_id}/seats",
        who=strip_words(view.job, view.head, view.customer),
        forms=forms,
        loose=sent.errors if sent is not None and sent.kind not in forms else {},
        names=SeatFields.names,
        seen={each.kind: version_of(each.plan) for each in view.kinds},
        may_plan=request.state.may(Verb.PLAN_SEAT) and not view.is_over,
    )


def _as_kept(each: KindOfSeat, unit: Unit) -> dict[str, object]:
    plan, angles = each.plan, each.angles
    shown: dict[str, object] = {
        "seat_angle": trimmed(f"{angles.seat}"),
        "top_angle": trimmed(f"{angles.top}"),
        "throat_angle": trimmed(f"{angles.throat}"),
    }
    if plan is not None:
        face = plan.valve_angle_deg
        shown |= {
            "width_wanted": field_text(plan.width_wanted, unit),
            "outer_wanted": field_text(plan.outer_wanted, unit),
            "valve_head": field_text(plan.valve_head, unit),
            "valve_angle": "" if face is None else trimmed(f"{face}"),
            "source": plan.source,
        }
    return shown

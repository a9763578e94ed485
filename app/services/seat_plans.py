"""What the seats of a head are to be: a new version for its intakes or its exhausts.

Nothing that was worked or signed rests on a plan: it is what the next cut is worked from.
"""

from __future__ import annotations

from sqlmodel import col, select

from app.forms.seat_plans import SeatPlanForm
from app.models.head import Port
from app.models.seat_plan import SeatPlan
from app.services.owned import open_head
from app.services.write import Refused, Write, use_case
from app.workflow.words import Kind
from app.worksheets.seat_plans import newest_plans, plan_words

CHANGED_MEANWHILE = (
    "These seats were changed while the page was open; what you typed is still here. "
    "Look at what is wanted now, and send it again if yours should replace it."
)
_FIGURES = (
    "seat_angle_deg",
    "top_angle_deg",
    "throat_angle_deg",
    "width_wanted",
    "outer_wanted",
    "valve_angle_deg",
    "valve_head",
    "source",
)


@use_case
def plan_seats(tx: Write, head_id: int, form: SeatPlanForm) -> SeatPlan:
    """Say what the intake or the exhaust seats of a head are to be."""
    assert form.kind is not None
    assert form.seat_angle is not None
    assert form.top_angle is not None
    assert form.throat_angle is not None
    job, head = open_head(tx, head_id)
    _has_such_seats(tx, head.id, form.kind)
    holds = newest_plans(tx.session, [head.id])[head.id].get(form.kind)
    if form.seen and form.seen != version_of(holds):
        raise Refused(CHANGED_MEANWHILE)
    row = SeatPlan(
        by_id=tx.by_id,
        at=tx.at,
        head_id=head.id,
        kind=form.kind,
        seat_angle_deg=form.seat_angle,
        top_angle_deg=form.top_angle,
        throat_angle_deg=form.throat_angle,
        width_wanted=form.width_wanted,
        outer_wanted=form.outer_wanted,
        valve_angle_deg=form.valve_angle,
        valve_head=form.valve_head,
        source=form.source,
    )
    if holds is not None and all(getattr(holds, one) == getattr(row, one) for one in _FIGURES):
        return tx.leave(holds)
    tx.add(row)
    tx.log(
        "said what seats are wanted",
        row,
        job=job,
        head=head,
        seats=plan_words(row, job.unit),
    )
    return row


def version_of(plan: SeatPlan | None) -> str:
    """What a page carries to say which version it showed."""
    return "none" if plan is None else str(plan.id)


def _has_such_seats(tx: Write, head_id: int, kind: Kind) -> None:
    found = tx.session.exec(
        select(Port.id)
        .where(Port.head_id == head_id, Port.kind == kind, col(Port.is_void).is_(False))
        .limit(1)
    ).first()
    if found is None:
        raise Refused(f"This head has no {kind.screen} seats.", "kind")

"""One position's seat: what the record knows of it before anything is typed."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from app.calc.units import Length
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.seat_plan import SeatPlan
from app.workflow.seats import RingEdges
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.seat_plans import SeatAngles, angles_of, newest_plans
from app.worksheets.seats import on_record, ring_edges
from app.worksheets.shop_rules import current_rules


@dataclass(frozen=True)
class SeatView:
    """What a seat's page starts from."""

    job: Job
    head: Head
    customer: Customer | None
    sheet: HeadSheet
    rows: PortRows
    rules: ShopRules
    plan: SeatPlan | None
    angles: SeatAngles
    ring: RingEdges
    record: dict[str, Length | None]

    @property
    def kind(self) -> Kind:
        """Intake or exhaust."""
        return self.rows.port.kind

    @property
    def is_over(self) -> bool:
        """The job is ended: a seat can still be looked at, none is planned any more."""
        return self.job.ended_as is not None or self.job.voided_at is not None


def seat_view(session: Session, job: Job, head: Head, port: Port) -> SeatView:
    """Gathered in a fixed number of statements."""
    sheet = load_sheet(session, head)
    rows = sheet.rows.port(port.id)
    rules = current_rules(session)
    plan = newest_plans(session, [head.id])[head.id].get(port.kind)
    return SeatView(
        job=job,
        head=head,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        rows=rows,
        rules=rules,
        plan=plan,
        angles=angles_of(port.kind, plan, rules),
        ring=ring_edges(sheet, rows),
        record=on_record(rows, plan),
    )

"""What a clamp-up is made from: machines, the head as it stands, and what was said last time."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.crib import Machine
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.setting import ClampUp
from app.worksheets.cutting import ClampedUp, clamped_up
from app.worksheets.facts import HeadSheet, load_sheet


@dataclass(frozen=True)
class ClampUpView:
    """The page of a clamp-up."""

    job: Job
    head: Head
    customer: Customer | None
    sheet: HeadSheet
    machines: tuple[Machine, ...]
    rows: int
    now: ClampedUp | None
    # Level and machine are mostly as last time, on whichever head.
    last: ClampUp | None


def clamp_up_view(session: Session, job: Job, head: Head, person_id: int) -> ClampUpView:
    """Gather the page."""
    sheet = load_sheet(session, head)
    machines = session.exec(
        select(Machine).where(col(Machine.retired_at).is_(None)).order_by(col(Machine.name))
    ).all()
    last = session.exec(
        select(ClampUp).where(ClampUp.by_id == person_id).order_by(col(ClampUp.id).desc()).limit(1)
    ).first()
    return ClampUpView(
        job=job,
        head=head,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        machines=tuple(machines),
        rows=len({rows.port.row for rows in sheet.rows.ports}) or 1,
        now=clamped_up(session, head.id),
        last=last,
    )

"""Seats wanted on a head, as their page shows them: what holds, and what was said before."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.seat_plan import SeatPlan
from app.workflow.kinds import Unit
from app.workflow.seats import WidthWindow
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind, Work
from app.worksheets.seat_plans import (
    SeatAngles,
    angles_of,
    newest_plans,
    plan_words,
    seats_told,
    width_window,
)
from app.worksheets.shop_rules import current_rules

CUT = (Work.RING, Work.SEAT_ONLY)


@dataclass(frozen=True, slots=True)
class PlanVersion:
    """What was wanted once."""

    plan: SeatPlan
    words: str
    by: str


@dataclass(frozen=True, slots=True)
class KindOfSeat:
    """The intake or the exhaust seats of a head."""

    kind: Kind
    labels: tuple[str, ...]
    cut: tuple[Port, ...]  # those whose seat is cut on this job
    plan: SeatPlan | None
    angles: SeatAngles
    window: WidthWindow
    history: tuple[PlanVersion, ...]


@dataclass(frozen=True)
class SeatsView:
    """The page of a head."""

    job: Job
    head: Head
    customer: Customer | None
    kinds: tuple[KindOfSeat, ...]
    rules: ShopRules

    @property
    def is_over(self) -> bool:
        """The job is ended: what was wanted stays as it was."""
        return self.job.ended_as is not None or self.job.voided_at is not None


def seats_view(session: Session, job: Job, head: Head) -> SeatsView:
    """What is wanted of each kind that this head has."""
    rules = current_rules(session)
    ports = session.exec(
        select(Port)
        .where(Port.head_id == head.id, col(Port.is_void).is_(False))
        .order_by(col(Port.place))
    ).all()
    history = _history(session, head.id, job.unit)
    kinds = []
    for kind in Kind:
        own = [port for port in ports if port.kind is kind]
        if not own:
            continue
        said = history.get(kind, ())
        plan = said[0].plan if said else None
        kinds.append(
            KindOfSeat(
                kind=kind,
                labels=tuple(port.label for port in own),
                cut=tuple(port for port in own if port.work in CUT),
                plan=plan,
                angles=angles_of(kind, plan, rules),
                window=width_window(kind, rules),
                history=said,
            )
        )
    customer = session.get(Customer, job.customer_id) if job.customer_id else None
    return SeatsView(job, head, customer, tuple(kinds), rules)


def told_of_head(
    session: Session, head_id: int, kinds: list[Kind], rules: ShopRules, unit: Unit
) -> list[tuple[str, str]]:
    """One line for each kind on a head's other pages: what is wanted, and who says so."""
    return seats_told(kinds, newest_plans(session, [head_id])[head_id], rules, unit)


def planned_lines(session: Session, head_id: int, unit: Unit) -> tuple[str, ...]:
    """What was said for this head alone, for paper: ``exhaust: 45°, top 30°, …``."""
    plans = newest_plans(session, [head_id])[head_id]
    return tuple(plan_words(plans[kind], unit) for kind in Kind if kind in plans)


def _history(session: Session, head_id: int, unit: Unit) -> dict[Kind, tuple[PlanVersion, ...]]:
    rows = session.exec(
        select(SeatPlan, Person.name)
        .join(Person, col(Person.id) == col(SeatPlan.by_id))
        .where(SeatPlan.head_id == head_id)
        .order_by(col(SeatPlan.id).desc())
    ).all()
    return {
        kind: tuple(
            PlanVersion(plan, plan_words(plan, unit), name)
            for plan, name in rows
            if plan.kind is kind
        )
        for kind in Kind
    }

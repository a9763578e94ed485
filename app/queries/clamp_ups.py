"""What a clamp-up is made from: machines, the head as it stands, and what was said last time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.calc.units import Length
from app.models.crib import Machine
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.setting import ClampUp
from app.workflow.kinds import SettingState
from app.worksheets.cutting import ClampedUp, clamped_up
from app.worksheets.decks import deck_cuts, still_to_come
from app.worksheets.facts import HeadSheet, load_sheet


@dataclass(frozen=True)
class TakenOff:
    """A head that stands on a machine now, and would come off it."""

    machine: str
    number: str
    head: str


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
    # The machine is mostly the same as last time, on whichever head.
    last: ClampUp | None
    levels: tuple[str, ...]  # as said before: to be said again, never filled in unasked
    taken_off: tuple[TakenOff, ...]
    deck_stock: Length | None  # still to come off, as the last deck cut said


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
        deck_stock=still_to_come(deck_cuts(session, head.id)),
        job=job,
        head=head,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        machines=tuple(machines),
        rows=len({rows.port.row for rows in sheet.rows.ports}) or 1,
        now=clamped_up(session, head.id),
        last=last,
        levels=_levels(session),
        taken_off=_taken_off(session, head, machines),
    )


def next_to_cut(session: Session, head: Head) -> tuple[int, int] | None:
    """The first position of the head that a set cutter waits for: position and setting."""
    for rows in load_sheet(session, head).rows.ports:
        setting, cut = rows.setting, rows.cut
        is_set = setting is not None and setting.state is SettingState.LIVE
        is_cut = cut is not None and not cut.is_first_pass
        if setting is not None and is_set and not is_cut and rows.hold is None:
            return rows.port.id, setting.id
    return None


def _levels(session: Session) -> tuple[str, ...]:
    said = session.exec(
        select(ClampUp.level).where(ClampUp.level != "").order_by(col(ClampUp.id).desc()).limit(20)
    ).all()
    return tuple(dict.fromkeys([*said, "two axes, end for end"]))[:5]


def _taken_off(session: Session, head: Head, machines: Sequence[Machine]) -> tuple[TakenOff, ...]:
    """Other heads of running jobs, one a machine at most."""
    newest = select(func.max(col(ClampUp.id))).group_by(col(ClampUp.machine_id))
    names = {machine.id: machine.name for machine in machines}
    found = session.exec(
        select(ClampUp, Head, Job)
        .join(Head, col(Head.id) == col(ClampUp.head_id))
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(col(ClampUp.id).in_(newest), col(Head.id) != head.id, col(Job.ended_at).is_(None))
    ).all()
    return tuple(
        TakenOff(names[made.machine_id], job.number, other.name)
        for made, other, job in found
        if made.machine_id in names
        and (now := clamped_up(session, other.id)) is not None
        and now.clamp_up.id == made.id
    )

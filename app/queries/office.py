"""The owner's page of the week: exceptions first, and counts without a ranking of people."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, func, select

from app.db import now
from app.models.base import Row
from app.models.crib import Cutter, Instrument, Machine
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import Hold, HoldRelease, PortFact
from app.models.price_item import PriceItem
from app.models.shop import ShopRule
from app.queries.counter import CounterLine, Show, open_jobs
from app.queries.crib import InstrumentLine, in_use, instrument_lines
from app.queries.drift import DriftLine, drifting
from app.queries.jobs import who_of
from app.queries.shelf import WantedLine, wanted_lines
from app.workflow.kinds import HoldReason
from app.workflow.permissions import Verb

LATELY = timedelta(days=30)
WEEK = timedelta(days=7)
MOST = 40
# More than a month's ways out of holds, and read without an index over time.
MOST_RELEASES = 2000


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A position that stands still."""

    number: str
    head: str
    label: str
    port_id: int
    reason: HoldReason
    words: str
    since: datetime
    who: str  # whose job it is
    days: int  # that it has stood still


@dataclass(frozen=True, slots=True)
class DeviationLine:
    """A deviation that was signed."""

    number: str
    head: str
    label: str
    port_id: int
    release: HoldRelease
    by: str


@dataclass(frozen=True, slots=True)
class Counts:
    """What was done since a day; figures of the shop, of nobody in particular."""

    rings_signed: int
    first_time: int
    held: int
    deviations: int
    comebacks: int


@dataclass(frozen=True, slots=True)
class FirstStep:
    """Something to do before the first job, or that job itself."""

    words: str
    why: str
    href: str
    verb: Verb
    is_done: bool = False
    may_wait: bool = False  # the shop works without it


@dataclass(frozen=True, slots=True)
class Office:
    """The office page."""

    late: list[CounterLine]
    to_be_late: list[CounterLine]  # promised for a day that the work left reaches beyond
    waiting: list[CounterLine]
    holds: list[HoldLine]
    deviations: list[DeviationLine]
    instruments: list[InstrumentLine]
    cutters: list[DriftLine]
    wanted: list[WantedLine]
    comebacks: list[CounterLine]
    open_jobs: int
    week: Counts
    month: Counts
    first_steps: tuple[FirstStep, ...]  # in a shop that never took a job in

    @property
    def nothing_wrong(self) -> bool:
        """No exception stands."""
        return not (self.late or self.to_be_late or self.holds or self.instruments or self.cutters)


def office(session: Session, zone: ZoneInfo, today: date) -> Office:
    """Everything that wants the owner's eye, bounded whatever the shop's age."""
    at = now()
    since = at - LATELY
    lines = open_jobs(session, today, Show.OPEN).lines
    return Office(
        late=[line for line in lines if line.status.is_late],
        to_be_late=[line for line in lines if line.will_be_late and not line.status.is_late],
        waiting=[line for line in lines if line.status.is_waiting],
        holds=holds_open(session, zone, today),
        deviations=_deviations(session, since),
        instruments=[
            line
            for line in instrument_lines(session, in_use(session, Instrument), zone, today)
            if line.wants_a_look
        ],
        cutters=drifting(session),
        wanted=[line for line in wanted_lines(session, today) if line.state != "arrived"],
        comebacks=[line for line in lines if line.job.comeback_of_id is not None],
        open_jobs=len(lines),
        week=_counts(session, at - WEEK),
        month=_counts(session, since),
        first_steps=() if lines else first_steps(session),
    )


def first_steps(session: Session) -> tuple[FirstStep, ...]:
    """What a new shop does first, in order; nothing once a job was taken in."""

    def has(table: type[Row], more_than: int = 0) -> bool:
        found = select(col(table.id)).offset(more_than).limit(1)
        return session.exec(found).first() is not None

    if has(Job):
        return ()
    return (
        FirstStep(
            "Add the people who work here",
            "each with a PIN of their own, so that every figure says who read it",
            "/people",
            Verb.EDIT_PEOPLE,
            has(Person, more_than=1),
        ),
        FirstStep(
            "Look through the shop rules",
            "every limit that is worked by; each default is common practice until you change it",
            "/shop-rules",
            Verb.EDIT_RULES,
            has(ShopRule),
            may_wait=True,
        ),
        FirstStep(
            "Enter what cuts and what measures",
            "machine, cutters, fixture, pilots and gauges, as they are measured",
            "/crib",
            Verb.EDIT_CRIB,
            has(Machine) and has(Cutter),
        ),
        FirstStep(
            "Set the prices",
            "estimates then add up by what was found",
            "/price-list",
            Verb.EDIT_RULES,
            has(PriceItem),
            may_wait=True,
        ),
        FirstStep(
            "Take the first job in",
            "who it is for, which heads, what is wanted",
            "/jobs/new",
            Verb.TAKE_IN,
        ),
    )


def holds_open(session: Session, zone: ZoneInfo, today: date) -> list[HoldLine]:
    """Holds that nobody has found a way out of, the oldest first."""
    found = session.exec(
        select(Hold, Port, Head.name, Job)
        .join(Port, col(Port.id) == col(Hold.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .join(Job, col(Job.id) == col(Head.job_id))
        .outerjoin(HoldRelease, col(HoldRelease.hold_id) == col(Hold.id))
        .where(
            col(HoldRelease.id).is_(None),
            col(Job.ended_at).is_(None),
            col(Job.voided_at).is_(None),
        )
        .order_by(col(Hold.id))
        .limit(MOST)
    ).all()
    ids = {job.customer_id for _, _, _, job in found}
    customers = {
        customer.id: customer
        for customer in session.exec(select(Customer).where(col(Customer.id).in_(ids)))
    }
    return [
        HoldLine(
            number=job.number,
            head=head,
            label=port.label,
            port_id=port.id,
            reason=hold.reason,
            words=hold.words,
            since=hold.at,
            who=who_of(job, customers.get(job.customer_id or 0)),
            days=(today - hold.at.astimezone(zone).date()).days,
        )
        for hold, port, head, job in found
    ]


def _deviations(session: Session, since: datetime) -> list[DeviationLine]:
    newest = func.coalesce(func.max(col(HoldRelease.id)), 0)
    names = {person.id: person.name for person in session.exec(select(Person))}
    return [
        DeviationLine(number, head.name, port.label, port.id, release, names[release.by_id])
        for release, port, head, number in session.exec(
            select(HoldRelease, Port, Head, Job.number)
            .join(Hold, col(Hold.id) == col(HoldRelease.hold_id))
            .join(Port, col(Port.id) == col(Hold.port_id))
            .join(Head, col(Head.id) == col(Port.head_id))
            .join(Job, col(Job.id) == col(Head.job_id))
            .where(
                col(HoldRelease.id) > select(newest - MOST_RELEASES).scalar_subquery(),
                col(HoldRelease.is_deviation),
                col(HoldRelease.at) >= since,
            )
            .order_by(col(HoldRelease.id).desc())
            .limit(MOST)
        )
    ]


def _counts(session: Session, since: datetime) -> Counts:
    facts: Sequence[tuple[bool | None, bool, bool]] = session.exec(
        select(PortFact.right_first_time, PortFact.was_held, PortFact.was_deviation).where(
            col(PortFact.signed_at) >= since
        )
    ).all()
    comebacks = session.exec(
        select(func.count())
        .select_from(Job)
        .where(col(Job.comeback_of_id).is_not(None), col(Job.taken_in_at) >= since)
    ).one()
    return Counts(
        rings_signed=len(facts),
        first_time=sum(bool(right) for right, _, _ in facts),
        held=sum(held for _, held, _ in facts),
        deviations=sum(deviation for _, _, deviation in facts),
        comebacks=comebacks,
    )

"""The counter's list: what is open, late and waiting first; and finding any job."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlalchemy import and_, or_
from sqlmodel import Session, col, select

from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.shop import NumberSeries
from app.queries.asked import asked_since
from app.queries.job_words import kept_to, look_for
from app.queries.jobs import who_of
from app.queries.stage_times import rates_now
from app.workflow.facts import HeadFacts
from app.workflow.kinds import Said
from app.workflow.planning import Bench, Outlook, Promised, WorkLeft, outlooks, work_left
from app.workflow.shop_rules import ShopRules
from app.workflow.status import WAITING, JobStatus, status_of
from app.worksheets.facts import job_facts, load_sheets, shop_zone
from app.worksheets.shop_rules import current_rules

MOST_FOUND = 40
# A shop with more open jobs than this has other worries; the page stays readable.
MOST_OPEN = 400


class Show(Said):
    """The filters in the counter's address."""

    OPEN = "open", "all open"
    LATE = "late"
    WAITING = "waiting"
    HOLD = "hold", "on hold"
    SOON = "soon", "due in 3 days"
    READY = "ready"
    ENDED = "ended", "lately ended"


@dataclass(frozen=True, slots=True)
class CounterLine:
    """One job in the list."""

    job: Job
    who: str
    phone: str
    heads: tuple[Head, ...]
    status: JobStatus
    asked_since: date | None = None
    left: WorkLeft | None = None  # of an open job
    outlook: Outlook | None = None
    facts: tuple[HeadFacts, ...] = ()

    @property
    def will_be_late(self) -> bool:
        """The work left does not fit before the promised day, by these figures."""
        return self.outlook is not None and self.outlook.will_be_late


@dataclass(frozen=True, slots=True)
class CounterList:
    """The lines to show, how many each filter has, and where the next page begins."""

    lines: tuple[CounterLine, ...]
    counts: dict[Show, int]
    next_before: int | None = None


def open_jobs(session: Session, today: date, show: Show = Show.OPEN) -> CounterList:
    """Every open job, late and waiting first, then by promise."""
    jobs = session.exec(
        select(Job)
        .where(col(Job.ended_at).is_(None), col(Job.voided_at).is_(None))
        .order_by(col(Job.id).desc())
        .limit(MOST_OPEN)
    ).all()
    lines = sorted(planned(session, lines_of(session, jobs, today), today), key=_first)
    counts = {each: sum(shows(each, line, today) for line in lines) for each in Show}
    return CounterList(tuple(line for line in lines if shows(show, line, today)), counts)


def ended_jobs(
    session: Session, today: date, before: int | None, most: int = MOST_FOUND
) -> CounterList:
    """Jobs that are over, the last ended first, a page at a time."""
    query = select(Job).where(col(Job.ended_at).is_not(None))
    last = session.get(Job, before) if before is not None else None
    if last is not None and last.ended_at is not None:
        earlier = col(Job.ended_at) < last.ended_at
        together = and_(col(Job.ended_at) == last.ended_at, col(Job.id) < last.id)
        query = query.where(or_(earlier, together))
    query = query.order_by(col(Job.ended_at).desc(), col(Job.id).desc())
    jobs = session.exec(query.limit(most + 1)).all()
    shown = jobs[:most]
    return CounterList(
        tuple(lines_of(session, shown, today)),
        {},
        next_before=shown[-1].id if len(jobs) > most else None,
    )


def find_jobs(session: Session, typed: str, today: date) -> CounterList:
    """Open and ended jobs by number or any word in them; open ones first."""
    ids = dict.fromkeys(_by_number(session, typed))
    what = look_for(session, typed)
    if not what.is_empty and typed.strip() not in _numbers(session, ids):
        for is_over in (False, True):
            query, by_id = kept_to(session, select(col(Job.id)), what)
            query = query.where(
                col(Job.ended_at).is_not(None) if is_over else col(Job.ended_at).is_(None)
            )
            ids |= dict.fromkeys(
                session.execute(query.order_by(by_id.desc()).limit(MOST_FOUND)).scalars()
            )
            if len(ids) >= MOST_FOUND:
                break
    jobs = session.exec(
        select(Job)
        .where(col(Job.id).in_(list(ids)))
        .order_by(col(Job.ended_at).is_not(None), col(Job.id).desc())
        .limit(MOST_FOUND)
    ).all()
    return CounterList(tuple(lines_of(session, jobs, today)), {})


def _numbers(session: Session, ids: Iterable[int]) -> set[str]:
    return set(session.exec(select(Job.number).where(col(Job.id).in_(list(ids)))))


def _by_number(session: Session, typed: str) -> list[int]:
    """By the whole number, or by its last part in any year."""
    text = typed.strip()
    found = list(session.exec(select(Job.id).where(Job.number == text)))
    if found or not (text.isascii() and text.isdigit() and len(text) <= 6):
        return found
    years = session.exec(select(NumberSeries.year)).all()
    query = select(Job.id).where(col(Job.year).in_(years), Job.seq == int(text))
    return list(session.exec(query.order_by(col(Job.id).desc())))


def lines_of(session: Session, jobs: Sequence[Job], today: date) -> list[CounterLine]:
    """Jobs as lists show them, in the order given."""
    ids = [job.id for job in jobs]
    heads = session.exec(
        select(Head).where(col(Head.job_id).in_(ids)).order_by(col(Head.job_id), col(Head.nth))
    ).all()
    # What is over says so in one sentence; only open jobs need their figures for theirs.
    open_ids = {job.id for job in jobs if job.ended_as is None and job.voided_at is None}
    sheets = load_sheets(session, [head for head in heads if head.job_id in open_ids])
    zone = shop_zone(session)
    customers = {
        customer.id: customer
        for customer in session.exec(
            select(Customer).where(
                col(Customer.id).in_({job.customer_id for job in jobs if job.customer_id})
            )
        )
    }
    lines = []
    facts_of = {
        job.id: job_facts(
            job,
            [
                sheets[head.id].facts
                for head in heads
                if head.job_id == job.id and head.id in sheets
            ],
            today,
            zone,
        )
        for job in jobs
    }
    since = asked_since(session, jobs, facts_of, zone)
    for job in jobs:
        own = tuple(head for head in heads if head.job_id == job.id)
        facts = replace(facts_of[job.id], asked_since=since.get(job.id))
        customer = customers.get(job.customer_id or 0)
        lines.append(
            CounterLine(
                job=job,
                who=who_of(job, customer),
                phone=customer.phone if customer else "",
                heads=own,
                status=status_of(facts),
                asked_since=since.get(job.id),
                facts=facts.heads,
            )
        )
    return lines


def planned(session: Session, lines: Sequence[CounterLine], today: date) -> list[CounterLine]:
    """Each open job with the work left on it, and when that is likely to be done."""
    rules = current_rules(session)
    minutes = rates_now(session, rules)
    left = {line.job.number: work_left(line.facts, minutes) for line in lines}
    found = outlooks(
        [
            Promised(
                line.job.number,
                line.job.promised_on,
                left[line.job.number].minutes,
                is_waiting=line.status.is_waiting,
                expected_on=line.job.waiting_until,
            )
            for line in lines
        ],
        bench_of(rules),
        today,
    )
    return [
        replace(line, left=left[line.job.number], outlook=found[line.job.number]) for line in lines
    ]


def bench_of(rules: ShopRules) -> Bench:
    """What the bench gives, by the shop's rules."""
    return Bench(round(rules.number("bench_hours") * 60), rules.whole("work_days"))


def _first(line: CounterLine) -> tuple[int, bool, int, date, int]:
    """Late promises first, then those that will be; then by what holds them up."""
    status = line.status
    rank = min(status.rank, WAITING) if line.will_be_late else status.rank
    return (
        rank,
        not line.will_be_late,
        -status.days_late,
        line.job.promised_on or date.max,
        -line.job.id,
    )


def shows(show: Show, line: CounterLine, today: date) -> bool:
    """Whether a line belongs under a filter."""
    status = line.status
    if show is Show.LATE:
        return status.is_late or line.will_be_late
    if show is Show.WAITING:
        return status.is_waiting or bool(status.asks)
    if show is Show.HOLD:
        return bool(status.on_hold)
    if show is Show.READY:
        return status.is_ready
    if show is Show.SOON:
        promised = line.job.promised_on
        return promised is not None and today <= promised <= today + timedelta(days=3)
    return show is Show.OPEN

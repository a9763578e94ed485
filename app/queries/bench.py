"""The bench: what can be done now on every open head, and what stands in the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.models.crib import Instrument
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.setting import ClampUp, Setting
from app.queries.bench_cutters import SetCutter, set_cutters, standing_at_bench
from app.queries.bench_steps import BenchStep, StepsAtBench
from app.queries.counter import MOST_OPEN
from app.queries.crib import InstrumentLine, in_use, instrument_lines
from app.queries.jobs import who_of
from app.queries.opened import OpenedAndLeft, opened_and_left
from app.workflow.kinds import SettingState
from app.workflow.stages import progress
from app.workflow.status import head_name
from app.workflow.words import Stage, Waiting
from app.worksheets.cutting import clamp_ups_now
from app.worksheets.facts import HeadSheet, load_sheets, shop_zone
from app.worksheets.settings import load_settings


@dataclass(frozen=True)
class BenchHead:
    """One head of an open job."""

    job: Job
    who: str
    name: str
    sheet: HeadSheet
    steps: tuple[BenchStep, ...]
    waits: tuple[str, ...]  # what it waits for, when nothing can be done
    clamp_up: ClampUp | None
    days_late: int

    @property
    def head(self) -> Head:
        """Its row."""
        return self.sheet.head

    @property
    def waits_for(self) -> str:
        """``waiting for parts: exhaust rings``, in the counter's words; empty when it does not."""
        if self.job.waiting is None:
            return ""
        what = f": {self.job.waiting_for}" if self.job.waiting_for else ""
        return f"{self.job.waiting.screen}{what}"

    @property
    def is_held_up(self) -> bool:
        """It waits for somebody's answer, or is away: parts alone stop only their positions."""
        return self.job.waiting in (Waiting.CUSTOMER, Waiting.WELDER)

    @property
    def progress(self) -> str:
        """``1 of 2 seat rings in, counterbores being cut``."""
        return progress(self.sheet.facts)


@dataclass(frozen=True)
class Bench:
    """The bench page."""

    heads: tuple[BenchHead, ...]  # with something to do at the bench; those that wait come last
    others: tuple[BenchHead, ...]  # the counter's turn, or waiting
    cutters: tuple[SetCutter, ...]
    opened: tuple[OpenedAndLeft, ...]
    instruments: tuple[InstrumentLine, ...]

    @property
    def holds(self) -> list[tuple[BenchHead, Port]]:
        """Positions on hold, with their heads."""
        return [
            (head, port)
            for head in self.heads
            for step in head.steps
            if step.is_hold
            for port in step.ports
        ]


def bench(session: Session, *, person_id: int, at: datetime, today: date) -> Bench:
    """Gather the page; the number of statements does not grow with jobs, heads or settings."""
    zone = shop_zone(session)
    jobs = session.exec(
        select(Job)
        .where(col(Job.ended_at).is_(None), col(Job.voided_at).is_(None))
        .order_by(col(Job.id).desc())
        .limit(MOST_OPEN)
    ).all()
    ids = [job.id for job in jobs]
    rows = session.exec(
        select(Head).where(col(Head.job_id).in_(ids)).order_by(col(Head.job_id), col(Head.nth))
    ).all()
    sheets = load_sheets(session, rows)
    clamped = clamp_ups_now(session, list(sheets))
    settings = load_settings(
        session,
        session.exec(
            select(Setting)
            .where(col(Setting.job_id).in_(ids), col(Setting.state) != SettingState.ENDED)
            .order_by(col(Setting.id))
        ).all(),
    )
    standing = {
        each.setting.id: standing_at_bench(session, each, clamped, person_id, at, zone)
        for each in settings.values()
    }
    steps = StepsAtBench(clamped, settings, standing)
    heads_of = {job.id: sum(head.job_id == job.id for head in rows) for job in jobs}
    whos = _whos(session, jobs)
    heads = [
        _head(job, sheets[head.id], whos[job.id], heads_of[job.id], steps, clamped, today)
        for job in jobs
        for head in rows
        if head.job_id == job.id
    ]
    heads.sort(key=_first)
    lines = instrument_lines(session, in_use(session, Instrument), zone, today)
    return Bench(
        heads=tuple(head for head in heads if head.steps),
        others=tuple(head for head in heads if not head.steps),
        cutters=set_cutters(
            settings, standing, sheets, {job.id: job.number for job in jobs}, heads_of
        ),
        opened=opened_and_left(session, sheets.values(), heads_of, person_id),
        instruments=tuple(line for line in lines if line.wants_a_look),
    )


def _head(
    job: Job,
    sheet: HeadSheet,
    who: str,
    heads: int,
    steps: StepsAtBench,
    clamped: Mapping[int, ClampUp],
    today: date,
) -> BenchHead:
    can, waits = steps.of(sheet)
    late = (today - job.promised_on).days if job.promised_on else 0
    return BenchHead(
        job=job,
        who=who,
        name=head_name(sheet.facts, heads),
        sheet=sheet,
        steps=can,
        waits=waits,
        clamp_up=clamped.get(sheet.head.id),
        days_late=max(0, late),
    )


def _first(head: BenchHead) -> tuple[bool, bool, bool, bool, int, date, int]:
    """What waits comes last; else what is on the machine, what is cut, late and early promises."""
    at_the_cutter = any(step.stage in (Stage.SET, Stage.CUT) for step in head.steps)
    return (
        head.is_held_up,
        head.job.waiting is not None,
        head.clamp_up is None or not at_the_cutter,
        not at_the_cutter,
        -head.days_late,
        head.job.promised_on or date.max,
        head.job.id,
    )


def _whos(session: Session, jobs: Sequence[Job]) -> dict[int, str]:
    customers = {
        customer.id: customer
        for customer in session.exec(
            select(Customer).where(
                col(Customer.id).in_({job.customer_id for job in jobs if job.customer_id})
            )
        )
    }
    return {job.id: who_of(job, customers.get(job.customer_id or 0)) for job in jobs}

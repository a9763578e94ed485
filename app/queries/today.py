"""Today's list: late promises first, then what is due, what waits, and what was handed on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session

from app.queries.counter import CounterLine, bench_of, open_jobs
from app.queries.handed_on import HandedOn, handed_on
from app.queries.shelf import WantedLine, wanted_lines
from app.queries.stage_times import rates_now
from app.workflow.planning import Bench, Rate
from app.workflow.words import Waiting, WorkStage
from app.worksheets.shop_rules import current_rules


@dataclass(frozen=True)
class Today:
    """The page."""

    late: tuple[CounterLine, ...]
    will_be_late: tuple[CounterLine, ...]
    due: tuple[CounterLine, ...]  # promised for today or the next working day
    parts: tuple[CounterLine, ...]
    rings: tuple[WantedLine, ...]  # wanted, of jobs that do not wait as a whole
    answers: tuple[CounterLine, ...]  # waits for the customer's yes, or for a welder
    ready: tuple[CounterLine, ...]
    handed_on: tuple[HandedOn, ...]
    rates: Mapping[WorkStage, Rate]
    bench: Bench
    minutes_left: int
    open_jobs: int

    @property
    def is_empty(self) -> bool:
        """Nothing to tell."""
        return not (
            self.late
            or self.will_be_late
            or self.due
            or self.parts
            or self.rings
            or self.answers
            or self.ready
            or self.handed_on
        )


def todays_list(session: Session, day: date) -> Today:
    """Gather the page from the open jobs."""
    rules = current_rules(session)
    bench = bench_of(rules)
    lines = open_jobs(session, day).lines
    soon = next_working_day(bench, day)
    in_parts = {line.job.number for line in lines if line.job.waiting is Waiting.PARTS}
    told = {line.job.id for line in lines if line.status.is_late or line.will_be_late}
    return Today(
        late=tuple(line for line in lines if line.status.is_late),
        will_be_late=tuple(line for line in lines if line.will_be_late),
        due=tuple(
            line
            for line in lines
            if line.job.id not in told
            and line.job.promised_on is not None
            and line.job.promised_on <= soon
        ),
        parts=tuple(line for line in lines if line.job.waiting is Waiting.PARTS),
        rings=tuple(
            line
            for line in wanted_lines(session, day)
            if line.wanted.arrived_at is None and line.number not in in_parts
        ),
        answers=tuple(
            line
            for line in lines
            if line.status.asks or line.job.waiting in (Waiting.CUSTOMER, Waiting.WELDER)
        ),
        ready=tuple(line for line in lines if line.status.is_ready),
        handed_on=tuple(handed_on(session)),
        rates=rates_now(session, rules),
        bench=bench,
        minutes_left=sum(line.left.minutes for line in lines if line.left),
        open_jobs=len(lines),
    )


def next_working_day(bench: Bench, day: date) -> date:
    """The first working day after this one."""
    found = day + timedelta(days=1)
    while not bench.works_on(found):
        found += timedelta(days=1)
    return found

"""Promises held against the work that is left, by minutes from the shop's own records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from app.workflow.facts import HeadFacts
from app.workflow.stages import stages_of
from app.workflow.words import Stage, VerifyPart, Work, WorkStage, counted

_WORKED_ON = frozenset({Work.RING, Work.SEAT_ONLY, Work.GUIDE_ONLY})


# What the record teaches


@dataclass(frozen=True, slots=True)
class Moment:
    """Something was read, cut, pressed or signed at the bench; `is_own`: on a counted position."""

    at: datetime
    stage: WorkStage
    is_own: bool = True


@dataclass(frozen=True, slots=True)
class Timed:
    """So many seconds of one stage's work on so many positions."""

    stage: WorkStage
    positions: int
    seconds: int


def seconds_by_stage(moments: Iterable[Moment], longest_pause: timedelta) -> dict[WorkStage, int]:
    """How long each stage took: what lies between two moments counts for the later one.

    A longer break than `longest_pause` was no work on this head and counts for nothing.
    """
    found: dict[WorkStage, int] = defaultdict(int)
    ordered = sorted(moments, key=lambda each: each.at)
    for before, then in pairwise(ordered):
        gap = then.at - before.at
        if then.is_own and gap <= longest_pause:
            found[then.stage] += int(gap.total_seconds())
    return dict(found)


@dataclass(frozen=True, slots=True)
class Rate:
    """Minutes a position takes at one stage, and whether the shop measured them itself."""

    stage: WorkStage
    minutes: float
    positions: int  # on record; the default holds while they are too few
    is_default: bool
    source: str = ""

    @property
    def told(self) -> str:
        """Where the figure comes from."""
        if not self.is_default:
            return f"measured here on {counted(self.positions, 'position')}"
        on_record = counted(self.positions, "position") if self.positions else "no position"
        return f"a default ({self.source}); {on_record} on record so far"


def rates(
    timed: Iterable[Timed],
    defaults: Mapping[WorkStage, tuple[float, str]],
    least_positions: int,
) -> dict[WorkStage, Rate]:
    """The shop's own minutes a position, or the marked default while there are too few."""
    seconds: dict[WorkStage, int] = defaultdict(int)
    positions: dict[WorkStage, int] = defaultdict(int)
    for each in timed:
        seconds[each.stage] += each.seconds
        positions[each.stage] += each.positions
    found = {}
    for stage, (minutes, source) in defaults.items():
        count = positions[stage]
        is_default = count < max(1, least_positions)
        own = seconds[stage] / 60 / count if count else 0.0
        found[stage] = Rate(stage, minutes if is_default else own, count, is_default, source)
    return found


# What is left


@dataclass(frozen=True, slots=True)
class WorkLeft:
    """What a job still needs at the bench."""

    minutes: int
    positions: tuple[tuple[WorkStage, int], ...]
    undecided: int  # positions whose work nobody decided: not in the minutes

    @property
    def told(self) -> str:
        """``about 1 h 40 min``; empty when the bench has nothing to do."""
        about = f"about {hours_words(self.minutes)}" if self.minutes else ""
        if not self.undecided:
            return about
        more = f"{counted(self.undecided, 'position')} not decided"
        return f"{about}, and {more}" if about else more


def work_left(heads: Sequence[HeadFacts], minutes: Mapping[WorkStage, Rate]) -> WorkLeft:
    """Positions times minutes, stage by stage; what is on hold counts as still to be cut."""
    count: dict[WorkStage, int] = dict.fromkeys(WorkStage, 0)
    undecided = 0
    for head in heads:
        if head.is_scrap:
            continue
        at = stages_of(head)
        for port in head.ports:
            undecided += port.work is Work.UNDECIDED
            if port.work not in _WORKED_ON:
                continue
            stage = at[port.label].stage
            if stage in (Stage.INTAKE, Stage.MEASURE):
                count[WorkStage.MEASURE] += 1
            is_bored = at[port.label].has(VerifyPart.BORE_PROVED)
            if port.work is Work.RING and not is_bored and stage is not Stage.DONE:
                count[WorkStage.CUT] += 1
            if not _is_finished(port.work, at[port.label].has(VerifyPart.SEAT_FINISHED), stage):
                count[WorkStage.FINISH] += 1
    total = sum(minutes[stage].minutes * positions for stage, positions in count.items())
    return WorkLeft(
        minutes=round(total),
        positions=tuple((stage, positions) for stage, positions in count.items() if positions),
        undecided=undecided,
    )


def _is_finished(work: Work, is_seat_finished: bool, stage: Stage) -> bool:
    return stage is Stage.DONE or is_seat_finished or work is Work.GUIDE_ONLY


def hours_words(minutes: int) -> str:
    """``40 min``, ``1 h 40 min``, ``12 h``: nobody plans a long job by the minute."""
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    if hours >= 8:
        return f"{hours + (rest >= 30)} h"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


# Against the promises


@dataclass(frozen=True, slots=True)
class Bench:
    """What the bench gives: minutes in a working day, and how many days of a week it works."""

    minutes_a_day: int
    days_a_week: int

    def works_on(self, day: date) -> bool:
        """Whether this is a working day: the week is counted from Monday."""
        return day.weekday() < self.days_a_week

    def day_after(self, today: date, minutes: int) -> date:
        """The working day on which so many minutes of work are done; today counts whole."""
        # Whole weeks at once: the work of a full shop reaches far.
        weeks = max(0, minutes - 1) // (self.minutes_a_day * self.days_a_week)
        day = today + timedelta(weeks=weeks)
        left = minutes - weeks * self.minutes_a_day * self.days_a_week
        while True:
            if self.works_on(day):
                left -= self.minutes_a_day
                if left <= 0:
                    return day
            day += timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Promised:
    """One open job as it is planned."""

    number: str
    promised_on: date | None
    minutes: int
    is_waiting: bool = False
    expected_on: date | None = None  # when what it waits for should be there


@dataclass(frozen=True, slots=True)
class Outlook:
    """When a job is likely to be done at the bench, with what is promised before it done first."""

    likely_on: date | None  # None: it waits, and nobody knows until when
    ahead: int  # minutes of work promised earlier
    is_late: bool  # the promised day is over
    will_be_late: bool  # likely to be done only after the promised day
    promised_on: date | None


def outlooks(jobs: Iterable[Promised], bench: Bench, today: date) -> dict[str, Outlook]:
    """Earliest promise first; what was promised for no day comes last."""
    found = {}
    ahead = 0
    for job in sorted(jobs, key=lambda each: (each.promised_on or date.max, each.number)):
        likely: date | None = bench.day_after(today, ahead + job.minutes)
        if job.is_waiting:
            start = job.expected_on
            likely = (
                None
                if start is None
                else max(likely or start, bench.day_after(max(start, today), job.minutes))
            )
        is_late = job.promised_on is not None and job.promised_on < today
        found[job.number] = Outlook(
            likely_on=likely,
            ahead=ahead,
            is_late=is_late,
            will_be_late=not is_late
            and job.promised_on is not None
            and likely is not None
            and likely > job.promised_on,
            promised_on=job.promised_on,
        )
        ahead += job.minutes
    return found

"""Figures over jobs: days from one stage to the next, promises, holds by cause, comebacks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, func, select

from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import Cut, Hold, HoldRelease, PortPass
from app.models.sheet import Signature
from app.models.shop import Shop
from app.queries.figure_views import Column, Figure, Holds, Row, Span, Spans
from app.queries.finished_months import FinishedMonths
from app.workflow.kinds import SignedWhat
from app.workflow.periods import FEWEST_CASES, Period
from app.workflow.words import Ended, money

STRETCHES = (
    "taken in until metal came off",
    "metal off until all was signed",
    "signed until handed over",
    "taken in until handed over",
)
MOST_LISTED = 200


def days_taken(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """Days that jobs stood in each stage, and promises kept."""

    def count(begins: datetime, ends: datetime) -> tuple[list[Counter[int]], int, int, int]:
        return _days_of(session, begins, ends, zone)

    months = kept.over("days", period, zone, at, count)
    days = [Counter[int]() for _ in STRETCHES]
    jobs = promised = held = 0
    rows = []
    for month, (own, n, asked, good) in months.items():
        for every, some in zip(days, own, strict=True):
            every.update(some)
        jobs, promised, held = jobs + n, promised + asked, held + good
        rows.append(
            Row(
                (
                    month.words,
                    n,
                    asked,
                    good,
                    *(_share_point(some, 50) for some in own),
                )
            )
        )
    said = []
    if promised:
        share = f" ({held / promised:.1%})" if promised >= FEWEST_CASES else ""
        said.append(
            f"{held} of {promised} promises were kept{share}: handed over on the promised day or "
            "before."
        )
    lines = tuple(
        Span(
            words,
            f"{every.total()} jobs: half within {_share_point(every, 50)}, nine of ten within "
            f"{_share_point(every, 90)} days",
            _share_point(every, 50),
            _share_point(every, 10),
            _share_point(every, 90),
        )
        for words, every in zip(STRETCHES, days, strict=True)
        if every.total() >= FEWEST_CASES
    )
    return Figure(
        key="days",
        title="Days in each stage, promises kept",
        definition="Jobs that were handed over in the period, in days of the calendar, weekends "
        "and waiting for parts or for an answer among them. Each line reaches from the day that "
        "one job of ten was within to the day that nine of ten were, with the middle one marked. "
        "A promise is the day that stood at the hand-over. Jobs in which nothing was cut have no "
        "first two stretches.",
        count=jobs,
        cases="jobs handed over",
        said=tuple(said),
        pictures=(Spans("Days in each stage", "days", lines),) if lines else (),
        columns=(
            Column("Handed over in"),
            Column("Jobs", Holds.COUNT),
            Column("Promised", Holds.COUNT),
            Column("Kept", Holds.COUNT),
            *(Column(f"Middle, days: {words}", Holds.COUNT) for words in STRETCHES),
        ),
        rows=tuple(rows),
        few=jobs < FEWEST_CASES,
    )


def _days_of(
    session: Session, begins: datetime, ends: datetime, zone: ZoneInfo
) -> tuple[list[Counter[int]], int, int, int]:
    first_cut: Any = (
        select(func.min(Cut.at))
        .select_from(Head)
        .join(Port, col(Port.head_id) == col(Head.id))
        .join(PortPass, col(PortPass.port_id) == col(Port.id))
        .join(Cut, col(Cut.port_pass_id) == col(PortPass.id))
        .where(col(Head.job_id) == col(Job.id))
        .correlate(Job)
        .scalar_subquery()
    )
    last_signed: Any = (
        select(func.max(Signature.at))
        .where(col(Signature.job_id) == col(Job.id), col(Signature.what) == SignedWhat.POSITIONS)
        .correlate(Job)
        .scalar_subquery()
    )
    columns: tuple[Any, ...] = (
        Job.taken_in_at,
        first_cut,
        last_signed,
        Job.ended_at,
        Job.promised_on,
    )
    query: Any = select(*columns).where(
        col(Job.ended_at) >= begins,
        col(Job.ended_at) < ends,
        col(Job.ended_as) == Ended.HANDED_OVER,
    )
    days = [Counter[int]() for _ in STRETCHES]
    jobs = promised = held = 0
    for taken_in, cut, signed, ended, promise in session.exec(query):
        jobs += 1
        moments = (taken_in, cut), (cut, signed), (signed, ended), (taken_in, ended)
        for every, (one, other) in zip(days, moments, strict=True):
            if one is not None and other is not None:
                apart = other.astimezone(zone).date() - one.astimezone(zone).date()
                every[max(0, apart.days)] += 1
        if promise is not None:
            promised += 1
            held += ended.astimezone(zone).date() <= promise
    return days, jobs, promised, held


def _share_point(days: Counter[int], percent: int) -> int | None:
    """The day that so many of a hundred were within."""
    wanted = days.total() * percent / 100
    seen = 0
    for day in sorted(days):
        seen += days[day]
        if seen >= wanted:
            return day
    return None


def hold_causes(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """Holds by what was found, and the deviations signed on them."""
    begins, ends = period.first.begins(zone), period.last.plus(1).begins(zone)
    query: Any = (
        select(Hold.reason, HoldRelease.way, HoldRelease.is_deviation, func.count())
        .outerjoin(HoldRelease, col(HoldRelease.hold_id) == col(Hold.id))
        .where(col(Hold.at) >= begins, col(Hold.at) < ends)
        .group_by(col(Hold.reason), col(HoldRelease.way), col(HoldRelease.is_deviation))
    )
    reasons: Counter[Any] = Counter()
    deviations: Counter[Any] = Counter()
    ways: Counter[tuple[Any, str, bool]] = Counter()
    for reason, way, is_deviation, n in session.exec(query):
        reasons[reason] += n
        deviations[reason] += n if is_deviation else 0
        ways[reason, way.screen if way else "still on hold", bool(is_deviation)] += n
    every, kept_as = reasons.total(), deviations.total()
    lines = tuple(
        Span(
            reason.screen,
            f"{n}" + (f", {deviations[reason]} kept as deviations" if deviations[reason] else ""),
            n,
        )
        for reason, n in reasons.most_common()
    )
    return Figure(
        key="holds",
        title="Holds and deviations by cause",
        definition="Every time that a position was put on hold in the period, by what was found, "
        "and how it was left; a slip in a reading that was read again stands here as well. "
        "Deviations were kept outside a limit, with a reason and a signature.",
        count=every,
        cases="holds",
        said=(f"{kept_as} of {every} holds ended in a deviation.",) if every else (),
        pictures=(Spans("Holds by cause", "count", lines),) if lines else (),
        columns=(
            Column("What was found"),
            Column("Way out"),
            Column("Deviation"),
            Column("Times", Holds.COUNT),
        ),
        rows=tuple(
            Row((reason.screen, way, "yes" if deviation else "no", n))
            for (reason, way, deviation), n in ways.most_common()
        ),
        few=False,
    )


def came_back(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """Jobs taken in because an earlier one came back."""
    begins, ends = period.first.begins(zone), period.last.plus(1).begins(zone)

    def handed_over(start: datetime, end: datetime) -> int:
        return session.exec(
            select(func.count())
            .select_from(Job)
            .where(
                col(Job.ended_at) >= start,
                col(Job.ended_at) < end,
                col(Job.ended_as) == Ended.HANDED_OVER,
            )
        ).one()

    out = sum(kept.over("handed over", period, zone, at, handed_over).values())
    found = session.exec(
        select(Job)
        .where(
            col(Job.comeback_of_id).is_not(None),
            col(Job.taken_in_at) >= begins,
            col(Job.taken_in_at) < ends,
            col(Job.voided_at).is_(None),
        )
        .order_by(col(Job.id).desc())
    ).all()
    shown = found[:MOST_LISTED]
    ids = {job.comeback_of_id for job in shown}
    earlier = {job.id: job for job in session.exec(select(Job).where(col(Job.id).in_(ids)))}
    rows = []
    for job in shown:
        before = earlier[job.comeback_of_id or 0]
        days = (job.taken_in_at - before.ended_at).days if before.ended_at else None
        rows.append(
            Row(
                (
                    job.number,
                    before.number,
                    days,
                    job.comeback_cause or "not said yet",
                    job.comeback_found or "not said yet",
                    money(job.comeback_cost) if job.comeback_cost is not None else None,
                    "yes" if job.comeback_told_on else "no",
                ),
                f"/jobs/{job.number}",
            )
        )
    return Figure(
        key="comebacks",
        title="Comebacks",
        definition="Jobs taken in during the period as the return of an earlier job of this shop, "
        "beside the jobs handed over in the same period. Most came from earlier months, so the two "
        "numbers are no share of each other.",
        count=len(found),
        cases="jobs that came back",
        said=(f"Handed over in the same period: {out}.", *_cost_of(session, found)),
        pictures=(),
        columns=(
            Column("Job"),
            Column("Came back of"),
            Column("Days after hand-over", Holds.COUNT),
            Column("As the customer told it"),
            Column("Cause as found"),
            Column("Cost"),
            Column("Customer told"),
        ),
        rows=tuple(rows),
        few=False,
    )


def _cost_of(session: Session, found: Sequence[Job]) -> tuple[str, ...]:
    costs = [job.comeback_cost for job in found if job.comeback_cost is not None]
    if not costs:
        return ()
    currency = session.get_one(Shop, 1).currency
    return (
        f"Cost to the shop, as far as it is written down ({len(costs)} of {len(found)}): "
        f"{money(sum(costs))} {currency}.",
    )

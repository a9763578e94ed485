"""The shop's lists as tables to be written out: jobs, holds, customers, prices, the bench."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager
from datetime import datetime
from functools import partial
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from sqlalchemy import Select
from sqlalchemy import select as select_columns
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, func, select

from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import Hold, HoldRelease
from app.queries.bench import Bench, BenchHead
from app.queries.counter import CounterLine
from app.queries.figure_views import Cell, Column, Holds, Row
from app.queries.price_items import newest_items
from app.queries.spreadsheet import Table
from app.workflow.kinds import Said
from app.workflow.pricing import Finding
from app.workflow.words import money

AT_ONCE = 500

JOBS = tuple(
    map(
        Column,
        (
            *("Job", "For", "Phone", "Heads", "Wanted", "Taken in", "Promised", "Where it stands"),
            *("On hold", "Waiting for", "Waiting until", "Rack", "Ended", "Ended as"),
        ),
    )
)
HOLDS = tuple(
    map(
        Column,
        (
            *("Job", "Head", "Position", "Stopped", "By", "Reason", "Why", "Way out", "Taken"),
            *("Taken by", "Deviation", "Value", "Limit", "Because", "Decided by", "Customer told"),
        ),
    )
)
CUSTOMERS = (
    *map(Column, ("Name", "Phone", "Second phone", "E-mail", "Trade", "Standing limit", "Note")),
    Column("Jobs", Holds.COUNT),
)
PRICES = tuple(map(Column, ("What for", "Amount", "For", "Proposed by", "Since", "On the list")))
BENCH = tuple(
    map(
        Column,
        ("Job", "For", "Head", "Progress", "To do", "Waits for", "Promised", "Days late", "Rack"),
    )
)


class Reads(Protocol):
    """What gives a session to read in."""

    def read(self) -> AbstractContextManager[Session]:
        """A session that sees one moment."""
        ...


class OnlyHolds(Said):
    """Which holds are listed."""

    ALL = "all"
    OPEN = "open", "still on hold"
    DEVIATIONS = "deviations", "deviations signed"


def paged(
    database: Reads, rows_after: Callable[[Session, int], tuple[list[Row], int]]
) -> Iterator[Row]:
    """Rows a page at a time, each page read for itself: nobody's copy holds the record up.

    `rows_after` answers the rows behind a key and the last key, 0 when there are no more.
    """
    after = 0
    while True:
        with database.read() as session:
            rows, after = rows_after(session, after)
        yield from rows
        if not after:
            return


def told(at: datetime | None, zone: ZoneInfo) -> str:
    """A moment as spreadsheets read it, on the shop's clock."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at else ""


def job_row(line: CounterLine, zone: ZoneInfo) -> Row:
    """One job as the counter tells it."""
    job = line.job
    cells: tuple[Cell, ...] = (
        job.number,
        line.who,
        line.phone,
        ", ".join(" ".join(filter(None, [head.name, head.casting])) for head in line.heads),
        " ".join(job.wanted.split()),
        told(job.taken_in_at, zone),
        _day(job.promised_on),
        line.status.sentence,
        ", ".join(line.status.on_hold),
        job.waiting_for or (job.waiting.screen if job.waiting else ""),
        _day(job.waiting_until),
        job.place,
        told(job.ended_at, zone),
        job.ended_as.screen if job.ended_as else "",
    )
    return Row(cells)


def jobs_table(name: str, lines: Iterable[CounterLine], zone: ZoneInfo) -> Table:
    """Jobs of the counter or of a search."""
    return Table(name, JOBS, (job_row(line, zone) for line in lines))


def holds_table(database: Reads, zone: ZoneInfo, only: OnlyHolds) -> Table:
    """Every hold, how it was left, and deviations with value and limit."""
    return Table(f"holds-{only.value}", HOLDS, paged(database, partial(_holds, zone, only)))


def _holds(zone: ZoneInfo, only: OnlyHolds, session: Session, after: int) -> tuple[list[Row], int]:
    by, released_by = aliased(Person), aliased(Person)
    query: Select[Any] = (
        select_columns(Hold, HoldRelease)
        .add_columns(col(Job.number), col(Head.name), col(Port.label))
        .add_columns(col(by.name), col(released_by.name))
        .join(Port, col(Port.id) == col(Hold.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .join(Job, col(Job.id) == col(Head.job_id))
        .join(by, col(by.id) == col(Hold.by_id))
        .outerjoin(HoldRelease, col(HoldRelease.hold_id) == col(Hold.id))
        .outerjoin(released_by, col(released_by.id) == col(HoldRelease.by_id))
        .where(col(Hold.id) > after)
        .order_by(col(Hold.id))
        .limit(AT_ONCE)
    )
    if only is OnlyHolds.OPEN:
        query = query.where(
            col(HoldRelease.id).is_(None), col(Job.ended_at).is_(None), col(Job.voided_at).is_(None)
        )
    elif only is OnlyHolds.DEVIATIONS:
        query = query.where(col(HoldRelease.is_deviation))
    found = session.execute(query).all()
    rows = []
    for hold, way, number, head, label, stopped_by, taken_by in found:
        left: tuple[Cell, ...] = ("",) * 9
        if way is not None:
            told_customer = {None: "", True: "yes", False: "no"}[way.customer_told]
            left = (
                *(way.way.screen, told(way.at, zone), taken_by),
                *("yes" if way.is_deviation else "no", way.value, way.limit, way.reason),
                *(way.decided_by, told_customer),
            )
        at = told(hold.at, zone)
        rows.append(
            Row((number, head, label, at, stopped_by, hold.reason.screen, hold.words, *left))
        )
    return rows, found[-1][0].id if len(found) == AT_ONCE else 0


def customers_table(database: Reads) -> Table:
    """Every customer whose name was not emptied."""
    return Table("customers", CUSTOMERS, paged(database, _customers))


def _customers(session: Session, after: int) -> tuple[list[Row], int]:
    jobs = (
        select(func.count())
        .select_from(Job)
        .where(col(Job.customer_id) == col(Customer.id))
        .scalar_subquery()
    )
    found = session.execute(
        select(Customer, jobs)
        .where(col(Customer.id) > after)
        .order_by(col(Customer.id))
        .limit(AT_ONCE)
    ).all()
    rows = [
        Row(
            (
                *(one.name, one.phone, one.second_phone, one.email),
                "yes" if one.is_trade else "no",
                "" if one.standing_limit is None else money(one.standing_limit),
                " ".join(one.note.split()),
                count,
            )
        )
        for one, count in found
        if one.emptied_at is None
    ]
    return rows, found[-1][0].id if len(found) == AT_ONCE else 0


def prices_table(session: Session, zone: ZoneInfo) -> Table:
    """The price list, with what was taken off it."""
    rows = [
        Row(
            (
                *(item.text, money(item.amount), item.priced_by.screen),
                Finding(item.proposed_by).screen if item.proposed_by else "",
                told(item.at, zone),
                "no" if item.is_retired else "yes",
            )
        )
        for item in newest_items(session)
    ]
    return Table("price-list", PRICES, rows)


def bench_table(view: Bench) -> Table:
    """Heads in the order of the bench: with something to do first, then the others."""
    return Table("bench", BENCH, [_bench_row(each) for each in (*view.heads, *view.others)])


def _bench_row(head: BenchHead) -> Row:
    steps = "; ".join(f"{step.words}: {', '.join(step.labels)}" for step in head.steps)
    waits = "; ".join(filter(None, [head.waits_for, *head.waits]))
    return Row(
        (
            *(head.job.number, head.who, head.name, head.progress, steps, waits),
            *(_day(head.job.promised_on), str(head.days_late or ""), head.job.place),
        )
    )


def _day(day: object) -> str:
    return "" if day is None else str(day)

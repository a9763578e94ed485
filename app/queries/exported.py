"""The lists that go along with a whole export, all of one moment."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.forms.find import FindForm
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortFact
from app.queries.counter import CounterLine
from app.queries.crib import crib
from app.queries.figure_views import Column, Holds, Row
from app.queries.find import find
from app.queries.lists import (
    AT_ONCE,
    OnlyHolds,
    Reads,
    customers_table,
    holds_table,
    jobs_table,
    paged,
    prices_table,
    told,
)
from app.queries.shelf import shelf_lines
from app.queries.spreadsheet import Table
from app.queries.tool_lists import crib_tables, shelf_table, sizes_table

POSITIONS = (
    *map(Column, ("Job", "Head", "Position", "Signed", "Head material", "Supplier", "Lot")),
    *(
        Column(name, Holds.LENGTH, 5)
        for name in ("Ring OD", "Label OD", "Bore", "Interference", "Aim", "Least", "Most")
    ),
    *(Column("Tries", Holds.COUNT), Column("Was on hold"), Column("Deviation")),
)


class OneMoment:
    """Pages of a list read in a session that is open already."""

    def __init__(self, session: Session) -> None:
        self.session = session

    @contextmanager
    def read(self) -> Iterator[Session]:
        """The session; what was read goes, or a large shop would be whole in memory."""
        yield self.session
        self.session.expunge_all()


def exported_lists(session: Session, zone: ZoneInfo, today: date) -> Iterator[Table]:
    """Every list of the shop that a spreadsheet can hold."""
    at_once = OneMoment(session)
    yield jobs_table("jobs", _all_jobs(at_once, today), zone)
    yield signed_positions_table(at_once, zone)
    yield customers_table(at_once)
    yield holds_table(at_once, zone, OnlyHolds.ALL)
    yield prices_table(session, zone)
    yield sizes_table(at_once)
    yield shelf_table(shelf_lines(session))
    yield from crib_tables(crib(session, zone, today)).values()


def signed_positions_table(database: Reads, zone: ZoneInfo) -> Table:
    """Every signed pass with its sizes."""
    return Table("signed-positions", POSITIONS, paged(database, partial(_positions, zone)))


def _positions(zone: ZoneInfo, session: Session, after: int) -> tuple[list[Row], int]:
    found = session.exec(
        select(PortFact, Job.number, Head.name, Port.label)
        .join(Port, col(Port.id) == col(PortFact.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .join(Job, col(Job.id) == col(PortFact.job_id))
        .where(col(PortFact.id) > after)
        .order_by(col(PortFact.id))
        .limit(AT_ONCE)
    ).all()
    rows = [
        Row(
            (
                *(number, head, label, told(fact.signed_at, zone), fact.material.screen),
                *(fact.supplier, fact.lot, fact.ring_od, fact.label_od, fact.bore),
                *(fact.interference, fact.aim, fact.least, fact.most, fact.passes),
                *("yes" if fact.was_held else "no", "yes" if fact.was_deviation else "no"),
            )
        )
        for fact, number, head, label in found
    ]
    return rows, found[-1][0].id if len(found) == AT_ONCE else 0


def _all_jobs(database: Reads, today: date) -> Iterator[CounterLine]:
    form = FindForm({"sort": "old"})
    while True:
        with database.read() as session:
            part = find(session, form, today, AT_ONCE)
        yield from part.lines
        form.after = part.next_after
        if form.after is None:
            return

"""The shelf: boxes of seat rings without a job, and the rings that jobs wait for."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import exists
from sqlmodel import Session, col, select

from app.calc.units import Length, spread
from app.db import now
from app.models.head import Head, Port
from app.models.job import Job, WantedRing
from app.models.port_pass import PortPass, RingIn
from app.models.ring import Ring, RingSet
from app.queries.shop_rules import current_rules
from app.worksheets.ring_sets import SetWorking, load_sets

MOST_SETS = 200
# Rings of older jobs that were never put back are not there any more.
LATELY_OVER = timedelta(days=180)


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """A box on the shelf: how many, what the box says, what was measured."""

    ring_set: RingSet
    pieces: int
    read: int
    od: Length | None
    od_spread: Length | None
    material: str

    @property
    def name(self) -> str:
        """The number on the box, or the shop's own name."""
        return self.ring_set.part or self.ring_set.name


@dataclass(frozen=True, slots=True)
class WantedLine:
    """A ring that a position waits for."""

    wanted: WantedRing
    number: str
    unit: str
    head: str
    head_id: int
    label: str
    is_late: bool

    @property
    def state(self) -> str:
        """Arrived, ordered, or still to be ordered."""
        if self.wanted.arrived_at is not None:
            return "arrived"
        return "ordered" if self.wanted.ordered_at is not None else "to order"


@dataclass(frozen=True, slots=True)
class LeftOver:
    """Rings still filed under a job that is over."""

    ring_set: RingSet
    number: str
    rings: list[Ring]


@dataclass(frozen=True, slots=True)
class Shelf:
    """The shelf's page."""

    sets: list[ShelfLine]
    wanted: list[WantedLine]
    left_over: list[LeftOver]


def shelf(session: Session, today: date, find: str = "") -> Shelf:
    """Everything on the shelf, wanted, or left over; `find` narrows the boxes."""
    return Shelf(
        sets=shelf_lines(session, find),
        wanted=wanted_lines(session, today),
        left_over=_left_over(session),
    )


def shelf_lines(session: Session, find: str = "") -> list[ShelfLine]:
    """Boxes that hold a ring, by part number."""
    query = select(RingSet).where(col(RingSet.job_id).is_(None))
    if find.strip():
        like = f"%{_plain(find.strip())}%"
        query = query.where(
            col(RingSet.part).ilike(like, escape="\\")
            | col(RingSet.name).ilike(like, escape="\\")
            | col(RingSet.lot).ilike(like, escape="\\")
            | col(RingSet.supplier).ilike(like, escape="\\")
        )
    sets = session.exec(query.order_by(col(RingSet.part), col(RingSet.id)).limit(MOST_SETS)).all()
    worked = load_sets(session, sets, current_rules(session)) if sets else {}
    return [line for line in (shelf_line(worked[one.id]) for one in sets) if line.pieces]


def shelf_line(worked: SetWorking) -> ShelfLine:
    """One box as it can be worked from."""
    ods = [row.measured.od for row in worked.good if row.measured]
    return ShelfLine(
        ring_set=worked.ring_set,
        pieces=len(worked.rows),
        read=len(worked.good),
        od=None if worked.od_nm is None else Length.nearest(worked.od_nm),
        od_spread=spread(ods) if len(ods) > 1 else None,
        material=worked.material.name if worked.ring_set.material else "",
    )


def wanted_lines(session: Session, today: date, job_id: int | None = None) -> list[WantedLine]:
    """Rings wanted by open jobs; what is late or not ordered yet first, what arrived last."""
    query = (
        select(WantedRing, Job, Head.name, Port)
        .join(Job, col(Job.id) == col(WantedRing.job_id))
        .join(Port, col(Port.id) == col(WantedRing.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .where(
            col(WantedRing.dropped_at).is_(None),
            col(Job.ended_at).is_(None),
            col(Job.voided_at).is_(None),
        )
        .order_by(col(WantedRing.id))
    )
    if job_id is not None:
        query = query.where(WantedRing.job_id == job_id)
    lines = [
        WantedLine(
            wanted=wanted,
            number=job.number,
            unit=job.unit.value,
            head=name,
            head_id=port.head_id,
            label=port.label,
            is_late=wanted.arrived_at is None
            and wanted.expected_on is not None
            and wanted.expected_on < today,
        )
        for wanted, job, name, port in session.exec(query)
    ]
    return sorted(lines, key=_turn)


def wanted_line(session: Session, wanted_id: int, today: date) -> WantedLine | None:
    """One wanted ring of an open job."""
    wanted = session.get(WantedRing, wanted_id)
    if wanted is None:
        return None
    lines = wanted_lines(session, today, wanted.job_id)
    return next((line for line in lines if line.wanted.id == wanted_id), None)


def _turn(line: WantedLine) -> tuple[bool, bool, bool, int]:
    wanted = line.wanted
    return (
        wanted.arrived_at is not None,
        not line.is_late,
        wanted.ordered_at is not None,
        wanted.id,
    )


def _left_over(session: Session) -> list[LeftOver]:
    sets = session.exec(
        select(RingSet, Job.number)
        .join(Job, col(Job.id) == col(RingSet.job_id))
        .where(col(Job.ended_at) >= now() - LATELY_OVER)
        .order_by(col(Job.ended_at).desc(), col(RingSet.id))
        .limit(MOST_SETS)
    ).all()
    # Asked ring by ring, over indexes: the record of rings in grows with the shop's age.
    pressed = exists().where(col(RingIn.ring_id) == col(Ring.id), col(RingIn.withdrawn).is_(False))
    meant = exists().where(col(PortPass.ring_id) == col(Ring.id), col(PortPass.closed_at).is_(None))
    chosen = exists().where(col(Port.ring_id) == col(Ring.id))
    rings: dict[int, list[Ring]] = defaultdict(list)
    for ring in session.exec(
        select(Ring)
        .where(
            col(Ring.ring_set_id).in_([ring_set.id for ring_set, _ in sets]),
            col(Ring.retired_at).is_(None),
            ~pressed,
            ~meant,
            ~chosen,
        )
        .order_by(col(Ring.id))
    ):
        rings[ring.ring_set_id].append(ring)
    return [
        LeftOver(ring_set, number, rings[ring_set.id])
        for ring_set, number in sets
        if ring_set.id in rings
    ]


def _plain(typed: str) -> str:
    return typed[:60].replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")


def shelf_box(session: Session, box_id: int) -> tuple[ShelfLine, SetWorking] | None:
    """One box on the shelf with its rings as read; none when it is at a job."""
    ring_set = session.get(RingSet, box_id)
    if ring_set is None or ring_set.job_id is not None:
        return None
    worked = load_sets(session, [ring_set], current_rules(session))[ring_set.id]
    return shelf_line(worked), worked


def number_of_set(session: Session, ring_set_id: int) -> str:
    """The number of the job that a set is at; empty on the shelf."""
    query = select(Job.number).join(RingSet, col(RingSet.job_id) == col(Job.id))
    return session.exec(query.where(RingSet.id == ring_set_id)).first() or ""


def loose_rings(session: Session, ring_set_id: int) -> list[Ring]:
    """The rings of a set that are still there."""
    query = select(Ring).where(Ring.ring_set_id == ring_set_id, col(Ring.retired_at).is_(None))
    return list(session.exec(query.order_by(col(Ring.id))))

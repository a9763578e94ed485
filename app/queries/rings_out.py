"""How old rings came out: the newest word on each position."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.inspection import RingOut
from app.models.person import Person


@dataclass(frozen=True, slots=True)
class Out:
    """What stands for one position, and who said it."""

    row: RingOut
    by: str


def rings_out(session: Session, port_ids: Iterable[int]) -> dict[int, Out]:
    """By position, in one statement."""
    rows = session.exec(
        select(RingOut, Person.name)
        .join(Person, col(Person.id) == col(RingOut.by_id))
        .where(col(RingOut.port_id).in_(list(port_ids)))
        .order_by(col(RingOut.id))
    ).all()
    return {row.port_id: Out(row, by) for row, by in rows}

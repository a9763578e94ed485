"""How heads go on after they were inspected: the newest decision on each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.models.inspection import HeadDecision
from app.models.person import Person
from app.workflow.words import InspectionWay


@dataclass(frozen=True, slots=True)
class Decision:
    """What was decided, why, by whom and when."""

    id: int
    way: InspectionWay
    because: str
    by: str
    at: datetime


def newest_decisions(session: Session, head_ids: Iterable[int]) -> dict[int, Decision]:
    """By head, in one statement."""
    newest = (
        select(func.max(col(HeadDecision.id)))
        .where(col(HeadDecision.head_id).in_(list(head_ids)))
        .group_by(col(HeadDecision.head_id))
    )
    rows = session.exec(
        select(HeadDecision, Person.name)
        .join(Person, col(Person.id) == col(HeadDecision.by_id))
        .where(col(HeadDecision.id).in_(newest))
    )
    return {row.head_id: Decision(row.id, row.way, row.because, name, row.at) for row, name in rows}

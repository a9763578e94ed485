"""Positions that were opened to be cut, with nothing recorded since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.models.person import Person
from app.worksheets.cutting import port_name
from app.worksheets.facts import HeadSheet


@dataclass(frozen=True, slots=True)
class OpenedAndLeft:
    """A position that was opened to be cut, with nothing recorded since."""

    number: str
    name: str
    port_id: int
    at: datetime
    by: str
    is_own: bool


def opened_and_left(
    session: Session, sheets: Iterable[HeadSheet], heads_of: Mapping[int, int], person_id: int
) -> tuple[OpenedAndLeft, ...]:
    """Was it cut? `heads_of` counts the heads of each job."""
    found = [
        (sheet, rows, rows.opening)
        for sheet in sheets
        for rows in sheet.rows.ports
        if rows.opening is not None and sheet.facts.port(rows.label).opened_unrecorded
    ]
    names = dict(
        session.exec(
            select(Person.id, Person.name).where(
                col(Person.id).in_({opening.by_id for _, _, opening in found})
            )
        ).all()
    )
    return tuple(
        OpenedAndLeft(
            number=sheet.rows.job.job.number,
            name=port_name(sheet.head, rows.label, heads_of[sheet.head.job_id]).told,
            port_id=rows.port.id,
            at=opening.at,
            by=names[opening.by_id],
            is_own=opening.by_id == person_id,
        )
        for sheet, rows, opening in found
    )

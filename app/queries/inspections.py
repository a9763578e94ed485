"""Inspections of a head: the newest of each kind, with who made it, and the earlier ones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.models.inspection import Inspection
from app.models.person import Person
from app.queries.inspected import figure_rows, spots_told
from app.workflow.facts import PointState
from app.workflow.gates import Gate, asked_points
from app.workflow.inspected import asked_of_method
from app.workflow.words import InspectionKind
from app.worksheets.facts import HeadSheet

ALWAYS = (
    InspectionKind.CONDITION,
    InspectionKind.CRACK,
    InspectionKind.PRESSURE_BEFORE,
    InspectionKind.FLATNESS,
    InspectionKind.HARDNESS,
    InspectionKind.PRESSURE_AFTER,
)
SELDOM = (InspectionKind.CAM_LINE, InspectionKind.VACUUM)
KINDS = (*ALWAYS, *SELDOM)


@dataclass(frozen=True, slots=True)
class Looked:
    """One inspection with who looked and who typed it in."""

    row: Inspection
    typed_by: str
    sent_by: str
    spots: tuple[tuple[str, str], ...] = ()  # figures by place, as typed

    @property
    def figures(self) -> str:
        """``98, 101, 99 HB``, or nothing."""
        return spots_told(dict(self.spots))

    @property
    def taken_at(self) -> datetime:
        """When it was looked at."""
        return self.row.taken_at

    @property
    def kept_at(self) -> datetime:
        """When it was typed in."""
        return self.row.at

    @property
    def is_entered_later(self) -> bool:
        """It was looked at earlier, and typed in from paper."""
        return self.row.read_by_id is not None


@dataclass(frozen=True, slots=True)
class InspectionLine:
    """One kind: what stands, whether it is asked for, and why what stands does not count."""

    kind: InspectionKind
    newest: Inspection | None
    looked: Looked | None
    is_asked: bool
    is_open: bool
    stale: str
    earlier: tuple[Looked, ...]
    asked: str = ""  # what its method leaves open

    @property
    def is_shown(self) -> bool:
        """It belongs to this head; the others are folded away."""
        return self.is_asked or self.newest is not None

    @property
    def shown(self) -> Inspection | None:
        """What the page's fields start from: nothing when it has to be done again."""
        return None if self.stale else self.newest


def inspection_lines(session: Session, sheet: HeadSheet) -> list[InspectionLine]:
    """Every kind, in the order in which a head is looked at."""
    reader = aliased(Person)
    rows = session.exec(
        select(Inspection, Person.name, col(reader.name))
        .join(Person, col(Person.id) == col(Inspection.by_id))
        .outerjoin(reader, col(reader.id) == col(Inspection.read_by_id))
        .where(Inspection.head_id == sheet.head.id, col(Inspection.port_id).is_(None))
        .order_by(col(Inspection.id).desc())
    ).all()
    points = {
        point.key: point
        for gate in (Gate.METAL_OFF, Gate.HAND_OVER, None)
        for point in asked_points(gate, sheet.facts)
    }
    figures = figure_rows(
        session, [row.id for row, *_ in rows if row.kind is InspectionKind.HARDNESS]
    )
    found = []
    for kind in KINDS:
        mine = [
            Looked(
                row,
                read or name,
                name,
                tuple((each.place, each.typed) for each in figures.get(row.id, ())),
            )
            for row, name, read in rows
            if row.kind is kind
        ]
        point = points.get("crack_test" if kind is InspectionKind.CRACK else kind.value)
        stale = ""
        if mine and point is not None and point.point.state is PointState.OPEN:
            stale = point.point.told
        found.append(
            InspectionLine(
                kind=kind,
                newest=mine[0].row if mine else None,
                looked=mine[0] if mine else None,
                is_asked=point is not None,
                is_open=point is not None and not point.is_closed,
                stale=stale,
                earlier=tuple(mine[1:]),
                asked=asked_of_method(
                    kind, mine[0].row.outcome, mine[0].row.method, sheet.head.material
                )
                if mine
                else "",
            )
        )
    return found

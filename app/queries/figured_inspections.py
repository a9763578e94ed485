"""Inspections that carry figures: the newest of a kind, of a head or of each of its positions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.models.inspection import Inspection, InspectionFigure
from app.models.person import Person
from app.queries.inspections import Looked
from app.workflow.words import InspectionKind


@dataclass(frozen=True, slots=True)
class Figured:
    """One inspection with its figures by place, and who made it."""

    looked: Looked
    figures: Mapping[str, InspectionFigure]

    @property
    def row(self) -> Inspection:
        """The inspection itself."""
        return self.looked.row

    @property
    def typed(self) -> dict[str, str]:
        """The figures as they were typed."""
        return {place: figure.typed for place, figure in self.figures.items()}

    @property
    def exact(self) -> dict[str, Fraction]:
        """The figures as they were typed, without what a float adds."""
        return {place: Fraction(str(each.number)) for place, each in self.figures.items()}

    @property
    def unit(self) -> str:
        """The unit of its first figure; a test has one gauge."""
        return next((figure.unit for figure in self.figures.values()), "")


def newest_figured(
    session: Session, head_id: int, kind: InspectionKind, *, of_positions: bool
) -> dict[int | None, Figured]:
    """By position, or under None of the head itself; in two statements."""
    reader = aliased(Person)
    found = session.exec(
        select(Inspection, Person.name, col(reader.name))
        .join(Person, col(Person.id) == col(Inspection.by_id))
        .outerjoin(reader, col(reader.id) == col(Inspection.read_by_id))
        .where(
            Inspection.head_id == head_id,
            Inspection.kind == kind,
            col(Inspection.port_id).is_not(None)
            if of_positions
            else col(Inspection.port_id).is_(None),
        )
        .order_by(col(Inspection.id))
    ).all()
    newest = {row.port_id: Looked(row, read or name, name) for row, name, read in found}
    figures: dict[int, dict[str, InspectionFigure]] = defaultdict(dict)
    for figure in session.exec(
        select(InspectionFigure)
        .where(col(InspectionFigure.inspection_id).in_([each.row.id for each in newest.values()]))
        .order_by(col(InspectionFigure.id))
    ):
        figures[figure.inspection_id][figure.place] = figure
    return {port_id: Figured(looked, figures[looked.row.id]) for port_id, looked in newest.items()}

"""What the inspection of one head found in figures, as its pages and its record tell it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.head import Head
from app.models.inspection import Inspection, InspectionFigure
from app.queries.head_decisions import Decision, newest_decisions
from app.workflow.kept import Subject
from app.workflow.kinds import ReadingKind, Unit
from app.workflow.shop_rules import ShopRules
from app.workflow.words import InspectionKind
from app.worksheets.inspected import Deck, deck_of, flat_limits, hardness_told
from app.worksheets.readings import load_one


@dataclass(frozen=True, slots=True)
class Found:
    """Deck, hardness and the decision; each may be missing."""

    deck: Deck | None
    hardness: str
    spots: str  # as typed: ``98, 101, 99 HB``
    decision: Decision | None

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """What it comes to and what was read, as a paper prints it."""
        found: list[tuple[str, str]] = []
        if self.deck is not None:
            said = [*self.deck.words, self.deck.not_read]
            found.append(("deck flatness", "; ".join(filter(None, said))))
            found.append(("gaps", "; ".join(self.deck.gaps)))
        if self.hardness:
            found.append(("hardness", f"{self.hardness}; read {self.spots}"))
        return tuple(found)


def found_on(session: Session, head: Head, rules: ShopRules, unit: Unit) -> Found:
    """Gather it; a deck that nobody read is missing."""
    readings = load_one(session, ReadingKind.FLATNESS, Subject("head", head.id))
    deck = deck_of(readings, flat_limits(head, rules), unit) if readings.counting else None
    newest = session.exec(
        select(Inspection.id)
        .where(
            Inspection.head_id == head.id,
            col(Inspection.port_id).is_(None),
            Inspection.kind == InspectionKind.HARDNESS,
        )
        .order_by(col(Inspection.id).desc())
        .limit(1)
    ).first()
    rows = figure_rows(session, [newest] if newest else []).get(newest or 0, [])
    return Found(
        deck=deck,
        hardness=hardness_told({row.place: row.number for row in rows}, rules),
        spots=spots_told({row.place: row.typed for row in rows}),
        decision=newest_decisions(session, [head.id]).get(head.id),
    )


def figure_rows(session: Session, inspection_ids: list[int]) -> dict[int, list[InspectionFigure]]:
    """The figures of these inspections, in the order they were typed."""
    found: dict[int, list[InspectionFigure]] = {}
    if not inspection_ids:
        return found
    for row in session.exec(
        select(InspectionFigure)
        .where(col(InspectionFigure.inspection_id).in_(inspection_ids))
        .order_by(col(InspectionFigure.id))
    ):
        found.setdefault(row.inspection_id, []).append(row)
    return found


def spots_told(typed: Mapping[str, str]) -> str:
    """``98, 101, 99 HB``."""
    return f"{', '.join(typed.values())} HB" if typed else ""

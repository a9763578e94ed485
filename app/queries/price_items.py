"""The price list, and what it proposes for a job by what was found and decided there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.models.job import PriceLine
from app.models.person import Person
from app.models.price_item import PriceItem
from app.queries.figured_inspections import newest_figured
from app.workflow.kinds import ValveState
from app.workflow.pricing import AlsoDone, Finding, Found, found_on
from app.workflow.words import InspectionKind, Outcome
from app.worksheets.decks import deck_cuts
from app.worksheets.facts import HeadSheet


@dataclass(frozen=True, slots=True)
class PriceVersion:
    """A price that held, and who set it."""

    row: PriceItem
    by: str


@dataclass(frozen=True, slots=True)
class Proposed:
    """A line that the list proposes; `instead_of` is the line on the estimate that it replaces."""

    item: PriceItem
    pieces: int
    because: str
    instead_of: PriceLine | None

    @property
    def amount(self) -> int:
        """In minor units, of all pieces."""
        return self.item.amount * self.pieces


def newest_items(session: Session) -> list[PriceItem]:
    """The newest version of each price, in the order they were first put on the list."""
    newest = select(func.max(PriceItem.id)).group_by(col(PriceItem.key))
    first = dict(
        session.exec(
            select(PriceItem.key, func.min(PriceItem.id)).group_by(col(PriceItem.key))
        ).all()
    )
    rows = session.exec(select(PriceItem).where(col(PriceItem.id).in_(newest))).all()
    return sorted(rows, key=lambda row: first[row.key])


def price_history(session: Session, key: str) -> list[PriceVersion]:
    """What one price was, newest first."""
    rows = session.exec(
        select(PriceItem, Person.name)
        .join(Person, col(Person.id) == col(PriceItem.by_id))
        .where(PriceItem.key == key)
        .order_by(col(PriceItem.id).desc())
    ).all()
    return [PriceVersion(row, name) for row, name in rows]


def found_here(session: Session, sheets: Sequence[HeadSheet]) -> dict[Finding, Found]:
    """What was found, decided and done on the heads of a job."""
    return found_on(
        [sheet.facts for sheet in sheets], [_also_done(session, sheet) for sheet in sheets]
    )


def _also_done(session: Session, sheet: HeadSheet) -> AlsoDone:
    tests = newest_figured(session, sheet.head.id, InspectionKind.VACUUM, of_positions=True)
    ports = sheet.rows.ports

    def valves(state: ValveState) -> tuple[str, ...]:
        return tuple(
            rows.label for rows in ports if rows.valve_fate and rows.valve_fate.state is state
        )

    return AlsoDone(
        deck_was_cut=bool(deck_cuts(session, sheet.head.id)),
        refaced=valves(ValveState.REFACED),
        new_valves=valves(ValveState.NEW),
        vacuum_tested=tuple(
            rows.label
            for rows in ports
            if rows.port.id in tests and tests[rows.port.id].row.outcome is not Outcome.NOT_DONE
        ),
    )


def without_price(session: Session, sheets: Sequence[HeadSheet]) -> list[tuple[str, str]]:
    """What was found and no price of the list asks for, with the places: it is easily forgotten."""
    asked = {item.proposed_by for item in newest_items(session) if not item.is_retired}
    always = (Finding.JOB, Finding.HEAD)
    return [
        (finding.screen, found.because)
        for finding, found in found_here(session, sheets).items()
        if finding not in always and finding.value not in asked
    ]


def proposed(
    session: Session, sheets: Sequence[HeadSheet], lines: Sequence[PriceLine]
) -> list[Proposed]:
    """What the list would add to an estimate, or change on it, as things stand."""
    found = found_here(session, sheets)
    on_it: dict[str, PriceLine] = {}
    stand = [line for line in lines if line.voided_at is None and line.price_item_id is not None]
    keys: dict[int, str] = dict(
        session.exec(
            select(PriceItem.id, PriceItem.key).where(
                col(PriceItem.id).in_([line.price_item_id for line in stand])
            )
        ).all()
    )
    for line in stand:
        on_it[keys[line.price_item_id or 0]] = line
    answer = []
    for item in newest_items(session):
        if item.is_retired or not item.proposed_by:
            continue
        why = found.get(Finding(item.proposed_by))
        pieces = why.pieces(item.priced_by) if why else 0
        there = on_it.get(item.key)
        if why is None or not pieces:
            continue
        # A price that changed since stays as it was agreed; only another count asks again.
        if there is not None and there.pieces == pieces:
            continue
        answer.append(Proposed(item, pieces, why.because, there))
    return answer

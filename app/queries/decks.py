"""The page of a head's deck: its cuts, and the counterbores whose depth counts from it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.calc.units import Length
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.models.person import Person
from app.workflow.shop_rules import ShopRules
from app.worksheets.decks import DeckPort, deck_cuts, deck_ports, removed, still_to_come
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.shop_rules import current_rules


@dataclass(frozen=True, slots=True)
class DeckLine:
    """One cut, with who made it."""

    id: int
    stock: Length
    method: str
    after_seats: bool | None
    still_to_come: Length | None
    stamped: str
    note: str
    at: datetime
    by: str


@dataclass(frozen=True)
class DeckView:
    """Everything on the page."""

    job: Job
    head: Head
    customer: Customer | None
    sheet: HeadSheet
    rules: ShopRules
    cuts: tuple[DeckLine, ...]
    removed: Length
    still_to_come: Length | None
    ports: tuple[DeckPort, ...]
    seats_begun: bool

    @property
    def over(self) -> tuple[DeckPort, ...]:
        """Bored for less than came off."""
        return tuple(port for port in self.ports if port.is_over)


def deck_lines(session: Session, head_id: int) -> tuple[DeckLine, ...]:
    """The cuts of a deck that count."""
    return tuple(
        DeckLine(
            id=cut.id,
            stock=cut.stock,
            method=cut.method or "",
            after_seats=cut.after_seats,
            still_to_come=cut.still_to_come,
            stamped=cut.stamped,
            note=cut.note,
            at=cut.at,
            by=session.get_one(Person, cut.by_id).name,
        )
        for cut in deck_cuts(session, head_id)
    )


def deck_view(session: Session, job: Job, head: Head) -> DeckView:
    """Gather the page."""
    sheet = load_sheet(session, head)
    cuts = deck_cuts(session, head.id)
    return DeckView(
        job=job,
        head=head,
        customer=session.get(Customer, job.customer_id) if job.customer_id else None,
        sheet=sheet,
        rules=current_rules(session),
        cuts=deck_lines(session, head.id),
        removed=removed(cuts),
        still_to_come=still_to_come(cuts),
        ports=deck_ports(session, sheet, cuts),
        seats_begun=any(
            rows.finish is not None and rows.finish.counting for rows in sheet.rows.ports
        ),
    )

"""What the shop has already of what a list brings, retired and used things too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import select as select_columns
from sqlmodel import Session, col

from app.forms.lists_in import Key
from app.forms.shop_lists import box_key, customer_key
from app.models.crib import Cutter
from app.models.customer import Customer
from app.models.ring import RingSet


@dataclass(frozen=True, slots=True)
class Known:
    """What makes each of them the same as a line, and the newest of them: a write looks only at
    what came since, or a shop of many customers would hold up every tablet."""

    keys: frozenset[Key]
    newest: int


def known_customers(session: Session, after: int = 0) -> Known:
    """Customers by name and number."""
    query = select_columns(col(Customer.id), col(Customer.name), col(Customer.phone)).where(
        col(Customer.id) > after, col(Customer.emptied_at).is_(None)
    )
    return _known(session, query, customer_key, after)


def known_boxes(session: Session, after: int = 0) -> Known:
    """Boxes on the shelf, and those whose rings went to jobs."""
    query = select_columns(
        *(col(RingSet.id), col(RingSet.part), col(RingSet.name), col(RingSet.supplier)),
        *(col(RingSet.lot), col(RingSet.label_od), col(RingSet.label_height)),
        col(RingSet.label_inside),
    ).where(col(RingSet.id) > after)
    return _known(session, query, box_key, after)


def known_cutters(session: Session, after: int = 0) -> Known:
    """Names of cutters; a retired one keeps its name."""
    query = select_columns(col(Cutter.id), col(Cutter.name)).where(col(Cutter.id) > after)
    return _known(session, query, lambda row: (row.name.casefold(),), after)


def _known(session: Session, query: Any, key: Any, after: int) -> Known:
    rows = session.execute(query).all()
    newest = max((row.id for row in rows), default=after)
    return Known(frozenset(key(row) for row in rows), newest)

"""Finding customers by the beginnings of words, quick however many there are."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.models.search_key import SearchKey

# One beginning may fit thousands: only so many of the fitting ones are looked at.
MOST_LOOKED_AT = 120


def customers_found(session: Session, beginnings: list[str], most: int) -> list[int]:
    """Customers that have a key for every beginning, the newest first."""
    if not beginnings:
        return []
    first, *others = sorted(set(beginnings), key=len, reverse=True)
    subject: Any = col(SearchKey.customer_id)
    query = select(subject.label("found")).where(*_begins(SearchKey, first), subject.is_not(None))
    for beginning in others:
        other = aliased(SearchKey)
        same: Any = other.customer_id == subject
        query = query.where(select(other.id).where(*_begins(other, beginning), same).exists())
    looked_at = query.limit(MOST_LOOKED_AT).subquery()
    newest = select(looked_at.c.found).distinct().order_by(looked_at.c.found.desc()).limit(most)
    return list(session.exec(newest).all())


def _begins(table: Any, beginning: str) -> tuple[Any, Any]:
    # A range over the index; LIKE would read every key on SQLite.
    return table.key >= beginning, table.key < beginning + "\U0010ffff"

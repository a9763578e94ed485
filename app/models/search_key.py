"""What customers are found by: folded words, each from a word's start on."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Index, String
from sqlmodel import Field

from app.models.base import MUTABLE, Row, kept, maybe_reference

# PostgreSQL must order keys by code point, or the range of one beginning is not contiguous.
_KEY = String(60).with_variant(String(60, collation="C"), "postgresql")


class SearchKey(Row, table=True):
    """One beginning that finds a customer; an emptied key finds nothing.

    Keys of heads are from earlier releases: heads are found by the words of their jobs.
    """

    __tablename__ = "search_key"
    __table_args__ = kept(
        MUTABLE,
        CheckConstraint("(customer_id IS NULL) <> (head_id IS NULL)", name="one_subject"),
        Index("ix_search_key_beginning", "key", "customer_id", "head_id"),
    )

    key: str = Field(sa_type=_KEY)
    customer_id: int | None = maybe_reference("customer")
    head_id: int | None = maybe_reference("head")

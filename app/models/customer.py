"""Customers; emptied on request, never removed."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field

from app.models.base import MUTABLE, Mutable, kept, maybe_moment


class Customer(Mutable, table=True):
    """Someone whose heads come in."""

    __tablename__ = "customer"
    __table_args__ = kept(MUTABLE)

    name: str = Field(max_length=120, index=True)
    phone: str = Field(default="", max_length=40)
    second_phone: str = Field(default="", max_length=40)
    # Digits only, so that 555-0134 is found by 5550134.
    phone_digits: str = Field(default="", max_length=80, index=True)
    email: str = Field(default="", max_length=120)
    is_trade: bool = False
    standing_limit: int | None = Field(default=None)
    note: str = Field(default="", max_length=2000)
    emptied_at: datetime | None = maybe_moment()

"""Keys with which programs read the record."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from app.models.base import MUTABLE, Mutable, kept, maybe_moment, moment, reference


class ApiKey(Mutable, table=True):
    """One program's key; the key itself was shown once and is known to that program only."""

    __tablename__ = "api_key"
    __table_args__ = kept(MUTABLE, UniqueConstraint("key_hash"))

    name: str = Field(max_length=60)
    key_hash: str = Field(max_length=64)
    # Its first signs, by which people tell keys apart.
    begins: str = Field(max_length=12)
    issued_by_id: int = reference("person")
    issued_at: datetime = moment()
    last_used_at: datetime | None = maybe_moment()
    revoked_at: datetime | None = maybe_moment()

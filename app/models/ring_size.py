"""Seat rings that can be ordered: sizes as their sellers list them, never measured ones."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import MUTABLE, Mutable, kept, length, maybe_length, maybe_moment
from app.workflow.kinds import Unit


class RingSize(Mutable, table=True):
    """One line of a size list."""

    __tablename__ = "ring_size"
    __table_args__ = kept(MUTABLE, one_of("unit", Unit))

    supplier: str = Field(default="", max_length=60, index=True)
    part: str = Field(default="", max_length=60)
    od: Length = length(index=True)
    height: Length | None = maybe_length()
    inside: Length | None = maybe_length()
    material: str = Field(default="", max_length=60)
    unit: Unit = Field(sa_type=Worded(Unit))
    note: str = Field(default="", max_length=200)
    retired_at: datetime | None = maybe_moment()

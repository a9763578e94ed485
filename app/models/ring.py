"""Seat rings: sets of one part number, and the rings themselves."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import (
    MUTABLE,
    Mutable,
    kept,
    maybe_length,
    maybe_moment,
    maybe_reference,
    reference,
)
from app.workflow.kinds import RingOwner, Unit
from app.workflow.words import LabelMeans


class RingSet(Mutable, table=True):
    """Rings of one part number, read together; on the shelf while it has no job."""

    __tablename__ = "ring_set"
    __table_args__ = kept(
        MUTABLE,
        one_of("label_means", LabelMeans),
        one_of("owner", RingOwner),
        one_of("unit", Unit),
    )

    job_id: int | None = maybe_reference("job")
    name: str = Field(default="", max_length=60)
    part: str = Field(default="", max_length=60)
    supplier: str = Field(default="", max_length=60)
    lot: str = Field(default="", max_length=60, index=True)
    material: str = Field(default="", max_length=60)
    alpha_per_k: float | None = None
    owner: RingOwner = Field(sa_type=Worded(RingOwner))
    unit: Unit = Field(sa_type=Worded(Unit))
    label_od: Length | None = maybe_length()
    label_height: Length | None = maybe_length()
    label_inside: Length | None = maybe_length()
    label_means: LabelMeans = Field(sa_type=Worded(LabelMeans))
    lead_chamfer: Length | None = maybe_length()
    place: str = Field(default="", max_length=60)


class Ring(Mutable, table=True):
    """One ring in the hand."""

    __tablename__ = "ring"
    __table_args__ = kept(MUTABLE, UniqueConstraint("ring_set_id", "tag"))

    ring_set_id: int = reference("ring_set")
    tag: str = Field(max_length=20)
    retired_at: datetime | None = maybe_moment()
    retired_because: str = Field(default="", max_length=200)

"""What the seats of a head are to be: angles, width and place."""

from __future__ import annotations

from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import VERSIONS, Written, kept, maybe_length, reference
from app.workflow.words import Kind


class SeatPlan(Written, table=True):
    """One version for the intake or the exhaust seats of a head; the newest holds."""

    __tablename__ = "seat_plan"
    __table_args__ = kept(VERSIONS, one_of("kind", Kind))

    head_id: int = reference("head")
    kind: Kind = Field(sa_type=Worded(Kind))
    seat_angle_deg: float
    top_angle_deg: float
    throat_angle_deg: float
    width_wanted: Length | None = maybe_length()  # sloping
    outer_wanted: Length | None = maybe_length()  # the land's outer diameter: its place
    valve_angle_deg: float | None = None
    valve_head: Length | None = maybe_length()
    source: str = Field(max_length=200)

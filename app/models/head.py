"""A head and its positions."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import (
    INSERT_ONLY,
    MUTABLE,
    Mutable,
    Written,
    kept,
    maybe_length,
    maybe_reference,
    reference,
)
from app.workflow.words import HeatHistory, Kind, Material, SeatNow, Stage, Work


class Head(Mutable, table=True):
    """One casting of a job."""

    __tablename__ = "head"
    __table_args__ = kept(
        MUTABLE,
        UniqueConstraint("job_id", "nth"),
        one_of("material", Material),
        one_of("heat_history", HeatHistory),
    )

    job_id: int = reference("job")
    nth: int
    name: str = Field(default="", max_length=40)
    casting: str = Field(default="", max_length=60, index=True)
    casting_none_found: bool = False
    serial: str = Field(default="", max_length=60, index=True)
    engine: str = Field(default="", max_length=120)
    fuel: str = Field(default="", max_length=40)
    material: Material | None = Field(default=None, sa_type=Worded(Material), nullable=True)
    heat_history: HeatHistory | None = Field(
        default=None, sa_type=Worded(HeatHistory), nullable=True
    )
    # As typed, such as EIIEEIIE or EEEE/IIII; empty until it is known.
    layout: str = Field(default="", max_length=120)
    cylinders: str = Field(default="", max_length=60)
    numbered_from: str = Field(default="", max_length=40)
    valves_per_cylinder: int | None = None
    gate_version: int
    # Readings came since its positions' stages were stored: a reading must stay quick.
    stages_due: bool = False
    # Key of a material that the shop added; `material` is its family.
    alloy: str | None = Field(default=None, max_length=40)
    # The engine maker's limits for this deck and where they were read; empty: the shop's rules.
    flat_whole: Length | None = maybe_length()
    flat_part: Length | None = maybe_length()
    flat_part_over: Length | None = maybe_length()
    flat_source: str | None = Field(default=None, max_length=200)
    # The very head that this one was when it was here for the job that it comes back from.
    comeback_of_id: int | None = maybe_reference("head")


class Port(Mutable, table=True):
    """One valve position of a head; screens call it a position."""

    __tablename__ = "port"
    __table_args__ = kept(
        MUTABLE,
        UniqueConstraint("head_id", "place"),
        UniqueConstraint("head_id", "label"),
        one_of("kind", Kind),
        one_of("work", Work),
        one_of("seat_now", SeatNow),
        one_of("stage", Stage),
    )

    head_id: int = reference("head")
    place: int
    row: int
    label: str = Field(max_length=12)
    cylinder: str = Field(max_length=8)
    kind: Kind = Field(sa_type=Worded(Kind))
    nth: int
    work: Work = Field(sa_type=Worded(Work))
    seat_now: SeatNow | None = Field(default=None, sa_type=Worded(SeatNow), nullable=True)
    stage: Stage = Field(sa_type=Worded(Stage))
    ring_set_id: int | None = maybe_reference("ring_set")
    # None: any ring of the set.
    ring_id: int | None = maybe_reference("ring")
    # Chosen for this position when it differs from the rule of material and size.
    rule_least: Length | None = maybe_length()
    rule_aim: Length | None = maybe_length()
    rule_most: Length | None = maybe_length()
    rule_source: str = Field(default="", max_length=200)
    protrusion: Length | None = maybe_length()
    is_void: bool = False


class NotDone(Written, table=True):
    """An open point closed by a reason instead of a value; printed as large as a result."""

    __tablename__ = "not_done"
    __table_args__ = kept(INSERT_ONLY)

    head_id: int = reference("head")
    port_id: int | None = maybe_reference("port")
    requirement: str = Field(max_length=40)
    because: str = Field(max_length=400)
    is_withdrawn: bool = False

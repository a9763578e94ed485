"""Readings: append-only; a slip is struck by a row of its own, never changed."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import (
    INSERT_ONLY,
    Row,
    Written,
    kept,
    length,
    maybe_length,
    maybe_reference,
    moment,
    reference,
)
from app.workflow.kinds import Quantity, ReadingKind, Unit

_SUBJECTS = ("head_id", "port_id", "port_pass_id", "ring_id", "setting_id", "instrument_id")


class ReadingSet(Written, table=True):
    """Readings of one kind on one subject: those since it was last read afresh count."""

    __tablename__ = "reading_set"
    __table_args__ = kept(
        INSERT_ONLY,
        one_of("kind", ReadingKind),
        CheckConstraint(
            " + ".join(f"CASE WHEN {name} IS NULL THEN 0 ELSE 1 END" for name in _SUBJECTS)
            + " = 1",
            name="one_subject",
        ),
    )

    kind: ReadingKind = Field(sa_type=Worded(ReadingKind))
    head_id: int | None = maybe_reference("head")
    port_id: int | None = maybe_reference("port")
    port_pass_id: int | None = maybe_reference("port_pass")
    ring_id: int | None = maybe_reference("ring")
    setting_id: int | None = maybe_reference("setting")
    instrument_id: int | None = maybe_reference("instrument")
    with_instrument_id: int | None = maybe_reference("instrument")
    zeroed_on: Length | None = maybe_length()
    part_temperature_c: float | None = None
    gauge_temperature_c: float | None = None
    method: str = Field(default="", max_length=60)
    # Read from the start again: earlier sets of this kind no longer count.
    is_afresh: bool = False


class Reading(Row, table=True):
    """One figure as it was typed, with who read it, who sent it and when."""

    __tablename__ = "reading"
    __table_args__ = kept(
        INSERT_ONLY,
        UniqueConstraint("client_key"),
        one_of("quantity", Quantity),
        one_of("unit", Unit),
    )

    reading_set_id: int = reference("reading_set")
    quantity: Quantity = Field(sa_type=Worded(Quantity))
    # Which place on the part: "1".."8", "top across" …; nth counts repeats of that place.
    place: str = Field(max_length=24)
    nth: int
    value: Length = length()
    typed: str = Field(max_length=40)
    unit: Unit = Field(sa_type=Worded(Unit))
    typed_by_id: int = reference("person")
    sent_by_id: int = reference("person")
    taken_at: datetime = moment()
    kept_at: datetime = moment()
    client_key: str = Field(max_length=100)


class ReadingStrike(Written, table=True):
    """A reading that no longer counts, and why."""

    __tablename__ = "reading_strike"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("reading_id"))

    reading_id: int = reference("reading")
    reason: str = Field(max_length=200)


class ReadingKept(Written, table=True):
    """A doubtful reading that someone looked at again and kept, and why."""

    __tablename__ = "reading_kept"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("reading_id"))

    reading_id: int = reference("reading")
    reason: str = Field(max_length=200)

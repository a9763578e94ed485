"""Inspection outcomes of a head or a position."""

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
from app.workflow.kinds import OldFloor, RingOutWay, ValveState
from app.workflow.words import GuideDecision, GuideHow, InspectionKind, InspectionWay, Outcome


class Inspection(Written, table=True):
    """One inspection: crack, pressure, flatness, hardness …; the newest of a kind counts."""

    __tablename__ = "inspection"
    __table_args__ = kept(
        INSERT_ONLY,
        one_of("kind", InspectionKind),
        one_of("outcome", Outcome),
        CheckConstraint("outcome <> 'not_done' OR because <> ''", name="not_done_because"),
    )

    head_id: int = reference("head")
    port_id: int | None = maybe_reference("port")
    kind: InspectionKind = Field(sa_type=Worded(InspectionKind))
    outcome: Outcome = Field(sa_type=Worded(Outcome))
    method: str = Field(default="", max_length=80)
    found: str = Field(default="", max_length=400)
    because: str = Field(default="", max_length=400)
    taken_at: datetime = moment()
    # Who looked, when another typed it in later from paper.
    read_by_id: int | None = maybe_reference("person")


class GuideWork(Written, table=True):
    """What was decided about a guide: serviced (and how) or left; the newest counts."""

    __tablename__ = "guide_work"
    __table_args__ = kept(INSERT_ONLY, one_of("decision", GuideDecision), one_of("how", GuideHow))

    port_id: int = reference("port")
    decision: GuideDecision = Field(sa_type=Worded(GuideDecision))
    what: str = Field(default="", max_length=120)
    how: GuideHow | None = Field(default=None, sa_type=Worded(GuideHow), nullable=True)


class InspectionFigure(Row, table=True):
    """One figure of an inspection that is not a length: hardness, pressure held, a volume."""

    __tablename__ = "inspection_figure"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("inspection_id", "place"))

    inspection_id: int = reference("inspection")
    place: str = Field(max_length=40)
    number: float
    unit: str = Field(max_length=12)
    typed: str = Field(max_length=40)


class HeadDecision(Written, table=True):
    """How a head goes on after it was inspected, and why; the newest counts."""

    __tablename__ = "head_decision"
    __table_args__ = kept(INSERT_ONLY, one_of("way", InspectionWay))

    head_id: int = reference("head")
    way: InspectionWay = Field(sa_type=Worded(InspectionWay))
    because: str = Field(default="", max_length=400)


class RingOut(Written, table=True):
    """How the old seat ring came out, and what became of the floor; the newest counts."""

    __tablename__ = "ring_out"
    __table_args__ = kept(INSERT_ONLY, one_of("way", RingOutWay), one_of("floor", OldFloor))

    port_id: int = reference("port")
    way: RingOutWay = Field(sa_type=Worded(RingOutWay))
    floor: OldFloor = Field(sa_type=Worded(OldFloor))
    note: str = Field(default="", max_length=200)


class ValveFate(Written, table=True):
    """Whether a valve is kept, refaced, new or missing; the newest counts."""

    __tablename__ = "valve_fate"
    __table_args__ = kept(INSERT_ONLY, one_of("state", ValveState))

    port_id: int = reference("port")
    state: ValveState = Field(sa_type=Worded(ValveState))
    note: str = Field(default="", max_length=200)


class DeckCut(Written, table=True):
    """Stock that came off the deck, and what was stamped on the head for it.

    A row that takes another back says why in its note; neither counts.
    """

    __tablename__ = "deck_cut"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("takes_back_id"))

    head_id: int = reference("head")
    stock: Length = length()
    stamped: str = Field(default="", max_length=80)
    note: str = Field(default="", max_length=200)
    method: str | None = Field(default=None, max_length=80)
    still_to_come: Length | None = maybe_length()
    # Before the seats were finished, or after; None where nobody said.
    after_seats: bool | None = None
    takes_back_id: int | None = maybe_reference("deck_cut")

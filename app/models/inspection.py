"""Inspection outcomes of a head or a position."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import INSERT_ONLY, Written, kept, maybe_reference, moment, reference
from app.workflow.words import GuideDecision, InspectionKind, Outcome


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
    __table_args__ = kept(INSERT_ONLY, one_of("decision", GuideDecision))

    port_id: int = reference("port")
    decision: GuideDecision = Field(sa_type=Worded(GuideDecision))
    what: str = Field(default="", max_length=120)

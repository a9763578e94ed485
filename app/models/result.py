"""Accepted figures: frozen inputs, outputs and working, and what later unsettled them."""

from __future__ import annotations

from sqlalchemy import Text, UniqueConstraint
from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import INSERT_ONLY, Row, Written, kept, maybe_reference, reference
from app.workflow.kinds import ResultKind


class Result(Written, table=True):
    """One accepted calculation; `record` is the canonical text that is hashed as stored."""

    __tablename__ = "result"
    __table_args__ = kept(INSERT_ONLY, one_of("kind", ResultKind))

    kind: ResultKind = Field(sa_type=Worded(ResultKind))
    port_id: int | None = maybe_reference("port")
    port_pass_id: int | None = maybe_reference("port_pass")
    setting_id: int | None = maybe_reference("setting")
    calculation: str = Field(max_length=40)
    version: int
    record: str = Field(sa_type=Text)
    sha256: str = Field(max_length=64)


class ResultReading(Row, table=True):
    """A reading that a result rests on: finds what a strike unsettles."""

    __tablename__ = "result_reading"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("result_id", "reading_id"))

    result_id: int = reference("result")
    reading_id: int = reference("reading")


class NoLongerStands(Written, table=True):
    """A result whose ground changed: what to redo, and what is still good."""

    __tablename__ = "no_longer_stands"
    __table_args__ = kept(INSERT_ONLY)

    result_id: int = reference("result")
    because: str = Field(max_length=300)
    redo: str = Field(max_length=300)
    still_good: str = Field(default="", max_length=300)

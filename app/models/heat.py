"""Heats of a head: which rings were to go in while it was hot, and when that was over."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from app.models.base import INSERT_ONLY, Row, Written, kept, reference


class Heat(Written, table=True):
    """A head was heated for rings; `nth` is what `ring_in.heat` names."""

    __tablename__ = "heat"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("head_id", "nth"))

    head_id: int = reference("head")
    nth: int
    heated_by: str = Field(default="", max_length=80)
    wanted_c: float | None = None


class HeatPort(Row, table=True):
    """A position whose ring was to go in in this heat."""

    __tablename__ = "heat_port"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("heat_id", "port_id"))

    heat_id: int = reference("heat")
    port_id: int = reference("port")


class HeatClose(Written, table=True):
    """The heat is over: the head cools; `left_out` says why a position stayed without its ring."""

    __tablename__ = "heat_close"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("heat_id"))

    heat_id: int = reference("heat")
    left_out: str = Field(default="", max_length=400)

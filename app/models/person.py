"""People and their sign-ins."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import (
    INSERT_ONLY,
    MUTABLE,
    Mutable,
    Row,
    kept,
    maybe_moment,
    moment,
    reference,
)
from app.workflow.words import Role


class Person(Mutable, table=True):
    """Someone who can sign in; retired, never removed."""

    __tablename__ = "person"
    __table_args__ = kept(MUTABLE, UniqueConstraint("name"), one_of("role", Role))

    name: str = Field(max_length=60)
    role: Role = Field(sa_type=Worded(Role))
    pin_hash: str = Field(max_length=200)
    # Wrong PINs from before it no longer make anyone wait.
    pin_set_at: datetime | None = maybe_moment()
    retired_at: datetime | None = maybe_moment()


class SignIn(Mutable, table=True):
    """One sign-in on one device; the token itself is known to the browser only."""

    __tablename__ = "sign_in"
    __table_args__ = kept(MUTABLE, UniqueConstraint("token_hash"))

    token_hash: str = Field(max_length=64)
    person_id: int = reference("person")
    device: str = Field(default="", max_length=120)
    started_at: datetime = moment()
    last_seen: datetime = moment()
    ended_at: datetime | None = maybe_moment()


class PinTry(Row, table=True):
    """A wrong PIN: waits grow with the tries of a person and of an address."""

    __tablename__ = "pin_try"
    __table_args__ = kept(INSERT_ONLY)

    person_id: int = reference("person")
    address: str = Field(max_length=60, index=True)
    at: datetime = moment()
    was_right: bool

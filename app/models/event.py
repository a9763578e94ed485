"""The log: one event for every change, each holding the hash of the one before."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Text, UniqueConstraint
from sqlmodel import Field

from app.models.base import INSERT_ONLY, Row, kept, maybe_reference, moment


class Event(Row, table=True):
    """What was done, by whom, when; `body` is the canonical text that is hashed as stored."""

    __tablename__ = "event"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("client_key"), UniqueConstraint("hash"))

    by_id: int | None = maybe_reference("person")
    at: datetime = moment()
    client_key: str | None = Field(default=None, max_length=64)
    request_sha256: str | None = Field(default=None, max_length=64)
    verb: str = Field(max_length=60)
    subject: str = Field(default="", max_length=40)
    subject_id: int | None = Field(default=None)
    job_id: int | None = maybe_reference("job")
    head_id: int | None = maybe_reference("head")
    port_id: int | None = maybe_reference("port")
    body: str = Field(sa_type=Text)
    prev: str = Field(max_length=64)
    hash: str = Field(max_length=64)

"""A job: what came in, for whom, what was agreed, and what it waits for."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import BigInteger, CheckConstraint, Index, UniqueConstraint, text
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
    maybe_moment,
    maybe_reference,
    moment,
    reference,
)
from app.workflow.kinds import ConsentHow, CustomerKind, NoteKind, NoticeHow, NoticeOf, Unit
from app.workflow.words import Ended, Waiting


def _few(column: str) -> Index:
    """An index of those jobs only that have something there."""
    given = text(f"{column} IS NOT NULL")
    name = f"ix_job_with_{column}"
    return Index(name, "id", sqlite_where=given, postgresql_where=given)


class Job(Mutable, table=True):
    """One job; number YY-NNNN by the shop's year."""

    __tablename__ = "job"
    __table_args__ = kept(
        MUTABLE,
        UniqueConstraint("year", "seq"),
        UniqueConstraint("number"),
        one_of("customer_kind", CustomerKind),
        one_of("waiting", Waiting),
        one_of("ended_as", Ended),
        one_of("unit", Unit),
        # Few among many, and asked for the newest first.
        _few("comeback_of_id"),
        _few("voided_at"),
    )

    number: str = Field(max_length=12)
    year: int
    seq: int
    customer_kind: CustomerKind = Field(sa_type=Worded(CustomerKind))
    customer_id: int | None = maybe_reference("customer")
    unit: Unit = Field(sa_type=Worded(Unit))
    wanted: str = Field(max_length=2000)
    promised_on: date | None = None
    place: str = Field(default="", max_length=60)
    waiting: Waiting | None = Field(default=None, sa_type=Worded(Waiting), nullable=True)
    waiting_for: str = Field(default="", max_length=200)
    waiting_since: datetime | None = maybe_moment()
    waiting_until: date | None = None
    taken_in_by_id: int = reference("person")
    taken_in_at: datetime = moment(index=True)
    comeback_of_id: int | None = maybe_reference("job")
    comeback_cause: str = Field(default="", max_length=400)
    # Open jobs are few among many: the counter asks for ended_at IS NULL.
    ended_as: Ended | None = Field(default=None, sa_type=Worded(Ended), nullable=True)
    ended_at: datetime | None = maybe_moment(index=True)
    ended_note: str = Field(default="", max_length=400)
    collected_by: str = Field(default="", max_length=120)
    voided_at: datetime | None = maybe_moment()
    # Of a comeback: what was found, what it cost the shop in minor units, and who was told.
    comeback_found: str | None = Field(default=None, max_length=400)
    comeback_cost: int | None = Field(default=None, sa_type=BigInteger, nullable=True)
    comeback_told: str | None = Field(default=None, max_length=120)
    comeback_told_on: date | None = None


class Consent(Written, table=True):
    """What the customer agreed to, how and up to which amount (in minor units)."""

    __tablename__ = "consent"
    __table_args__ = kept(
        INSERT_ONLY, one_of("how", ConsentHow), CheckConstraint("limit_amount >= 0", name="limit")
    )

    job_id: int = reference("job")
    name: str = Field(max_length=120)
    how: ConsentHow = Field(sa_type=Worded(ConsentHow))
    # None: no limit was named.
    limit_amount: int | None = Field(default=None, sa_type=BigInteger, nullable=True)
    given_on: date
    note: str = Field(default="", max_length=400)


class Received(Written, table=True):
    """Something that came with the job, counted in or out."""

    __tablename__ = "received"
    __table_args__ = kept(INSERT_ONLY, CheckConstraint("pieces >= 0", name="pieces"))

    job_id: int = reference("job")
    is_out: bool = False
    what: str = Field(max_length=120)
    pieces: int
    note: str = Field(default="", max_length=200)


class PriceLine(Mutable, table=True):
    """One plain line of the estimate, in minor units; struck by voiding."""

    __tablename__ = "price_line"
    __table_args__ = kept(MUTABLE)

    job_id: int = reference("job")
    text: str = Field(max_length=200)
    amount: int = Field(sa_type=BigInteger)
    voided_at: datetime | None = maybe_moment()
    price_item_id: int | None = maybe_reference("price_item")
    pieces: int | None = None
    # What was found or measured that asks for it; empty when it was typed by hand.
    because: str | None = Field(default=None, max_length=200)


class Note(Written, table=True):
    """A note or a call, on a job, a head or a position."""

    __tablename__ = "note"
    __table_args__ = kept(INSERT_ONLY, one_of("kind", NoteKind))

    job_id: int = reference("job")
    head_id: int | None = maybe_reference("head")
    port_id: int | None = maybe_reference("port")
    kind: NoteKind = Field(sa_type=Worded(NoteKind))
    text: str = Field(max_length=2000)
    # A note that is handed on: for one colleague, or for whoever goes on.
    for_id: int | None = Field(default=None, foreign_key="person.id", index=True, nullable=True)


class NoteTaken(Written, table=True):
    """A note handed on that somebody read and took."""

    __tablename__ = "note_taken"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("note_id"))

    note_id: int = reference("note")


class Notice(Written, table=True):
    """Notice given to a customer: that a head is ready, or what becomes of it after which day."""

    __tablename__ = "notice"
    __table_args__ = kept(INSERT_ONLY, one_of("notice_of", NoticeOf), one_of("how", NoticeHow))

    job_id: int = reference("job")
    notice_of: NoticeOf = Field(sa_type=Worded(NoticeOf))
    how: NoticeHow = Field(sa_type=Worded(NoticeHow))
    given_on: date
    # The day that the notice names: collect it until then.
    until: date | None = None
    note: str = Field(default="", max_length=400)


class WantedRing(Mutable, table=True):
    """A seat ring that is to be ordered or found for a position."""

    __tablename__ = "wanted_ring"
    __table_args__ = kept(MUTABLE)

    job_id: int = reference("job")
    port_id: int = reference("port")
    od_from: Length | None = maybe_length()
    od_to: Length | None = maybe_length()
    height: Length | None = maybe_length()
    inside: Length | None = maybe_length()
    note: str = Field(default="", max_length=200)
    ordered_at: datetime | None = maybe_moment()
    expected_on: date | None = None
    arrived_at: datetime | None = maybe_moment()
    dropped_at: datetime | None = maybe_moment()
    supplier: str | None = Field(default=None, max_length=60)
    ring_size_id: int | None = maybe_reference("ring_size")

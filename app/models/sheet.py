"""Signatures and issued sheets: the record as it was signed, byte for byte."""

from __future__ import annotations

from sqlalchemy import Text, UniqueConstraint
from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import INSERT_ONLY, Row, Written, kept, maybe_reference, reference
from app.workflow.kinds import SheetKind, SignedWhat


class Signature(Written, table=True):
    """One signature for a batch of positions, or for the hand-over."""

    __tablename__ = "signature"
    __table_args__ = kept(INSERT_ONLY, one_of("what", SignedWhat))

    job_id: int = reference("job")
    head_id: int | None = maybe_reference("head")
    what: SignedWhat = Field(sa_type=Worded(SignedWhat))
    words: str = Field(max_length=400)


class SignaturePort(Row, table=True):
    """A position that a signature covers, with the pass that was signed."""

    __tablename__ = "signature_port"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("signature_id", "port_id"))

    signature_id: int = reference("signature")
    port_id: int = reference("port")
    port_pass_id: int | None = maybe_reference("port_pass")


class Sheet(Written, table=True):
    """A sheet as issued; a reprint gives these bytes."""

    __tablename__ = "sheet"
    __table_args__ = kept(
        INSERT_ONLY, UniqueConstraint("kind", "job_id", "head_id", "rev"), one_of("kind", SheetKind)
    )

    kind: SheetKind = Field(sa_type=Worded(SheetKind))
    job_id: int = reference("job")
    head_id: int | None = maybe_reference("head")
    rev: int
    html: str = Field(sa_type=Text)
    data: str = Field(sa_type=Text)
    sha256: str = Field(max_length=64)
    style_sha256: str = Field(max_length=64)
    log_head: str = Field(max_length=64)
    # What a later revision was issued for; none for the first.
    because: str | None = Field(default=None, max_length=200)

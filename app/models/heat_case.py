"""The temperatures that a fit is looked at in: a shop's own over the assumed ones."""

from __future__ import annotations

from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import VERSIONS, Written, kept
from app.workflow.words import Kind


class HeatCase(Written, table=True):
    """One version of a case; the newest of key, metal and kind of valve holds."""

    __tablename__ = "heat_case"
    __table_args__ = kept(VERSIONS, one_of("kind", Kind))

    key: str = Field(max_length=40, index=True)
    is_iron: bool
    kind: Kind = Field(sa_type=Worded(Kind))
    name: str = Field(max_length=60)
    ring_c: int
    head_c: int
    source: str = Field(max_length=200)
    is_retired: bool = False

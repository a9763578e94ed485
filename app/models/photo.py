"""Pictures from the tablet: the file is in the data folder, named by its hash."""

from __future__ import annotations

from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import INSERT_ONLY, Written, kept, maybe_reference, reference
from app.workflow.kinds import PhotoOf


class Photo(Written, table=True):
    """One picture, re-encoded; the small one is what lists show."""

    __tablename__ = "photo"
    __table_args__ = kept(INSERT_ONLY, one_of("photo_of", PhotoOf))

    job_id: int = reference("job")
    head_id: int | None = maybe_reference("head")
    port_id: int | None = maybe_reference("port")
    hold_id: int | None = maybe_reference("hold")
    photo_of: PhotoOf = Field(sa_type=Worded(PhotoOf))
    caption: str = Field(default="", max_length=200)
    sha256: str = Field(max_length=64)
    small_sha256: str = Field(max_length=64)
    width: int
    height: int
    size: int


class PhotoStrike(Written, table=True):
    """A picture that is not shown any more, and why; the file stays."""

    __tablename__ = "photo_strike"
    __table_args__ = kept(INSERT_ONLY)

    photo_id: int = reference("photo")
    reason: str = Field(max_length=200)

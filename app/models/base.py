"""What every table shares: ids that are never reused, and how a table is kept."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Integer, event
from sqlalchemy.orm import Mapper
from sqlmodel import Field, SQLModel
from sqlmodel._compat import SQLModelConfig

from app.db import Nanometres, Utc

# `kept` in a table's info says which triggers guard it:
INSERT_ONLY = {"kept": "insert_only"}  # rows never change
VERSIONS = {"kept": "versions"}  # a change is a new row; also never updated
MUTABLE = {"kept": "mutable"}  # rows change, each change with an event; never deleted


def kept(how: dict[str, str], *constraints: Any) -> tuple[Any, ...]:
    """`__table_args__`: constraints, how the table is kept, and ids that SQLite never reuses."""
    return (*constraints, {"info": how, "sqlite_autoincrement": True})


def length(**options: Any) -> Any:
    """A required length column."""
    return Field(sa_type=Nanometres, **options)


def maybe_length(**options: Any) -> Any:
    """A length that may be missing."""
    return Field(default=None, sa_type=Nanometres, nullable=True, **options)


def moment(**options: Any) -> Any:
    """A required UTC time."""
    return Field(sa_type=Utc, **options)


def maybe_moment(**options: Any) -> Any:
    """A UTC time that may be missing."""
    return Field(default=None, sa_type=Utc, nullable=True, **options)


def reference(target: str, **options: Any) -> Any:
    """A required foreign key to `target`, indexed."""
    return Field(foreign_key=f"{target}.id", index=True, **options)


def maybe_reference(target: str, **options: Any) -> Any:
    """An optional foreign key to `target`, indexed."""
    return Field(default=None, foreign_key=f"{target}.id", index=True, nullable=True, **options)


class Row(SQLModel):
    """A row with an id."""

    model_config = SQLModelConfig(arbitrary_types_allowed=True)
    id: int = Field(default=None, primary_key=True, sa_type=Integer)


class Written(Row):
    """A row that says who wrote it and when."""

    by_id: int = Field(foreign_key="person.id", index=True)
    at: datetime = Field(sa_type=Utc)


class Mutable(Row):
    """A row that changes; its version rises each time, so that a stale form is noticed."""

    row_version: int = Field(default=1)


@event.listens_for(Mapper, "before_update")
def _raise_row_version(_mapper: Any, _connection: Any, row: object) -> None:
    if isinstance(row, Mutable):
        row.row_version += 1

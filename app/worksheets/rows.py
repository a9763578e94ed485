"""Rows by what they belong to, by statements that are built once.

Building a statement takes as long as running it, and every page and every write asks these.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any, TypeVar

from sqlalchemy import bindparam
from sqlmodel import Session, col, select

from app.models.base import Row

R = TypeVar("R", bound=Row)

IDS: Any = bindparam("ids", expanding=True)


def rows_of(session: Session, table: type[R], column: str, ids: Iterable[int]) -> Sequence[R]:
    """Rows of a table that belong to these, in the order they were made."""
    found: Sequence[R] = session.exec(_of(table, column), params={"ids": list(ids)}).all()
    return found


@cache
def _of(table: type[Row], column: str) -> Any:
    key: Any = getattr(table, column)
    return select(table).where(col(key).in_(IDS)).order_by(col(table.id))

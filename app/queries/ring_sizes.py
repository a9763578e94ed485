"""The size list for its pages: lines by rising outside diameter, and which are known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, func, select

from app.forms.ring_sizes import SizeFilter, size_key
from app.models.ring_size import RingSize

MOST_SHOWN = 400


@dataclass(frozen=True, slots=True)
class SizeList:
    """What the page shows of the list, and how many lines there are in all."""

    lines: Sequence[RingSize]
    found: int
    in_all: int
    retired: int

    @property
    def is_cut(self) -> bool:
        """More were found than are shown."""
        return self.found > len(self.lines)


def size_list(session: Session, wanted: SizeFilter) -> SizeList:
    """Lines by rising size, narrowed by outside diameter, seller, part or material."""
    on_it = col(RingSize.retired_at).is_(None)
    retired = session.exec(select(func.count()).where(~on_it)).one()
    in_all = session.exec(select(func.count()).where(on_it)).one()
    conditions: list[ColumnElement[bool]] = [] if wanted.with_retired else [on_it]
    if wanted.find:
        escaped = wanted.find.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
        like = f"%{escaped}%"
        conditions.append(
            col(RingSize.supplier).ilike(like, escape="\\")
            | col(RingSize.part).ilike(like, escape="\\")
            | col(RingSize.material).ilike(like, escape="\\")
            | col(RingSize.note).ilike(like, escape="\\")
        )
    if wanted.od_from:
        conditions.append(col(RingSize.od) >= wanted.od_from)
    if wanted.od_to:
        conditions.append(col(RingSize.od) <= wanted.od_to)
    found = session.exec(select(func.count()).select_from(RingSize).where(*conditions)).one()
    lines = session.exec(
        select(RingSize)
        .where(*conditions)
        .order_by(col(RingSize.od), col(RingSize.supplier), col(RingSize.id))
        .limit(MOST_SHOWN)
    ).all()
    return SizeList(lines, found, in_all, retired)


def known_sizes(session: Session, but: int = 0) -> frozenset[tuple[object, ...]]:
    """The sizes on the list by what makes them the same; without the line that is being mended."""
    rows = session.exec(
        select(RingSize).where(col(RingSize.retired_at).is_(None), RingSize.id != but)
    )
    return frozenset(size_key(row, row.od) for row in rows)


def suppliers(session: Session) -> list[str]:
    """Sellers that the list names, to choose from."""
    rows = session.exec(
        select(RingSize.supplier)
        .where(RingSize.supplier != "")
        .distinct()
        .order_by(col(RingSize.supplier))
    )
    return list(rows)

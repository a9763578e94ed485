"""What is to be ordered, by whom it comes from: sizes and positions, nothing personal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.models.job import WantedRing
from app.models.ring_size import RingSize
from app.queries.shelf import WantedLine, wanted_lines


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One ring to order, with the part that a list names for it."""

    line: WantedLine
    part: str
    material: str

    @property
    def wanted(self) -> WantedRing:
        """Its sizes."""
        return self.line.wanted

    @property
    def is_for(self) -> str:
        """``26-0007, left 3E``."""
        return f"{self.line.number}, {self.line.head} {self.line.label}".replace("  ", " ")


@dataclass(frozen=True, slots=True)
class SupplierLines:
    """The lines of one seller; an empty name where nobody said from whom."""

    supplier: str
    lines: Sequence[OrderLine]


def order_lines(
    session: Session, today: date, job_id: int | None = None, *, with_ordered: bool = False
) -> list[SupplierLines]:
    """Wanted rings that are not here, by seller; those ordered already only where asked for."""
    lines = [
        line
        for line in wanted_lines(session, today, job_id)
        if line.wanted.arrived_at is None and (with_ordered or line.wanted.ordered_at is None)
    ]
    sizes = {
        size.id: size
        for size in session.exec(
            select(RingSize).where(
                col(RingSize.id).in_(
                    [line.wanted.ring_size_id for line in lines if line.wanted.ring_size_id]
                )
            )
        )
    }
    by_supplier: dict[str, list[OrderLine]] = {}
    names: dict[str, str] = {}
    for line in sorted(lines, key=lambda each: (each.number, each.wanted.id)):
        size = sizes.get(line.wanted.ring_size_id or 0)
        supplier = (line.wanted.supplier or (size.supplier if size else "")).strip()
        key = supplier.casefold()
        names.setdefault(key, supplier)
        by_supplier.setdefault(key, []).append(
            OrderLine(line, size.part if size else "", size.material if size else "")
        )
    # What nobody said a seller for comes last.
    keys = sorted(by_supplier, key=lambda key: (not key, key))
    return [SupplierLines(names[key], by_supplier[key]) for key in keys]

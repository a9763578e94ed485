"""Heat cases: the shop's own rows over the assumed ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlmodel import Session, col, func, select

from app.models.heat_case import HeatCase
from app.workflow.heat_cases import DEFAULT_CASES, HeldCase, Metal
from app.workflow.words import Kind

Where = tuple[Metal, Kind]


def cases_in_force(session: Session) -> Mapping[Where, tuple[HeldCase, ...]]:
    """Every case that holds, by metal and kind of valve; one statement."""
    return combined(newest_rows(session))


def newest_rows(session: Session) -> list[HeatCase]:
    """The newest version of each case that the shop touched, retired ones too."""
    newest = select(func.max(col(HeatCase.id))).group_by(
        col(HeatCase.key), col(HeatCase.is_iron), col(HeatCase.kind)
    )
    return list(
        session.exec(
            select(HeatCase).where(col(HeatCase.id).in_(newest)).order_by(col(HeatCase.id))
        )
    )


def combined(rows: Iterable[HeatCase]) -> dict[Where, tuple[HeldCase, ...]]:
    """The assumed cases in their order, each as the shop has it; then those that it added."""
    own: dict[Where, dict[str, HeatCase]] = {where: {} for where in DEFAULT_CASES}
    for row in rows:
        own[metal_of(row), row.kind][row.key] = row
    return {where: tuple(_held(where, touched)) for where, touched in own.items()}


def metal_of(row: HeatCase) -> Metal:
    """What the heads of a case are made of."""
    return Metal.IRON if row.is_iron else Metal.ALUMINIUM


def _held(where: Where, touched: Mapping[str, HeatCase]) -> Iterable[HeldCase]:
    for assumed in DEFAULT_CASES[where]:
        row = touched.get(assumed.key)
        if row is None:
            yield assumed
        elif not row.is_retired:
            yield _as_held(row)
    assumed_keys = {one.key for one in DEFAULT_CASES[where]}
    added = [row for key, row in touched.items() if key not in assumed_keys and not row.is_retired]
    for row in sorted(added, key=lambda one: (one.head_c, one.ring_c, one.id)):
        yield _as_held(row)


def _as_held(row: HeatCase) -> HeldCase:
    return HeldCase(row.key, row.name, row.ring_c, row.head_c, row.source, row.id)

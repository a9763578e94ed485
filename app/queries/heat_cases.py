"""Heat cases for their pages: what holds, what is out of the look, what a case was."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.heat_case import HeatCase
from app.models.person import Person
from app.workflow.heat_cases import DEFAULT_CASES, HeldCase, Metal, default_case
from app.workflow.words import Kind
from app.worksheets.heat_cases import combined, metal_of, newest_rows


@dataclass(frozen=True, slots=True)
class CaseLine:
    """One case that holds; `row` is None while the shop never touched it."""

    held: HeldCase
    row: HeatCase | None
    by: str | None


@dataclass(frozen=True, slots=True)
class CaseGroup:
    """The cases of one metal and kind of valve, with those that the shop looks at no more."""

    metal: Metal
    kind: Kind
    lines: tuple[CaseLine, ...]
    out: tuple[HeatCase, ...]


@dataclass(frozen=True, slots=True)
class CaseVersion:
    """What a case was, newest first."""

    row: HeatCase
    by: str


@dataclass(frozen=True, slots=True)
class CaseView:
    """One case with its past; `held` is None while it is out of the look."""

    metal: Metal
    kind: Kind
    key: str
    name: str
    held: HeldCase | None
    assumed: HeldCase | None
    history: tuple[CaseVersion, ...]


def case_groups(session: Session) -> list[CaseGroup]:
    """Every case, by metal and kind of valve."""
    rows = newest_rows(session)
    names = {person.id: person.name for person in session.exec(select(Person))}
    by_id = {row.id: row for row in rows}
    in_force = combined(rows)
    found = []
    for metal, kind in DEFAULT_CASES:
        lines = []
        for held in in_force[metal, kind]:
            row = by_id.get(held.row_id) if held.row_id is not None else None
            lines.append(CaseLine(held, row, names[row.by_id] if row else None))
        out = tuple(
            row for row in rows if row.is_retired and (metal_of(row), row.kind) == (metal, kind)
        )
        found.append(CaseGroup(metal, kind, tuple(lines), out))
    return found


def case_view(session: Session, metal: Metal, kind: Kind, key: str) -> CaseView | None:
    """One case, or None where there never was one."""
    history = tuple(
        CaseVersion(row, name)
        for row, name in session.exec(
            select(HeatCase, Person.name)
            .join(Person, col(Person.id) == col(HeatCase.by_id))
            .where(
                HeatCase.key == key,
                col(HeatCase.is_iron).is_(metal.is_iron),
                HeatCase.kind == kind,
            )
            .order_by(col(HeatCase.id).desc())
        )
    )
    assumed = default_case(metal, kind, key)
    if not history and assumed is None:
        return None
    in_force = combined([history[0].row] if history else [])[metal, kind]
    held = next((one for one in in_force if one.key == key), None)
    known = held or assumed
    name = known.name if known else history[0].row.name
    return CaseView(metal, kind, key, name, held, assumed, history)

"""Interference windows for the rules page: what holds for each band, and what it was."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.calc.rules import DEFAULT_RULES, Rule
from app.calc.units import Length
from app.models.person import Person
from app.models.shop import InterferenceRule
from app.workflow.words import Material
from app.worksheets.interference import combined, newest_rows


@dataclass(frozen=True, slots=True)
class BandLine:
    """One window that holds; `row` is None while it is a default."""

    material: Material
    rule: Rule
    row: InterferenceRule | None
    by: str | None

    @property
    def traced_by(self) -> dict[str, str]:
        """What leads to every position that was worked out by it."""
        if self.row is not None:
            return {"of": "window", "which": str(self.row.id)}
        return {"of": "default_window", "which": str(DEFAULT_RULES.index(self.rule) + 1)}


@dataclass(frozen=True, slots=True)
class BandVersion:
    """A window that a band had, or that it went back to the default."""

    row: InterferenceRule
    by: str


def band_lines(session: Session) -> list[BandLine]:
    """Every window that holds, by material and size; a newer one wins where two overlap."""
    rows = newest_rows(session)
    own = {(row.material.value, row.od_from, row.od_below): row for row in rows if not row.retired}
    names = {person.id: person.name for person in session.exec(select(Person))}
    lines = []
    for rule in combined(rows):
        row = own.get((rule.material.value, rule.od_from, rule.od_below))
        by = names[row.by_id] if row else None
        lines.append(BandLine(Material(rule.material.value), rule, row, by))
    order = list(Material)
    return sorted(lines, key=lambda line: (order.index(line.material), line.rule.od_from))


def band_history(
    session: Session, material: Material, od_from: Length, od_below: Length | None
) -> list[BandVersion]:
    """What the shop set this very band to, newest first."""
    below = col(InterferenceRule.od_below)
    return [
        BandVersion(row, name)
        for row, name in session.exec(
            select(InterferenceRule, Person.name)
            .join(Person, col(Person.id) == col(InterferenceRule.by_id))
            .where(
                InterferenceRule.material == material,
                InterferenceRule.od_from == od_from,
                below.is_(None) if od_below is None else below == od_below,
            )
            .order_by(col(InterferenceRule.id).desc())
        )
    ]

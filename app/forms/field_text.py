"""Kept lengths as a form shows them, without losing a digit."""

from __future__ import annotations

from app.calc.units import Length, trimmed
from app.workflow.kinds import Unit


def field_text(length: Length | None, unit: Unit) -> str:
    """A kept size as a field shows it; in millimetres when inches would round it."""
    if length is None:
        return ""
    inches = trimmed(length.inches(5)) or "0"
    if unit is Unit.INCH and Length.of(inches) == length:
        return inches
    mm = trimmed(length.mm(6))
    return mm if unit is Unit.MM else f"{mm} mm"

"""When an instrument's check is due, and whether its last one held."""

from __future__ import annotations

from datetime import date, timedelta

from app.calc.units import Length
from app.workflow.kinds import Said


class CheckState(Said):
    """How an instrument stands by its last check."""

    HOLDS = "holds", "check held"
    DUE = "due", "check due"
    NEVER = "never", "never checked"
    FAILED = "failed", "last check failed"


def allowed_error(division: Length, greatest_error: Length | None) -> Length:
    """How far a check may be off its master: the instrument's own figure, else one division."""
    return division if greatest_error is None else greatest_error


def check_holds(
    master: Length, read: Length, division: Length, greatest_error: Length | None
) -> bool:
    """Whether the instrument read its master closely enough."""
    return abs(read - master) <= allowed_error(division, greatest_error)


def check_state(
    last_on: date | None, held: bool, every_days: int | None, today: date
) -> CheckState:
    """A failed check counts until one holds; without an interval a check never falls due."""
    if last_on is None:
        return CheckState.NEVER
    if not held:
        return CheckState.FAILED
    due = due_on(last_on, every_days)
    return CheckState.DUE if due is not None and due <= today else CheckState.HOLDS


def due_on(last_on: date | None, every_days: int | None) -> date | None:
    """The day of the next check, when there is an interval and a check to count from."""
    if last_on is None or every_days is None:
        return None
    return last_on + timedelta(days=every_days)

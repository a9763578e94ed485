"""Counts of months that are over: what was signed then does not change, so it is counted once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TypeVar
from zoneinfo import ZoneInfo

from app.workflow.periods import Month, Period

T = TypeVar("T")
# A write that began before midnight may be kept after it.
SETTLED_AFTER = timedelta(days=1)


class FinishedMonths:
    """What a figure counted in months that are over, kept for as long as the program runs."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, str, Month], object] = {}

    def over(
        self,
        what: str,
        period: Period,
        zone: ZoneInfo,
        at: datetime,
        count: Callable[[datetime, datetime], T],
    ) -> dict[Month, T]:
        """Each month of the period with its counts: those that are over from the store."""
        found: dict[Month, T] = {}
        for month in period.months:
            begins, ends = month.begins(zone), month.plus(1).begins(zone)
            if begins > at:
                break
            key = (what, zone.key, month)
            counted = self._kept.get(key)
            if counted is None:
                counted = count(begins, ends)
                if ends + SETTLED_AFTER < at:
                    self._kept[key] = counted
            found[month] = counted  # type: ignore[assignment]
        return found

"""Months and runs of them: what a figure of the office counts over."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from app.workflow.words import MONTHS

# Fewer cases say little: their share or scatter is told, and not drawn as the shop's.
FEWEST_CASES = 25
MOST_MONTHS = 120
_MONTH = re.compile(r"^(20[0-9]{2})-(0[1-9]|1[0-2])$")


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """A month of the shop's calendar."""

    year: int
    month: int

    @classmethod
    def of(cls, day: date) -> Month:
        """The month of a day."""
        return cls(day.year, day.month)

    @classmethod
    def parse(cls, text: str) -> Month | None:
        """``2026-11``; none for anything else."""
        found = _MONTH.match(text)
        return cls(int(found[1]), int(found[2])) if found else None

    def plus(self, months: int) -> Month:
        """So many months later."""
        count = self.year * 12 + self.month - 1 + months
        return Month(count // 12, count % 12 + 1)

    def begins(self, zone: ZoneInfo) -> datetime:
        """Its first moment where the shop is."""
        return datetime(self.year, self.month, 1, tzinfo=zone).astimezone(UTC)

    @property
    def key(self) -> str:
        """``2026-11``."""
        return f"{self.year}-{self.month:02d}"

    @property
    def words(self) -> str:
        """``Nov 2026``."""
        return f"{MONTHS[self.month - 1]} {self.year}"


@dataclass(frozen=True, slots=True)
class Period:
    """From one month to another, both among them."""

    first: Month
    last: Month

    @classmethod
    def lately(cls, today: date, months: int) -> Period:
        """So many months, this one the last."""
        last = Month.of(today)
        return cls(last.plus(1 - months), last)

    @classmethod
    def parse(cls, first: str, last: str, today: date) -> Period:
        """As an address says it; the last twelve months where it says nothing that can be read."""
        begin, end = Month.parse(first), Month.parse(last)
        if begin is None or end is None or end < begin or end > begin.plus(MOST_MONTHS - 1):
            return cls.lately(today, 12)
        return cls(begin, end)

    @property
    def months(self) -> tuple[Month, ...]:
        """Each of them in order."""
        count = (self.last.year - self.first.year) * 12 + self.last.month - self.first.month + 1
        return tuple(self.first.plus(n) for n in range(count))

    @property
    def words(self) -> str:
        """``Dec 2025 to Nov 2026``."""
        if self.first == self.last:
            return self.first.words
        return f"{self.first.words} to {self.last.words}"

    @property
    def query(self) -> str:
        """As it stands in an address."""
        return f"from={self.first.key}&to={self.last.key}"

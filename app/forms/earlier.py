"""Fields of what was read earlier, on paper, and is typed in now: when, and by whom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import ClassVar

from app.forms.base import Form


@dataclass(frozen=True, slots=True)
class ReadEarlier:
    """When it was read by the shop's clock, and who read it."""

    day: date
    at: time
    by_id: int


class EarlierFields(Form):
    """A form with the folded "these were read earlier"; its `parse` calls `parse_earlier`.

    While the fields are filled one by one nothing is wrong yet: what is missing is only wrong
    once there is something to keep, and then `need_all` says so.
    """

    EARLIER: ClassVar[dict[str, str]] = {
        "earlier_on": "Read on",
        "earlier_at": "At",
        "earlier_by": "Read by",
    }

    earlier: ReadEarlier | None
    missing: dict[str, str]

    def parse_earlier(self) -> None:
        """Read the three fields; all empty: it is read now, by the one who types."""
        self.earlier, self.missing = None, {}
        day = self.day("earlier_on")
        at = self._clock("earlier_at")
        by_id = self.whole("earlier_by", least=1)
        if not any(self.raw.get(name, "").strip() for name in self.EARLIER):
            return
        for name, words in (
            ("earlier_on", "Say on which day it was read"),
            ("earlier_at", "Say at what time, as near as is known"),
            ("earlier_by", "Say who read it"),
        ):
            if not self.raw.get(name, "").strip():
                self.missing[name] = words
        if day is not None and at is not None and by_id is not None:
            self.earlier = ReadEarlier(day, at, by_id)

    def need_all(self) -> None:
        """Something is to be kept: what is missing is wrong now."""
        for name, words in self.missing.items():
            self.wrong(name, words)

    def _clock(self, name: str) -> time | None:
        value = self.raw.get(name, "").strip()
        if not value:
            return None
        try:
            found = time.fromisoformat(value) if len(value) == 5 else None
        except ValueError:
            found = None
        if found is None:
            self.wrong(name, "is not a time; write it as hours and minutes, 14:07")
        return found

"""What a look through the record found: a part of it, how much there was, what is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

MOST_TOLD = 20


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the record: what was looked at, and the faults in words."""

    name: str
    found: str
    faults: tuple[str, ...] = ()


@dataclass
class Faults:
    """Faults as they are found; the first of them are told, the rest counted."""

    told: list[str] = field(default_factory=list)
    count: int = 0

    def add(self, words: str) -> None:
        """One more."""
        self.count += 1
        if self.count <= MOST_TOLD:
            self.told.append(words)

    def __iter__(self) -> Iterator[str]:
        yield from self.told
        if self.count > len(self.told):
            yield f"and {self.count - len(self.told)} more of this kind"


def when(moment: datetime) -> str:
    """A moment as a check tells it: the console belongs to no shop's time zone."""
    return f"{moment:%Y-%m-%d %H:%M} UTC"

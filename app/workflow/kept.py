"""A reading as it is kept, and what it is taken on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from app.calc.units import Length
from app.workflow.kinds import Quantity, Unit

SubjectKind = Literal["head", "port", "port_pass", "ring", "setting", "instrument"]


@dataclass(frozen=True, slots=True)
class Subject:
    """What a reading is taken on."""

    kind: SubjectKind
    id: int

    @property
    def column(self) -> str:
        """The reading set's column that points at it."""
        return f"{self.kind}_id"


@dataclass(frozen=True, slots=True)
class Kept:
    """One reading as kept."""

    id: int
    quantity: Quantity
    place: str
    nth: int
    value: Length
    typed: str
    unit: Unit
    typed_by: str
    taken_at: datetime
    kept_at: datetime
    sent_by: str
    struck_because: str | None = None
    kept_because: str | None = None

    @property
    def is_entered_later(self) -> bool:
        """It was read earlier, and typed in at another time or by another person."""
        return self.taken_at != self.kept_at or self.typed_by != self.sent_by

    @property
    def counts(self) -> bool:
        """It was not struck."""
        return self.struck_because is None

"""One field of a grid of readings: what it is a reading of, and what is kept there now."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.units import Length
from app.workflow.grids import PLAUSIBLE, Column
from app.workflow.kept import Kept, Subject
from app.workflow.kinds import ReadingKind, Unit


@dataclass(frozen=True, slots=True)
class Comparator:
    """A gauge that was zeroed on a master: readings are typed as divisions from it."""

    zeroed_on: Length
    division: Length


@dataclass(frozen=True, slots=True)
class Bound:
    """What another reading of the same position leaves possible: `told` says what is in the way."""

    told: str
    least: Length | None = None
    most: Length | None = None

    def refusal(self, value: Length) -> str | None:
        """Why a value cannot be beside that reading, or None."""
        is_under = self.least is not None and value < self.least
        is_over = self.most is not None and value > self.most
        return self.told if is_under or is_over else None


@dataclass(frozen=True, slots=True)
class Cell:
    """One field. `name` is the same on the page, in the form and in a repeated sending."""

    subject: Subject
    kind: ReadingKind
    column: Column
    label: str  # for those who cannot see the grid: "ring 1, outside diameter, place 2"
    unit: Unit
    current: Kept | None
    comparator: Comparator | None = None
    bound: Bound | None = None

    @property
    def name(self) -> str:
        """The field's name."""
        return f"{self.column.quantity}.{self.subject.kind}-{self.subject.id}.{self.column.place}"

    @property
    def had_name(self) -> str:
        """The hidden field that says which kept reading the page showed here."""
        return f"had.{self.name}"

    @property
    def shown(self) -> str:
        """The kept reading as it was typed, with its unit where this field now has another."""
        if self.current is None:
            return ""
        if self.current.unit is self.unit or self.current.typed[:1] in "+-":
            return self.current.typed
        return f"{self.current.typed} {self.current.unit.value}"

    def shows(self, typed: str) -> bool:
        """Whether this is the kept reading, as it was typed or as it is shown now."""
        return self.current is not None and typed in (self.current.typed, self.shown)

    def refusal(self, value: Length) -> str | None:
        """Why a value cannot be this quantity, or None."""
        odd = PLAUSIBLE[self.column.quantity].refusal(value)
        return odd or (self.bound.refusal(value) if self.bound else None)

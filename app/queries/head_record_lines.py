"""What stands on a head record, line by line, as its sheet prints it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.calc.trace import Step
from app.workflow.kinds import ResultKind, SignedWhat
from app.workflow.words import Outcome


@dataclass(frozen=True, slots=True)
class InspectionLine:
    """One inspection as it came out."""

    kind: str
    about: str
    outcome: Outcome
    method: str
    found: str
    because: str
    at: datetime
    by: str
    # From paper: who typed it in, and when.
    typed_by: str
    typed_at: datetime


@dataclass(frozen=True, slots=True)
class DecisionLine:
    """How the head was to go on after inspection."""

    words: str
    because: str
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class NotDoneLine:
    """What was not done, and why: as large as a result."""

    what: str
    about: str
    because: str


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A hold, and the way out that was taken."""

    label: str
    at: datetime
    by: str
    words: str
    way: str
    is_deviation: bool
    value: str
    limit: str
    reason: str
    decided_by: str
    customer_told: bool | None
    released_at: datetime | None
    released_by: str


@dataclass(frozen=True, slots=True)
class WorkingBlock:
    """One working with the positions that share it, and the frozen results it was printed from."""

    kind: ResultKind
    title: str
    labels: tuple[str, ...]
    calculation: str
    steps: tuple[Step, ...]
    results: tuple[str, ...]
    no_longer: str


@dataclass(frozen=True, slots=True)
class SignatureLine:
    """Who signed what, and when."""

    what: SignedWhat
    words: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ConsentLine:
    """Who agreed, how, and up to which amount (in minor units)."""

    name: str
    how: str
    limit: int | None
    given_on: str

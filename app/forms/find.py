"""What is looked for: words, and what is known besides; all of it stands in the address."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from app.forms.base import LARGEST_WHOLE, Form
from app.workflow.kinds import Said
from app.workflow.words import Material, Stage


class State(Said):
    """Whether a job is over, and how it ended."""

    OPEN = "open", "open"
    ENDED = "ended", "ended in any way"
    HANDED_OVER = "handed_over", "handed over"
    RETURNED_UNREPAIRED = "returned_unrepaired", "returned unrepaired"
    SCRAPPED = "scrapped"
    ABANDONED = "abandoned"
    CANCELLED = "cancelled"
    CORE_FOR_STOCK = "core_for_stock", "kept as a core for stock"
    SOLD = "sold", "sold, not collected"
    VOIDED = "voided"


class Promise(Said):
    """What was promised."""

    LATE = "late", "late, or will be"
    SOON = "soon", "due in 3 days"
    NONE = "none", "no day promised"


class Sort(Said):
    """Which job stands first."""

    NEW = "new", "newest first"
    OLD = "old", "oldest first"
    PROMISED = "promised", "promised first (open jobs)"
    ENDED = "lately", "lately ended first"


class FindForm(Form):
    """One search."""

    names: ClassVar = {"since": "Taken in from", "until": "Taken in up to"}
    q: str
    state: State | None
    stage: Stage | None
    promise: Promise | None
    material: Material | None
    since: date | None
    until: date | None
    hold: bool
    waiting: bool
    comeback: bool
    came_back: bool
    sort: Sort
    after: int | None

    def parse(self) -> None:
        self.q = "".join(each for each in self.raw.get("q", "")[:100] if each.isprintable()).strip()
        self.state = self.choice("state", State)
        self.stage = self.choice("stage", Stage)
        self.promise = self.choice("promise", Promise)
        self.material = self.choice("material", Material)
        self.since, self.until = self.day("since"), self.day("until")
        self.hold, self.waiting = self.yes("hold"), self.yes("waiting")
        self.comeback, self.came_back = self.yes("comeback"), self.yes("came_back")
        self.sort = self.choice("sort", Sort) or Sort.NEW
        self.after = self.whole("after", least=1, most=LARGEST_WHOLE)
        if self.since and self.until and self.until < self.since:
            self.wrong("until", "is before the day it begins with; change one of the two")
        if self.needs_open and self.state not in (None, State.OPEN):
            self.wrong(
                "state",
                "must be open: how far a job is, holds, waiting and promises are "
                "known of open jobs only",
            )
        if self.sort is Sort.ENDED and self.state is State.OPEN:
            self.wrong("sort", "is for jobs that ended; choose another order")

    @property
    def needs_open(self) -> bool:
        """Asked for what only a job under way has."""
        asked = (self.stage, self.promise, self.hold, self.waiting)
        return any(asked) or self.sort is Sort.PROMISED

    @property
    def filters(self) -> int:
        """How many filters are set."""
        asked = (self.state, self.stage, self.promise, self.material, self.since, self.until)
        ticked = (self.hold, self.waiting, self.comeback, self.came_back)
        return sum(each is not None for each in asked) + sum(ticked)

    def address(self, **changes: str) -> dict[str, str]:
        """The fields that are set, for a link."""
        fields = {name: value for name, value in self.raw.items() if value and name != "after"}
        return {name: value for name, value in (fields | changes).items() if value}

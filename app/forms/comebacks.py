"""What is known of a comeback: of which job, why, what it cost, and who was told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import ClassVar

from app.forms.base import Form


class ComebackForm(Form):
    """Cause, cost and who was told; the first job too, where it was not said when it came in."""

    names: ClassVar[dict[str, str]] = {
        "comeback_of": "Comes back from",
        "cause": "Why it came back, as the customer tells it",
        "found": "Cause, as found",
        "cost": "Cost to the shop",
        "told": "Who was told",
        "told_on": "Told on",
    }

    comeback_of: str
    cause: str
    found: str
    cost: int | None
    told: str
    told_on: date | None
    today: date

    def __init__(self, raw: Mapping[str, str], *, today: date) -> None:
        super().__init__(raw, today=today)

    def parse(self) -> None:
        self.comeback_of = self.text("comeback_of", most=12)
        self.cause = self.text("cause", most=400)
        self.found = self.text("found", most=400)
        self.cost = self.amount("cost")
        if self.cost is not None and self.cost < 0:
            self.wrong("cost", "is below nought; write what it cost the shop, or leave it empty")
        self.told = self.text("told", most=120)
        self.told_on = self.day("told_on")
        if self.told_on is not None and not self.told:
            self.wrong("told", "Write who was told on that day")
        elif self.told and self.told_on is None and "told_on" not in self.errors:
            self.wrong("told_on", "On which day were they told?")
        if self.told_on is not None and self.told_on > self.today:
            self.wrong("told_on", "That day is still to come; write the day it was told")

"""What a job waits for."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from app.forms.base import Form
from app.workflow.words import Waiting

LONGEST_FOR = 200


class WaitingForm(Form):
    """For parts, the customer or a welder; since when, and until when it should last."""

    names: ClassVar[dict[str, str]] = {
        "waiting": "It waits",
        "waiting_for": "For what",
        "since": "Since",
        "expected_on": "Expected",
    }

    waiting: Waiting
    waiting_for: str
    since: date
    expected_on: date | None
    today: date

    def __init__(self, raw: dict[str, str], *, today: date) -> None:
        super().__init__(raw, today=today)

    def parse(self) -> None:
        self.waiting = (
            self.choice("waiting", Waiting, required="Choose what it waits for") or Waiting.PARTS
        )
        self.waiting_for = self.text("waiting_for", most=LONGEST_FOR)
        if self.waiting is Waiting.PARTS and "waiting" not in self.errors and not self.waiting_for:
            self.wrong("waiting_for", "Which parts?")
        self.since = self.day("since") or self.today
        if self.since > self.today:
            self.wrong("since", "That day is still to come")
        self.expected_on = self.day("expected_on")
        if self.expected_on is not None and self.expected_on < self.since:
            self.wrong("expected_on", "That is before the waiting began")

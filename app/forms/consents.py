"""What the customer agreed to."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from app.forms.base import Form
from app.workflow.kinds import ConsentHow


class ConsentForm(Form):
    """Who agreed, how, up to how much, and on which day."""

    names: ClassVar[dict[str, str]] = {
        "name": "Who agreed",
        "how": "How",
        "limit": "Up to",
        "given_on": "On",
        "note": "Note",
    }

    name: str
    how: ConsentHow
    limit: int | None
    given_on: date
    note: str
    today: date

    def __init__(self, raw: dict[str, str], *, today: date) -> None:
        super().__init__(raw, today=today)

    def parse(self) -> None:
        self.name = self.text("name", required="Type who agreed", most=120)
        self.how = (
            self.choice("how", ConsentHow, required="Choose how it was agreed")
            or ConsentHow.IN_PERSON
        )
        self.limit = self.amount("limit")
        if self.limit is not None and self.limit <= 0:
            self.wrong("limit", "agrees to nothing; leave it empty when no limit was named")
        self.given_on = self.day("given_on") or self.today
        if self.given_on > self.today:
            self.wrong("given_on", "That day is still to come; write the day it was agreed")
        self.note = self.text("note", most=400)

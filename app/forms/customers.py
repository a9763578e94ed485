"""What is known of a customer."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form


class CustomerForm(Form):
    """Name, numbers, and a trade customer's standing authority."""

    names: ClassVar[dict[str, str]] = {
        "name": "Name",
        "phone": "Phone number",
        "second_phone": "Second phone number",
        "email": "Mail address",
        "standing_limit": "Standing authority",
        "note": "Note",
    }

    name: str
    phone: str
    second_phone: str
    email: str
    is_trade: bool
    standing_limit: int | None
    note: str

    def parse(self) -> None:
        self.name = self.text("name", required="Type the customer's name", most=120)
        self.phone = self.dialled("phone")
        self.second_phone = self.dialled("second_phone")
        self.email = self.text("email", most=120)
        self.is_trade = self.yes("is_trade")
        self.standing_limit = self.amount("standing_limit")
        if self.standing_limit is not None and self.standing_limit < 0:
            self.wrong("standing_limit", "An authority cannot be less than nothing")
        if self.standing_limit is not None and not self.is_trade:
            self.wrong("standing_limit", "Standing authority is for trade customers: tick trade")
        self.note = self.text("note", most=2000, lines=True)


class EmptyingForm(Form):
    """The question before a customer is emptied: who it is, typed."""

    names: ClassVar[dict[str, str]] = {"typed": "Their name"}

    typed: str

    def parse(self) -> None:
        self.typed = self.text("typed", required="Type the customer's name to empty it", most=120)

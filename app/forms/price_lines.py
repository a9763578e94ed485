"""One line of the estimate."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form


class PriceLineForm(Form):
    """A few words and an amount."""

    names: ClassVar[dict[str, str]] = {
        "text": "What for",
        "amount": "Amount",
    }

    words: str
    minor: int

    def parse(self) -> None:
        self.words = self.text("text", required="Write what the amount is for")
        self.minor = self.amount("amount", required="Type the amount") or 0

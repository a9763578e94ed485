"""A deck was cut: how much came off, how, what is still to come, and what was stamped."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from app.calc.units import Length
from app.forms.base import Form
from app.workflow.kinds import DeckOrder, Unit

# More than this is no facing: typed in another unit, or another figure.
MOST_STOCK = Length.of(".250")


class DeckCutForm(Form):
    """One cut across the deck of a head."""

    stock: Length | None
    method: str
    still_to_come: Length | None
    stamped: str
    order: DeckOrder | None
    note: str
    names: ClassVar[dict[str, str]] = {
        "stock": "Came off",
        "method": "How",
        "still_to_come": "Still to come",
        "stamped": "Stamped on the head",
        "order": "Before or after the seats",
        "note": "Note",
        "confirm_much": "Came off",
    }

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        self.stock = self.length(
            "stock",
            self.unit,
            required="Say how much came off.",
            least=Length(0),
            most=MOST_STOCK,
        )
        if self.stock is not None and not self.stock:
            self.wrong("stock", "Nothing came off: then there is nothing to record.")
        self.method = self.text("method", required="Say how it was cut.", most=80)
        self.still_to_come = self.length(
            "still_to_come", self.unit, least=Length(0), most=MOST_STOCK
        )
        self.stamped = self.text("stamped", most=80)
        self.order = self.choice("order", DeckOrder, required="Say whether before or after.")
        self.note = self.text("note", most=200)


class DeckBackForm(Form):
    """A deck cut that was recorded by mistake is taken back."""

    because: str

    def parse(self) -> None:
        self.because = self.text("because", required="Say why it is taken back.", most=200)

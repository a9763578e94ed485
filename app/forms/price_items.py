"""One price of the shop's list."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form
from app.workflow.kinds import PricedBy
from app.workflow.pricing import Finding


class PriceItemForm(Form):
    """What for, how much, for each of what, and which finding proposes it."""

    names: ClassVar[dict[str, str]] = {
        "text": "What for",
        "amount": "Amount",
        "priced_by": "For",
        "proposed_by": "Proposed by",
    }

    words: str
    minor: int
    priced_by: PricedBy
    proposed_by: Finding | None

    def parse(self) -> None:
        self.words = self.text("text", required="Write what the amount is for")
        self.minor = self.amount("amount", required="Type the amount") or 0
        if self.minor < 0:
            self.wrong("amount", "cannot be negative; a discount is a price line of its job")
        self.priced_by = (
            self.choice("priced_by", PricedBy, required="Choose what it is for each of")
            or PricedBy.JOB
        )
        self.proposed_by = self.choice("proposed_by", Finding)


class EstimateForm(Form):
    """The proposed lines that were ticked, each with what the page showed for it."""

    names: ClassVar[dict[str, str]] = {"lines": "Lines"}

    chosen: dict[int, int]  # price item to pieces

    def parse(self) -> None:
        self.chosen = {}
        for name in self.raw:
            item, _, rest = name.removeprefix("line.").partition(".")
            if not name.startswith("line.") or rest or not self.yes(name):
                continue
            pieces = self.whole(f"pieces.{item}", least=1, most=9999)
            if not (item.isascii() and item.isdigit() and len(item) <= 9) or pieces is None:
                self.wrong("lines", "are not those of this page any more; open it again")
            else:
                self.chosen[int(item)] = pieces
        if not self.chosen:
            self.wrong("lines", "none is ticked; tick what goes on the estimate")

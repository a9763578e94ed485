"""Clamping up, opening a position, and what is said of a cut."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from app.calc.quantities import ALLOWANCE
from app.calc.units import Length
from app.forms.base import Form
from app.workflow.grids import PLAUSIBLE
from app.workflow.kinds import Quantity, Unit
from app.workflow.words import Datum

TURNS = (0, 90, 180, 270)


class ClampUpForm(Form):
    """One head fixed on the machine."""

    names: ClassVar[Mapping[str, str]] = {
        "machine": "Machine",
        "row": "Row",
        "datum": "Depth is measured from",
        "touch_off": "Touch-off",
        "travel": "Travel left",
        "deck_stock": "Still to come off the deck",
        "level": "Level",
    }

    machine_id: int | None
    row: int | None
    datum: Datum | None
    touch_off: Length | None
    travel: Length | None
    deck_stock: Length | None
    level: str
    turned: int
    scale_rises: bool

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        plausible = PLAUSIBLE[Quantity.TOUCH_OFF]
        self.machine_id = self.whole("machine", required="Choose the machine.", least=1)
        self.row = self.whole("row", least=1, most=2)
        self.datum = self.choice(
            "datum", Datum, required="Choose the surface that depth is measured from."
        )
        self.touch_off = self.length(
            "touch_off",
            self.unit,
            required="Type where the tool touches that surface.",
            least=plausible.low,
            most=plausible.high,
        )
        self.travel = self.length(
            "travel",
            self.unit,
            required="Type the quill travel that is left at touch-off.",
            least=plausible.low,
            most=plausible.high,
        )
        self.deck_stock = self.length(
            "deck_stock", self.unit, least=ALLOWANCE.low, most=ALLOWANCE.high
        )
        if self.deck_stock and self.datum not in (None, Datum.DECK):
            self.wrong("deck_stock", "counts only when depth is measured from the deck")
        self.level = self.text(
            "level", required="Say how it was levelled, and that it was checked.", most=120
        )
        self.scale_rises = not self.yes("scale_falls")
        turned = self.whole("turned", most=270) or 0
        self.turned = turned if turned in TURNS else 0


class TurnForm(Form):
    """How the head lies on the machine."""

    turned: int

    def parse(self) -> None:
        turned = self.whole("turned", required="Say how the head lies.", most=270)
        if turned is not None and turned not in TURNS:
            self.wrong("turned", "The map turns by quarters.")
        self.turned = turned or 0


class OpenForm(Form):
    """A position is opened to be cut: with which setting, and which one was touched on the map."""

    setting_id: int | None
    touched_port: int | None

    def parse(self) -> None:
        self.setting_id = self.whole(
            "setting", required="Choose the setting first; nothing was recorded.", least=1
        )
        self.touched_port = self.whole("touched_port", least=1)


class StopForm(Form):
    """Something is wrong: the position stops."""

    words: str

    def parse(self) -> None:
        self.words = self.text("words", required="Say what is wrong.", most=300)

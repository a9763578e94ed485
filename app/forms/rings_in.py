"""A ring goes in: which one, how it is known, and how it went in."""

from __future__ import annotations

from collections.abc import Mapping

from app.calc.quantities import DIAMETER
from app.calc.units import Length
from app.forms.base import Form
from app.workflow.kinds import PressWay, Unit


class RingInForm(Form):
    """The ring in hand and the pressing."""

    ring_id: int | None
    od_check: Length | None
    way: PressWay | None
    head_c: float | None
    ring_c: float | None
    feeler: str
    note: str

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        self.ring_id = self.whole("ring", required="Choose which ring goes in.", least=1)
        self.od_check = self.length("od_check", self.unit, least=DIAMETER.low, most=DIAMETER.high)
        self.way = self.choice("way", PressWay, required="Say how it went in.")
        self.head_c = self.number("head_c", least=-30, most=300, unit="°C")
        self.ring_c = self.number("ring_c", least=-200, most=100, unit="°C")
        self.feeler = self.text(
            "feeler", required="Say what the feeler found, or why it could not reach.", most=120
        )
        self.note = self.text("note", most=400)

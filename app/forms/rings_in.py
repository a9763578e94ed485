"""A ring goes in: which one, how it is known, and how it went in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from app.calc.quantities import DIAMETER
from app.calc.units import Length
from app.forms.base import Form
from app.workflow.kinds import PressWay, Unit

FEELS = ("does not enter", "enters", "could not reach")


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


OF_A_POSITION = ("ring", "od_check")
OF_THE_HEAT = ("way", "head_c", "ring_c", "feeler", "note")


class RingsInForm(Form):
    """Rings of one heat: each position with its ring, and how they all went in.

    Fields of a position carry its id: ``ring.12``. Choosing its ring says that it is one of
    them, and so does ``in.12``. The feeler is told once for all, or for a position on its own.
    """

    rings: dict[int, RingInForm]

    def __init__(self, raw: Mapping[str, str], unit: Unit, port_ids: Iterable[int]) -> None:
        self.unit, self.port_ids = unit, tuple(port_ids)
        super().__init__(raw)

    def parse(self) -> None:
        self.rings = {}
        for port_id in self.port_ids:
            if not (self.yes(f"in.{port_id}") or self.raw.get(f"ring.{port_id}")):
                continue
            fields = {name: self.raw.get(name, "") for name in OF_THE_HEAT}
            for name in OF_A_POSITION:
                fields[name] = self.raw.get(f"{name}.{port_id}", "")
            form = RingInForm(fields, self.unit)
            for name, message in form.errors.items():
                self.wrong(f"{name}.{port_id}" if name in OF_A_POSITION else name, message)
            self.rings[port_id] = form
        if not self.rings:
            self.wrong("form", "Choose the rings that went in; nothing was recorded.")


class RingOutForm(Form):
    """A ring came out again, or was never in."""

    because: str

    def parse(self) -> None:
        self.because = self.text("because", required="Say why it came out.", most=400)

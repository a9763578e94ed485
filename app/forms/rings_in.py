"""A ring goes in: which one, how it is known, and how it went in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from app.calc.quantities import DIAMETER
from app.calc.units import Length
from app.forms.base import Form
from app.forms.earlier import EarlierFields
from app.workflow.kinds import FEELS, NOT_ENTERING, PressWay, Unit
from app.workflow.words import Chill

HEAD_C, RING_C = (-30, 300), (-200, 100)


class FeelerFields(Form):
    """What a feeler found under a ring; whatever is not "down" says why."""

    def parse_feeler(self) -> str:
        """``does not enter``, or ``could not reach: the guide boss is in the way``."""
        feeler = self.text(
            "feeler", required="Say what the feeler found, or why it could not reach.", most=120
        )
        why = self.text("feeler_why", most=100)
        if feeler not in FEELS or feeler == NOT_ENTERING:
            return feeler
        if not why:
            self.wrong(
                "feeler_why",
                "Say why it could not be reached."
                if feeler == FEELS[-1]
                else "Say what is done about it: the ring is not down.",
            )
        return f"{feeler}: {why}"


class RingInForm(FeelerFields):
    """The ring in hand and the pressing."""

    ring_id: int | None
    od_check: Length | None
    way: PressWay | None
    head_c: float | None
    ring_c: float | None
    heated_by: str
    method: str  # "ring in dry ice; head: oven"
    feeler: str
    note: str

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        self.ring_id = self.whole("ring", required="Choose which ring goes in.", least=1)
        self.od_check = self.length("od_check", self.unit, least=DIAMETER.low, most=DIAMETER.high)
        self.way = self.choice("way", PressWay, required="Say how it went in.")
        self.head_c = self.number("head_c", least=HEAD_C[0], most=HEAD_C[1], unit="°C")
        self.ring_c = self.number("ring_c", least=RING_C[0], most=RING_C[1], unit="°C")
        self.method = self._method()
        self.feeler = self.parse_feeler()
        self.note = self.text("note", most=400)

    def _method(self) -> str:
        """Only what belongs to the way that was chosen: the page may still hold the other's."""
        chill = self.choice("chill", Chill)
        self.heated_by = self.text("heated_by", most=80)
        told = []
        if self.way is not None and self.way.chills and chill is not None:
            told.append(f"ring {chill.screen}")
        if self.way is not None and self.way.heats and self.heated_by:
            told.append(f"head: {self.heated_by}")
        return "; ".join(told)


OF_A_POSITION = ("ring", "od_check")
OF_THE_HEAT = (
    "way",
    "head_c",
    "ring_c",
    "chill",
    "heated_by",
    "feeler",
    "feeler_why",
    "note",
    "confirm_hot",
    "confirm_cold",
    "confirm_other_heat",
)


class RingsInForm(EarlierFields):
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
        self.parse_earlier()
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
        self.need_all()


class RingOutForm(Form):
    """A ring came out again, or was never in."""

    because: str

    def parse(self) -> None:
        self.because = self.text("because", required="Say why it came out.", most=400)

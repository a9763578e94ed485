"""What a head is, and how its valves lie."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import LARGEST_WHOLE, Form
from app.workflow.kinds import Unit
from app.workflow.layout import (
    FEWEST_VALVES,
    MOST_CYLINDERS,
    MOST_VALVES,
    NUMBERED_FROM,
    LayoutError,
    Position,
    lay_out,
    valves_of,
    written,
)
from app.workflow.words import HeatHistory, Material

FUELS = ("petrol", "diesel", "natural gas", "LPG", "biogas")
OTHER_END = "other"


class HeadForm(Form):
    """Identity, metal, and the valve order when it is known."""

    names: ClassVar[dict[str, str]] = {
        "name": "Name",
        "casting": "Casting number",
        "serial": "Serial number",
        "engine": "Engine",
        "fuel": "Fuel",
        "material": "Material",
        "heat_history": "Heat history",
        "unit": "Figures of this job",
        "layout": "Valve order",
        "pattern": "Valve order",
        "cylinder_count": "Cylinders",
        "cylinders": "Cylinder numbers",
        "valves": "Valves a cylinder",
        "numbered_from": "Numbered from",
        "numbered_from_other": "Which other end",
        "confirm_layout": "Layout",
    }

    name: str
    casting: str
    casting_none_found: bool
    serial: str
    engine: str
    fuel: str
    material: Material | None
    alloy: str | None
    heat_history: HeatHistory | None
    unit: Unit
    order: str
    cylinders: str
    valves: int
    numbered_from: str
    positions: tuple[Position, ...]
    take_over: int | None

    def parse(self) -> None:
        self.name = self.text("name", most=40)
        self.casting = folded_casting(self.text("casting", most=60))
        self.casting_none_found = self.yes("casting_none_found")
        if self.casting and self.casting_none_found:
            self.wrong("casting", "Either a casting number, or none found; take one away")
        self.serial = self.text("serial", most=60)
        self.engine = self.text("engine", most=120)
        self.fuel = self.text("fuel", most=40)
        self._material()
        self.heat_history = self.choice("heat_history", HeatHistory)
        self.unit = self.choice("unit", Unit, required="Choose inch or mm") or Unit.INCH
        self.take_over = self.whole("take_over", least=1, most=LARGEST_WHOLE)
        self._layout()

    def _material(self) -> None:
        """A family, or an alloy of the shop's own under its family: ``aluminium/own-2``."""
        family, _, alloy = self.text("material", most=80).partition("/")
        self.alloy = alloy or None
        self.material = None
        if not family:
            return
        try:
            self.material = Material(family)
        except ValueError:
            self.wrong("material", "is not one of the choices; choose again")

    def _layout(self) -> None:
        self.numbered_from = self.text("numbered_from", most=40)
        if self.numbered_from == OTHER_END:
            self.numbered_from = self.text(
                "numbered_from_other", required="Which end is it numbered from?", most=40
            )
        elif self.raw.get("numbered_from_other", "").strip():
            self.wrong(
                "numbered_from_other", "Touch “another end” for this to count, or empty this"
            )
        # A typed order wins over a touched pattern: it is typed only when no pattern fits.
        typed = self.text("layout", most=120, lines=True) or self.text("pattern", most=120)
        self.cylinders = self.text("cylinders", most=60)
        self.order, self.valves, self.positions = "", 0, ()
        count = self.whole("cylinder_count", least=1, most=MOST_CYLINDERS)
        valves = self.whole("valves", least=FEWEST_VALVES, most=MOST_VALVES)
        if not typed:
            if self.cylinders:
                self.wrong("layout", "Say how the valves lie too; cylinder numbers alone draw none")
            elif count is not None or valves is not None:
                self.wrong("layout", "Touch how the valves lie above, or type their order here")
            return
        if {"cylinder_count", "valves"} & set(self.errors):
            return
        try:
            valves = valves or valves_of(typed, self.cylinders, count)
            if valves is None:
                self.wrong("valves", "How many valves a cylinder? The order alone does not say")
                return
            self.positions = lay_out(typed, valves, self.cylinders)
            self.order, self.valves = written(typed), valves
        except LayoutError as unfit:
            name = "valves" if unfit.field == "valves_per_cylinder" else unfit.field
            self.wrong(name, unfit.message)


class AddHeadForm(Form):
    """One more head for a job."""

    names: ClassVar[dict[str, str]] = {
        "name": "Name",
    }

    name: str

    def parse(self) -> None:
        self.name = self.text("name", required="Type the head's name, such as right or B", most=40)


class TakeOverForm(Form):
    """The head that was here before, whose description is taken over."""

    from_head: int

    def parse(self) -> None:
        chosen = self.whole("from_head", required="Choose the head", least=1, most=LARGEST_WHOLE)
        self.from_head = chosen or 0


def folded_casting(typed: str) -> str:
    """Casting numbers are kept in capitals with single spaces, as they stand on the metal."""
    return " ".join(typed.upper().split())


def end_choices(current: str = "") -> list[tuple[str, str]]:
    """The ends offered for numbering, with one that was typed before."""
    ends = [*NUMBERED_FROM]
    if current and current not in ends:
        ends.append(current)
    return [(end, end) for end in ends] + [(OTHER_END, "another end")]

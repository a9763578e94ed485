"""Forms of the shelf: sets of seat rings, taking them to a job, wanted rings."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import ClassVar

from app.calc.materials import RING_MATERIALS
from app.calc.quantities import LENGTH_RANGES, LengthRange
from app.calc.units import Length
from app.forms.base import Form
from app.workflow.kinds import RingOwner, Unit

DIAMETER = LENGTH_RANGES["ring_od"]
HEIGHT = LENGTH_RANGES["ring_height"]
CHAMFER = LengthRange(Length.of("0", "mm"), Length.of("5", "mm"))
MOST_PIECES = 60


class ShelfSetForm(Form):
    """Rings of one part number; sizes are what the box says, never what they measure."""

    names: ClassVar[Mapping[str, str]] = {
        "part": "Number on the box",
        "name": "Own name",
        "supplier": "Supplier",
        "lot": "Lot",
        "place": "Place on the shelf",
        "unit": "Unit on the box",
        "label_od": "Outside, says the box",
        "label_height": "Height, says the box",
        "label_inside": "Inside, says the box",
        "lead_chamfer": "Lead chamfer",
        "material": "Material",
        "alpha_ppm": "Expansion, millionths per °C",
        "owner": "Whose rings",
    }

    unit: Unit
    own_materials: Collection[str] = ()  # keys of what the shop added

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit, required="Which unit does the box use?") or self.unit
        self.name = self.text("name", most=60)
        self.part = self.text("part", most=60)
        self.supplier = self.text("supplier", most=60)
        self.lot = self.text("lot", most=60)
        self.place = self.text("place", most=60)
        self.owner = self.choice("owner", RingOwner, required="Whose rings are these?")
        self.label_od = self._size("label_od", DIAMETER)
        self.label_height = self._size("label_height", HEIGHT)
        self.label_inside = self._size("label_inside", DIAMETER)
        self.lead_chamfer = self._size("lead_chamfer", CHAMFER)
        self.material = self._material()
        self.alpha_per_k = self._alpha()
        self.row_version = self.whole("row_version")
        if not (self.name or self.part):
            self.wrong("part", "Give it the number on the box, or a name of your own")
        if self.label_od and self.label_inside and self.label_inside >= self.label_od:
            self.wrong("label_inside", "The inside must be smaller than the outside")

    def _size(self, name: str, within: LengthRange) -> Length | None:
        return self.length(name, self.unit, least=within.low, most=within.high)

    def _material(self) -> str:
        chosen = self.raw.get("material", "").strip()
        if not chosen or chosen in RING_MATERIALS or chosen in self.own_materials:
            return chosen
        self.wrong("material", "is not one of the choices; choose again")
        return ""

    def _alpha(self) -> float | None:
        typed = self.number("alpha_ppm", least=0, most=100, unit="millionths per kelvin")
        if typed is not None:
            return typed / 1e6
        # An own material's figure is looked up where it is used, since the shop may change it.
        family = RING_MATERIALS.get(self.material)
        expansion = family.expansion if family else None
        return float(expansion.alpha_per_k) if expansion else None


class NewShelfSetForm(ShelfSetForm):
    """A set comes on the shelf, with as many rings as are in the box."""

    names: ClassVar[Mapping[str, str]] = {**ShelfSetForm.names, "pieces": "Rings in the box"}

    def parse(self) -> None:
        super().parse()
        self.pieces = self.whole(
            "pieces", required="How many rings are in the box?", least=1, most=MOST_PIECES
        )


class PiecesForm(Form):
    """More rings of the same part number and lot."""

    names: ClassVar[Mapping[str, str]] = {
        "pieces": "How many",
    }

    def parse(self) -> None:
        self.pieces = self.whole("pieces", required="How many more?", least=1, most=MOST_PIECES)


class RingsForm(Form):
    """Which rings, ticked one by one; `ids` are those of the set."""

    ids: tuple[int, ...]

    def parse(self) -> None:
        self.rings = [ring_id for ring_id in self.ids if self.yes(f"ring_{ring_id}")]
        if not self.rings:
            self.wrong("form", "Tick the rings that are meant.")


class TakeForm(RingsForm):
    """Rings go to a job."""

    names: ClassVar[Mapping[str, str]] = {
        "number": "To job",
    }

    def parse(self) -> None:
        super().parse()
        self.job_number = self.text("number", required="To which job?", most=12)


class RingGoneForm(Form):
    """A ring that is no longer there, and why."""

    names: ClassVar[Mapping[str, str]] = {
        "ring": "Which",
        "because": "Why",
    }

    def parse(self) -> None:
        self.ring_id = self.whole("ring", required="Which ring is gone?", least=1)
        self.because = self.text(
            "because", required="Say why: dropped, chipped, sold, lost", most=200
        )


class WantedRingForm(Form):
    """A ring to order or to find: a range of outside diameters, height, inside."""

    names: ClassVar[Mapping[str, str]] = {
        "od_from": "Outside, from",
        "od_to": "Outside, to",
        "height": "Height",
        "inside": "Inside",
        "note": "Note",
    }

    unit: Unit

    def parse(self) -> None:
        self.od_from = self._size("od_from", DIAMETER)
        self.od_to = self._size("od_to", DIAMETER)
        self.height = self._size("height", HEIGHT)
        self.inside = self._size("inside", DIAMETER)
        self.note = self.text("note", most=200)
        self.supplier = self.text("supplier", most=60)
        self.ring_size_id = self.whole("ring_size", least=1)
        if self.od_from is None and self.od_to is None and not self.note:
            self.wrong("od_from", "Give the outside diameter, or say in the note what is wanted")
        self.od_from, self.od_to = self.od_from or self.od_to, self.od_to or self.od_from
        if self.od_from and self.od_to and self.od_from > self.od_to:
            self.wrong("od_to", "must not be smaller than the size it starts from")
        if self.inside and self.od_from and self.inside >= self.od_from:
            self.wrong("inside", "The inside must be smaller than the outside")

    def _size(self, name: str, within: LengthRange) -> Length | None:
        return self.length(name, self.unit, least=within.low, most=within.high)


class OrderForm(Form):
    """The wanted ring was ordered."""

    names: ClassVar[Mapping[str, str]] = {
        "expected_on": "Expected on",
        "note": "Note",
    }

    def parse(self) -> None:
        self.expected_on = self.day("expected_on")
        self.note = self.text("note", most=120)


class DropForm(Form):
    """The wanted ring is not wanted any more."""

    names: ClassVar[Mapping[str, str]] = {
        "because": "Why",
    }

    def parse(self) -> None:
        self.because = self.text("because", required="Say why it is not wanted any more", most=120)

"""A set of seat rings: what the box says, whose they are, for which positions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.calc.materials import RING_MATERIALS
from app.calc.quantities import ALPHA, DIAMETER, FIT, HEIGHT, PROTRUSION
from app.calc.units import Length
from app.forms.base import Form, row_ids
from app.workflow.kinds import RingOwner, Unit
from app.workflow.words import LabelMeans

MOST_RINGS = 64


def own_expansion(material: str) -> float | None:
    """A tabled material's expansion per kelvin; an own one's is looked up where it is used."""
    known = RING_MATERIALS.get(material)
    return float(known.expansion.alpha_per_k) if known and known.expansion else None


class RingSetForm(Form):
    """A new set, or what is written on it."""

    names: ClassVar[Mapping[str, str]] = {
        "count": "How many rings are there",
        "label_od": "Outside, says the box",
        "label_height": "Height, says the box",
        "label_inside": "Inside, says the box",
        "part": "Part number",
        "name": "Called",
        "material": "Ring material",
        "alpha_ppm": "Expansion, millionths per °C",
        "lead_chamfer": "Lead chamfer, measured",
        "supplier": "From",
        "lot": "Lot",
        "owner": "Whose rings",
        "place": "Where they lie",
    }

    name: str
    part: str
    supplier: str
    lot: str
    material: str
    alpha_per_k: float | None
    owner: RingOwner
    count: int | None
    label_od: Length | None
    label_height: Length | None
    label_inside: Length | None
    lead_chamfer: Length | None
    place: str
    port_ids: list[int]

    def __init__(
        self, raw: Mapping[str, str], unit: Unit, chosen: Sequence[str] = (), *, fresh: bool = True
    ) -> None:
        self.unit = unit
        self.fresh = fresh
        self.port_ids = row_ids(chosen)
        super().__init__(raw)

    def parse(self) -> None:
        self.name = self.text("name", most=60)
        self.part = self.text("part", most=60)
        self.supplier = self.text("supplier", most=60)
        self.lot = self.text("lot", most=60)
        self.material = self.text("material", most=60)
        self.place = self.text("place", most=60)
        ppm = self.number("alpha_ppm", least=0, most=ALPHA.high * 1e6, unit="per million and °C")
        self.alpha_per_k = own_expansion(self.material) if ppm is None else ppm * 1e-6
        self.owner = self.choice("owner", RingOwner) or RingOwner.SHOP
        self.label_od = self.length("label_od", self.unit, least=DIAMETER.low, most=DIAMETER.high)
        self.label_height = self.length(
            "label_height", self.unit, least=HEIGHT.low, most=HEIGHT.high
        )
        self.label_inside = self.length(
            "label_inside", self.unit, least=DIAMETER.low, most=DIAMETER.high
        )
        self.lead_chamfer = self.length(
            "lead_chamfer", self.unit, least=Length(0), most=Length.of("5", "mm")
        )
        if self.label_od and self.label_inside and self.label_inside >= self.label_od:
            self.wrong("label_inside", "The inside must be smaller than the outside.")
        self.count = None
        if self.fresh:
            self.count = self.whole(
                "count", required="How many rings are there?", least=1, most=MOST_RINGS
            )


class LabelMeansForm(Form):
    """What the size on the box stands for: asked once."""

    names: ClassVar[Mapping[str, str]] = {
        "label_means": "The size on the box is",
    }

    label_means: LabelMeans | None

    def parse(self) -> None:
        self.label_means = self.choice(
            "label_means", LabelMeans, required="Choose what the box says."
        )


class WindowForm(Form):
    """An interference window chosen for positions, over the shop's rule."""

    names: ClassVar[Mapping[str, str]] = {
        "least": "Least",
        "aim": "Aim",
        "most": "Most",
        "source": "Who says so",
    }

    least: Length | None
    aim: Length | None
    most: Length | None
    source: str

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        limits = {"least": FIT.low, "most": FIT.high}
        self.least = self.length("least", self.unit, required="The least interference.", **limits)
        self.aim = self.length("aim", self.unit, required="The aim.", **limits)
        self.most = self.length("most", self.unit, required="The most interference.", **limits)
        self.source = self.text(
            "source", required="Who says so: the engine maker's book, the customer …", most=200
        )
        if self.least and self.aim and self.most and not self.least <= self.aim <= self.most:
            self.wrong("aim", "The aim must lie between the least and the most.")


class ProtrusionForm(Form):
    """How far the ring stands proud of (or, negative, below) the surface."""

    names: ClassVar[Mapping[str, str]] = {
        "protrusion": "Proud of the surface by",
    }

    protrusion: Length | None

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        self.protrusion = self.length(
            "protrusion",
            self.unit,
            required="0 when the ring is to be flush.",
            least=PROTRUSION.low,
            most=PROTRUSION.high,
        )

"""A seat to be worked out: the land as it is, the one wanted, the valve, stem and spring."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from app.calc.errors import CalculationError
from app.calc.seat import inner_of_width
from app.calc.units import Length
from app.forms.seat_plans import SeatFields
from app.workflow.kinds import Quantity
from app.workflow.seats import RingEdges, size_words


class SeatForm(SeatFields):
    """What is typed in the address; nothing is kept by it.

    An empty field is no fault: `missing` says what is still needed for the cuts.
    """

    ring: RingEdges
    names: ClassVar[Mapping[str, str]] = {
        "outer": "Land's outer diameter",
        "width": "Land's width",
        "inner": "Land's inner diameter",
        "outer_wanted": "Outer edge wanted",
        "width_wanted": "Width wanted",
        **SeatFields.names,
        "face_width": "Face width",
        "margin": "Margin",
        "stem": "Stem height",
        "stem_wanted": "Stem height wanted",
        "spring": "Spring height",
        "spring_wanted": "Spring height wanted",
    }

    def parse(self) -> None:
        self.read_wanted()
        self.outer = self.size("outer", Quantity.VALVE_HEAD)
        self.width = self.size("width", Quantity.SEAT_WIDTH)
        self.inner = self.size("inner", Quantity.VALVE_HEAD)
        self.face_width = self.size("face_width", Quantity.SEAT_WIDTH)
        self.margin = self.size("margin", Quantity.RUN_OUT)
        self.stem = self.size("stem", Quantity.STEM_HEIGHT)
        self.stem_wanted = self.size("stem_wanted", Quantity.STEM_HEIGHT)
        self.spring = self.size("spring", Quantity.STEM_HEIGHT)
        self.spring_wanted = self.size("spring_wanted", Quantity.STEM_HEIGHT)
        self._land_now()
        self._on_the_ring()
        self.face_inner = self._inner_of("face_width", self.valve_head, self.valve_angle)
        order = list(self.names)
        self.errors = dict(sorted(self.errors.items(), key=lambda one: order.index(one[0])))

    @property
    def missing(self) -> list[str]:
        """What is still needed before a cut can be worked."""
        asked = {
            "the land's outer diameter": self.outer,
            "its width or its inner diameter": self.inner,
            "the seat's angle": self.seat_angle,
            "the top cut's angle": self.top_angle,
            "the throat cut's angle": self.throat_angle,
            "the width wanted": self.width_wanted,
            "the outer edge wanted": self.outer_wanted,
        }
        return [words for words, found in asked.items() if found is None]

    def _land_now(self) -> None:
        if self.width is not None and self.inner is not None:
            self.wrong("width", "width and inner diameter are both typed; leave one of them empty")
        elif self.inner is not None and self.outer is not None and self.inner >= self.outer:
            self.wrong("inner", "must be smaller than the land's outer diameter")
        elif self.width is not None:
            self.inner = self._inner_of("width", self.outer, self.seat_angle)

    def _inner_of(self, name: str, outer: Length | None, angle: float | None) -> Length | None:
        width = getattr(self, name)
        if outer is None or width is None or angle is None:
            return None
        try:
            return inner_of_width(outer=outer, width=width, angle_deg=angle)
        except CalculationError as no:
            self.wrong(name, no.message)
            return None

    def _on_the_ring(self) -> None:
        outer, inner, ring = self.outer, self.inner, self.ring
        if outer is None or ring.outside is None:
            return
        outside = size_words(ring.outside, self.unit)
        if outer > ring.outside:
            self.wrong("outer", f"lies outside the seat ring, which measures {outside}")
            return
        if inner is None or ring.inside is None:
            return
        if outer - inner > ring.outside - ring.inside:
            self.wrong(
                "width" if self.width is not None else "inner",
                "is wider than the seat ring, which measures "
                f"{size_words(ring.inside, self.unit)} inside and {outside} outside",
            )

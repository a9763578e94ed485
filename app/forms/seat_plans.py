"""What the seats of one kind are to be: angles, width, place, and the valve that sits there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from app.calc.errors import CalculationError
from app.calc.gauge import shown_number
from app.calc.seat import inner_of_width
from app.calc.units import Length
from app.forms.base import Form
from app.workflow.grids import PLAUSIBLE
from app.workflow.kinds import Quantity, Unit
from app.workflow.seats import WidthWindow, odd_plan, size_words
from app.workflow.words import Kind

FLATTEST_DEG, STEEPEST_DEG = 1, 89
LONGEST_SOURCE = 200


class SeatFields(Form):
    """The fields that a plan and a work-out share; each is left None when it is empty."""

    unit: Unit
    names: ClassVar[Mapping[str, str]] = {
        "seat_angle": "Seat",
        "top_angle": "Top cut",
        "throat_angle": "Throat cut",
        "width_wanted": "Width wanted",
        "outer_wanted": "Outer edge wanted",
        "valve_head": "Valve head",
        "valve_angle": "Face angle",
        "source": "Who says so",
        "confirm_odd": "Is it so?",
    }

    def read_wanted(self) -> None:
        """Angles and wanted land, and what cannot be one seat."""
        self.seat_angle = self.angle("seat_angle")
        self.top_angle = self.angle("top_angle")
        self.throat_angle = self.angle("throat_angle")
        self.width_wanted = self.size("width_wanted", Quantity.SEAT_WIDTH)
        self.outer_wanted = self.size("outer_wanted", Quantity.VALVE_HEAD)
        self.valve_head = self.size("valve_head", Quantity.VALVE_HEAD)
        self.valve_angle = self.angle("valve_angle")
        self.source = self.text("source", most=LONGEST_SOURCE)
        self._order_of_angles()
        self._land_on_valve()

    def angle(self, name: str) -> float | None:
        """An angle from the head's face."""
        return self.number(name, least=FLATTEST_DEG, most=STEEPEST_DEG, unit="°")

    def size(self, name: str, quantity: Quantity) -> Length | None:
        """A length that can be this quantity."""
        plausible = PLAUSIBLE[quantity]
        return self.length(name, self.unit, least=plausible.low, most=plausible.high)

    def _order_of_angles(self) -> None:
        seat, top, throat = self.seat_angle, self.top_angle, self.throat_angle
        if seat is not None and top is not None and top >= seat:
            self.wrong("top_angle", f"must be flatter than the seat's {shown_number(seat)}°")
        if seat is not None and throat is not None and throat <= seat:
            self.wrong("throat_angle", f"must be steeper than the seat's {shown_number(seat)}°")
        face = self.valve_angle
        if face is None or "top_angle" in self.errors or "throat_angle" in self.errors:
            return
        if top is not None and face <= top:
            self.wrong("valve_angle", f"must be steeper than the top cut's {shown_number(top)}°")
        elif throat is not None and face >= throat:
            self.wrong("valve_angle", f"must be flatter than the throat's {shown_number(throat)}°")

    def _land_on_valve(self) -> None:
        outer, head = self.outer_wanted, self.valve_head
        if outer is not None and head is not None and outer > head:
            self.wrong(
                "outer_wanted",
                f"lies outside the valve head, which is {size_words(head, self.unit)}",
            )
        if outer is not None and self.width_wanted is not None and self.seat_angle is not None:
            try:
                inner_of_width(outer=outer, width=self.width_wanted, angle_deg=self.seat_angle)
            except CalculationError as no:
                self.wrong("width_wanted", no.message)


class SeatPlanForm(SeatFields):
    """A plan to be kept. `windows` are the shop's widths by kind."""

    windows: Mapping[Kind, WidthWindow]

    def parse(self) -> None:
        self.kind = self.choice("kind", Kind, required="Which seats?")
        self.read_wanted()
        self.seen = self.raw.get("seen", "")
        for name, asked in (
            ("seat_angle", "Which angle has the seat?"),
            ("top_angle", "Which angle has the top cut?"),
            ("throat_angle", "Which angle has the throat cut?"),
            ("source", "Say who says so, or where it was read"),
        ):
            if not self.raw.get(name, "").strip():
                self.wrong(name, asked)
        if self.ok and self.kind is not None and self.seat_angle is not None:
            question = odd_plan(
                kind=self.kind,
                seat_angle_deg=self.seat_angle,
                valve_angle_deg=self.valve_angle,
                width=self.width_wanted,
                window=self.windows[self.kind],
                unit=self.unit,
            )
            if question and not self.confirmed("odd"):
                self.wrong("confirm_odd", question)

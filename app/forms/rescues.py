"""Which ring would save a position: how far it may be open, and the ring that is taken."""

from __future__ import annotations

from typing import ClassVar

from app.calc.units import Length
from app.forms.base import Form
from app.forms.shelf import DIAMETER
from app.workflow.kinds import Unit


class RescueForm(Form):
    """What is asked of every ring besides the pocket."""

    unit: Unit
    inside: Length | None
    names: ClassVar[dict[str, str]] = {"inside": "Inside, at most"}

    def parse(self) -> None:
        self.inside = self.length("inside", self.unit, least=DIAMETER.low, most=DIAMETER.high)


class TakeRingForm(Form):
    """One ring of one box on the shelf."""

    def parse(self) -> None:
        self.box_id = self.whole("box", required="Which box?", least=1)
        self.ring_id = self.whole("ring", required="Which ring?", least=1)

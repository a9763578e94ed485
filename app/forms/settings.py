"""Making a setting, and what the fixture read after locking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from app.calc.units import Length
from app.forms.base import Form
from app.workflow.grids import PLAUSIBLE
from app.workflow.kinds import Quantity, Unit


class SettingForm(Form):
    """Which positions, with which cutter, fixture and pilot."""

    port_ids: list[int]
    cutter_id: int | None
    fixture_id: int | None
    pilot_id: int | None

    def __init__(self, raw: Mapping[str, str], chosen: Sequence[str]) -> None:
        self.port_ids = [
            int(one) for one in chosen if one.isascii() and one.isdigit() and len(one) < 11
        ]
        super().__init__(raw)

    def parse(self) -> None:
        if not self.port_ids:
            self.wrong("port", "Choose the positions that this setting is for.")
        self.cutter_id = self.whole("cutter", required="Choose the cutter.", least=1)
        self.fixture_id = self.whole("fixture", least=1)
        self.pilot_id = self.whole("pilot", least=1)


class AchievedForm(Form):
    """The fixture's reading after locking, in the fixture's own unit."""

    achieved: Length | None
    typed: str

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        plausible = PLAUSIBLE[Quantity.FIXTURE]
        self.typed = self.text("achieved", most=40)
        self.achieved = self.length(
            "achieved",
            self.unit,
            required="Type what the fixture reads after locking.",
            least=plausible.low,
            most=plausible.high,
        )

"""Making a setting, what the fixture read after locking, and why a setting is over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.calc.units import Length
from app.forms.base import Form, row_ids
from app.workflow.grids import PLAUSIBLE
from app.workflow.kinds import Quantity, Unit


class SettingForm(Form):
    """Which positions, with which cutter, fixture and pilot.

    `aims` are the bores in nanometres that the page showed, so that it is told when one changed.
    """

    names: ClassVar[Mapping[str, str]] = {
        "port": "Positions",
        "cutter": "Cutter",
        "fixture": "Fixture",
        "pilot": "Pilot",
    }

    port_ids: list[int]
    aims: dict[int, Length]
    cutter_id: int | None
    fixture_id: int | None
    pilot_id: int | None

    def __init__(self, raw: Mapping[str, str], chosen: Sequence[str]) -> None:
        self.port_ids = row_ids(chosen)
        super().__init__(raw)

    def parse(self) -> None:
        if not self.port_ids:
            self.wrong("port", "Choose the positions that this setting is for.")
        self.cutter_id = self.whole("cutter", required="Choose the cutter.", least=1)
        self.fixture_id = self.whole("fixture", least=1)
        self.pilot_id = self.whole("pilot", least=1)
        shown = {port_id: self.whole(f"aim_{port_id}", least=1) for port_id in self.port_ids}
        self.aims = {port_id: Length(nm) for port_id, nm in shown.items() if nm is not None}


class AchievedForm(Form):
    """The fixture's reading after locking, in the fixture's own unit."""

    names: ClassVar[Mapping[str, str]] = {"achieved": "It reads"}

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


class EndSettingForm(Form):
    """Why a setting is over."""

    names: ClassVar[Mapping[str, str]] = {"because": "Because"}

    because: str

    def parse(self) -> None:
        self.because = self.text("because", required="Say why it is over.", most=300)

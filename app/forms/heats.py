"""A heat of a head: begun for some rings, over, and cold again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from app.calc.units import Length
from app.forms.base import Form
from app.forms.rings_in import HEAD_C, FeelerFields
from app.workflow.kinds import NOT_ENTERING, Unit

# Nobody waits for a head longer than a few days; more is a slip.
MOST_MINUTES = 5 * 24 * 60
# More asks for heat that a head does not stand.
CLEARANCES = (Length(0), Length.of(".010"))


class ClearanceForm(Form):
    """With how much clearance the rings are to drop in; the shop's rule when nothing is typed."""

    clearance: Length | None

    def __init__(self, raw: Mapping[str, str], unit: Unit) -> None:
        self.unit = unit
        super().__init__(raw)

    def parse(self) -> None:
        low, high = CLEARANCES
        self.clearance = self.length("clearance", self.unit, least=low, most=high)


class HeatForm(Form):
    """Which rings go in in it, what heats the head, and how hot it is to be."""

    port_ids: list[int]
    heated_by: str
    wanted_c: float | None
    names: ClassVar[dict[str, str]] = {
        "port": "Positions",
        "heated_by": "Heated by",
        "wanted_c": "Head",
        "confirm_hot": "Head",
        "confirm_other_heat": "Another heat",
    }

    def __init__(self, raw: Mapping[str, str], among: Iterable[int]) -> None:
        self.among = tuple(among)
        super().__init__(raw)

    def parse(self) -> None:
        self.port_ids = [each for each in self.among if self.yes(f"port.{each}")]
        if not self.port_ids:
            self.wrong("port", "Choose whose rings go in in this heat.")
        self.heated_by = self.text("heated_by", required="Say what heats the head.", most=80)
        self.wanted_c = self.number(
            "wanted_c",
            required="Say how hot the head is to be.",
            least=20,
            most=HEAD_C[1],
            unit="°C",
        )


class HeatCloseForm(Form):
    """The heat is over."""

    left_out: str
    names: ClassVar[dict[str, str]] = {"left_out": "Left without its ring"}

    def parse(self) -> None:
        self.left_out = self.text("left_out", most=400)


class CoolDownForm(FeelerFields):
    """The head is cold again, and every ring of it is felt for once more.

    The feeler is told once for all of them; one that differs has its own field, ``feel.12``.
    """

    minutes: int | None
    head_c: float | None
    how: str
    feeler: str
    felt: dict[int, str]
    names: ClassVar[dict[str, str]] = {
        "minutes": "Minutes it stood",
        "head_c": "Head now",
        "how": "How it cooled",
        "feeler": "Feeler",
        "feeler_why": "Feeler, why",
        "confirm_warm": "Head now",
    }

    def __init__(self, raw: Mapping[str, str], among: Mapping[int, str]) -> None:
        self.among = among
        super().__init__(raw)

    def parse(self) -> None:
        self.minutes = self.whole(
            "minutes", required="Say how long it stood.", least=1, most=MOST_MINUTES
        )
        self.head_c = self.number(
            "head_c", required="Read the head's temperature.", least=HEAD_C[0], most=150, unit="°C"
        )
        self.how = self.text("how", required="Say how it cooled.", most=60)
        self.feeler = self.parse_feeler()
        self.felt = {}
        for port_id, label in self.among.items():
            own = self.text(f"feel.{port_id}", most=100)
            self.felt[port_id] = own or self.feeler
            if own and own != NOT_ENTERING and ":" not in own:
                self.wrong(
                    f"feel.{port_id}",
                    f"say what the feeler found at {label} and why, such as “could not reach: "
                    "the port is too narrow”",
                )

    @property
    def told(self) -> str:
        """``stood 90 minutes, in still air; head at 21 °C``."""
        return f"stood {self.minutes} minutes, {self.how}; head at {self.head_c:g} °C"

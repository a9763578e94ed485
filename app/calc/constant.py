"""One figure that the app works by, as the page of sources tells it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from app.calc.sources import Source
from app.calc.units import Length, trimmed


class Section(Enum):
    """Under which heading a constant stands, in this order."""

    SIZES = "Sizes and readings"
    INTERFERENCE = "Interference rules"
    CUTTING = "Overcut and setting"
    MATERIALS = "Materials and expansion"
    HEAT = "Heat cases"
    FIT = "Fit, going in and stress"
    GUIDES = "Pilots, guides and spindle"
    VERIFY = "Verdict and possible error"
    SEATS = "Seats and valves"

    @property
    def key(self) -> str:
        """Its place on the page: ``interference``."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Constant:
    """A figure with its source; `stands_in` names it in code: ``materials.REFERENCE_C``.

    What has no figure of its own says in `value` what it takes: ``1/(n + 1)``. `rule` is the key of
    the shop rule that stands over it.
    """

    section: Section
    name: str
    value: str
    unit: str
    source: Source
    used: str
    stands_in: tuple[str, ...] = ()
    rule: str = ""

    @classmethod
    def of_length(
        cls,
        section: Section,
        name: str,
        length: Length,
        source: Source,
        used: str,
        stands_in: tuple[str, ...] = (),
        rule: str = "",
    ) -> Constant:
        """A length, in inches with millimetres beside it."""
        unit = f"in ({trimmed(length.mm(4))} mm)"
        return cls(section, name, length.inches(4), unit, source, used, stands_in, rule)

"""Where a figure comes from, and how far it was checked: printed with every working."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Mark(Enum):
    """How a source was checked."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Source:
    """A citation with its mark; `key` is stable and may be stored with a record."""

    key: str
    text: str
    mark: Mark

    @property
    def cited(self) -> str:
        """The text as it stands behind a figure: ``ISO 1:2016 (published)``."""
        if self.mark is Mark.PUBLISHED or self.text.startswith(self.mark.value):
            return self.text
        return f"{self.text} ({self.mark.value})"


MEASURED = "as measured"
GIVEN = "as given"
GEOMETRY = "geometry"

INCH = Source("inch", "NIST SP 811, App. B.8: 1 in = 25.4 mm exactly", Mark.PUBLISHED)
REFERENCE_TEMPERATURE = Source(
    "reference-temperature", "ISO 1:2016: sizes hold at 20 °C", Mark.PUBLISHED
)
GAUGE_SCALE = Source(
    "gauge-scale", "steel scale of a gauge, 11.5e-6 per K, typical of its kind", Mark.FROM_MEMORY
)
EXPANSION_TABLE = Source(
    "expansion-table",
    "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., table B.6",
    Mark.PUBLISHED,
)
TOOL_STEEL_TABLE = Source(
    "tool-steel-table", "published property tables of tool steels", Mark.PUBLISHED
)
SINTERED_ABSTRACT = Source(
    "sintered-abstract",
    "journal abstract on a copper-infiltrated sintered seat alloy",
    Mark.PUBLISHED,
)
FIT_HABIT = Source("fit-habit", "common practice of head shops", Mark.COMMON_PRACTICE)
LIMIT_HABIT = Source("limit-habit", "common practice of head shops", Mark.COMMON_PRACTICE)
STABBING = Source(
    "stabbing",
    "fewest points in intervals, by right ends: Kleinberg and Tardos, Algorithm Design, ch. 4",
    Mark.FROM_MEMORY,
)

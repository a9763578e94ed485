"""What a line of a working says of its source when it names none: read, given, geometry, worked."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.sources import GEOMETRY, GIVEN, MEASURED


@dataclass(frozen=True, slots=True)
class PlainSource:
    """One sort of line; `texts` are what such lines say, `starts` how some of them begin."""

    key: str
    words: str
    about: str
    texts: frozenset[str]
    starts: tuple[str, ...] = ()

    def is_said_by(self, text: str) -> bool:
        """Whether a line's source is of this sort."""
        return text in self.texts or (bool(self.starts) and text.startswith(self.starts))


READ = PlainSource(
    "measured",
    "as measured",
    "Read here with an instrument and kept with who read it and when. A reading that is struck no "
    "longer counts.",
    frozenset(
        (
            MEASURED,
            "as read",
            "gauge",
            "record",
            "label, not worked from",
            "nobody measured it",
            "ring less bore, as measured",
            "size in print, not measured",
        )
    ),
)
TYPED = PlainSource(
    "given",
    "as given",
    "Handed to this step: typed at its form, chosen, or worked out before it in a working of its "
    "own.",
    frozenset((GIVEN, "target", "rule", "no heat yet")),
)
DRAWN = PlainSource(
    "geometry",
    "geometry",
    "Follows from the shapes alone: circles, cones, sums along a line. No figure of a material or "
    "a habit is in it.",
    frozenset((GEOMETRY,)),
)
WORKED = PlainSource(
    "worked",
    "worked from the lines above it",
    "A sum, a difference or a formula over figures that stand in the same working, each with a "
    "source of its own.",
    frozenset(
        (
            "2·s",
            "B − k",
            "B − u",
            "B·(1 + α(T − 20))/(1 + α_g(T_g − 20))",
            "D + k",
            "D − I",
            "H − F",
            "I/D",
            "OD − B",
            "difference",
            "difference of the means",
            "differences of neighbouring cuts",
            "half of its U",
            "from the figures above",
            "from the figures above, whole degrees up",
            "expansion by the figures",
            "both less what cancels",
            "least largest distance from its aims",
            "suits most rings, nearest their aims",
            "sum of the three",
            "sum of the four",
            "the smaller of the two",
            "sum of the two",
            "toward the smaller bore",
            "touch-off ± travel",
            "twice the offset",
        )
    ),
    ("OD − rule, less U",),
)
PLAIN_SOURCES = (READ, TYPED, DRAWN, WORKED)

"""The stage ring, the shop's own sign: one position, five arcs clockwise from the top.

Heavy arc: done. Double line: now. Hairline: to come. Disc filled: ring in. Bar across: on hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal

StageState = Literal["done", "now", "to_come"]
STAGE_WORDS = ("taken in", "measure", "set", "cut", "verify")

BOX = 100  # the drawing's own units; the page gives the size
CENTRE = BOX / 2
ARC_RADIUS = 40.5
GAP_DEGREES = 11.0
DOUBLE_APART = 6.4
HEAVY, DOUBLE, HAIRLINE = 9.0, 2.6, 2.0
DISC_RADIUS = 31.0
HALO_RADIUS = 49.0
PLAIN_RADIUS = 40.0


@dataclass(frozen=True, slots=True)
class Arc:
    """One stroke of the ring."""

    d: str
    width: float
    state: StageState


@dataclass(frozen=True, slots=True)
class StageRing:
    """What the partial draws, and the words for those who cannot see it."""

    label: str
    arcs: tuple[Arc, ...]
    disc_radius: float
    ring_in: bool
    on_hold: bool
    is_here: bool
    digit: str
    word: str
    name: str

    @property
    def bar(self) -> str:
        """The hold's bar: across the whole ring, rising to the right."""
        x, y = _at(HALO_RADIUS, 57)
        return f"M{_n(BOX - x)} {_n(BOX - y)}L{_n(x)} {_n(y)}"


def stage_ring(
    label: str,
    stages: tuple[StageState, ...],
    *,
    name: str = "",
    ring_in: bool = False,
    on_hold: bool = False,
    is_here: bool = False,
    scale: float = 1.0,
) -> StageRing:
    """The ring of a position that gets a seat ring; `scale` makes an exhaust smaller."""
    if len(stages) != len(STAGE_WORDS):
        raise ValueError(f"a stage ring has {len(STAGE_WORDS)} stages, not {len(stages)}")
    word = state_word(stages, ring_in=ring_in, on_hold=on_hold)
    told = f"at {word}" if word in STAGE_WORDS[1:] else word
    return StageRing(
        label=label,
        arcs=tuple(
            arc for index, state in enumerate(stages) for arc in _strokes(index, state, scale)
        ),
        disc_radius=round(DISC_RADIUS * scale, 2),
        ring_in=ring_in,
        on_hold=on_hold,
        is_here=is_here,
        digit=_digit(stages),
        word=word,
        name=f"{name or label}: {told}" + (", you are here" if is_here else ""),
    )


def state_word(
    stages: tuple[StageState, ...], *, ring_in: bool = False, on_hold: bool = False
) -> str:
    """The one word that says where a position stands, without any colour."""
    if on_hold:
        return "on hold"
    if all(state == "done" for state in stages):
        return "done"
    if ring_in:
        return "ring in"
    for state, word in zip(stages, STAGE_WORDS, strict=True):
        if state == "now":
            return word
    for state, word in zip(stages, STAGE_WORDS, strict=True):
        if state == "to_come":
            return f"{word} to come"
    return "done"


def _digit(stages: tuple[StageState, ...]) -> str:
    for number, state in enumerate(stages, start=1):
        if state != "done":
            return str(number)
    return ""


def _strokes(index: int, state: StageState, scale: float) -> tuple[Arc, ...]:
    start = index * 72 + GAP_DEGREES / 2
    end = (index + 1) * 72 - GAP_DEGREES / 2
    radius = ARC_RADIUS * scale
    if state == "now":
        return tuple(
            Arc(_arc(radius + side * DOUBLE_APART / 2, start, end), DOUBLE, state)
            for side in (1, -1)
        )
    return (Arc(_arc(radius, start, end), HEAVY if state == "done" else HAIRLINE, state),)


def _arc(radius: float, start: float, end: float) -> str:
    (x0, y0), (x1, y1) = _at(radius, start), _at(radius, end)
    return f"M{_n(x0)} {_n(y0)}A{_n(radius)} {_n(radius)} 0 0 1 {_n(x1)} {_n(y1)}"


def _at(radius: float, degrees: float) -> tuple[float, float]:
    """A point on a circle round the centre; degrees clockwise from the top."""
    turn = radians(degrees)
    return CENTRE + radius * sin(turn), CENTRE - radius * cos(turn)


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")

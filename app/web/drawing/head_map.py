"""The head map: positions in their true order, as the head lies.

The map is laid out by the page's own flow (rows of touchable positions), so that a target keeps
its size on any screen; this module decides order, orientation, sizes, words and what is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal

from app.web.drawing.stage_ring import (
    PLAIN_RADIUS,
    StageRing,
    StageState,
    stage_ring,
)

Turn = Literal[0, 90, 180, 270]
Half = Literal["first", "second"]
Place = Literal["left", "top", "right", "bottom"]

MOST_SHOWN = 24  # more than these cannot each be held by a finger beside the work
MOST_ROWS = 2
# Along the head, above these the positions stand in two lines: the map widens before it shrinks.
LONGEST_DOWN, LONGEST_ACROSS = 10, 16
SMALLEST_SCALE = Fraction(74, 100)
USUAL_SCALE = {"E": 0.86, "I": 1.0}
KIND_WORDS = {"E": "exhaust", "I": "intake"}
NOT_NAMED = "not named here"
SHORT_WORDS = {
    "seat only": "seat",
    "guide only": "guide",
    "leave": "leave",
    "undecided": "?",
    NOT_NAMED: "",
}
END_PLACES: dict[int, Place] = {0: "left", 90: "top", 180: "right", 270: "bottom"}


@dataclass(frozen=True, slots=True, kw_only=True)
class MapPosition:
    """One position as the map needs it; `size` is the valve's or ring's diameter in mm, if known.

    Positions are given as they lie from the numbering end, row after row.
    """

    label: str
    port_id: int | str
    cylinder: str
    kind: str
    row: int
    work: str
    stages: tuple[StageState, ...]
    ring_in: bool = False
    on_hold: bool = False
    is_here: bool = False
    href: str | None = None
    size: float | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """A position as drawn: a stage ring, or a plain circle with its work."""

    label: str
    value: str
    name: str
    word: str
    short_word: str
    href: str | None
    is_here: bool
    on_hold: bool
    ring: StageRing | None
    plain_radius: float


@dataclass(frozen=True, slots=True)
class Chamber:
    """One cylinder's positions: rows as drawn, spots as drawn."""

    cylinder: str
    rows: tuple[tuple[Spot, ...], ...]


@dataclass(frozen=True, slots=True)
class HeadMap:
    """The whole drawing, in drawn order."""

    lying: Literal["across", "down"]
    turned: Turn
    end_label: str
    end_place: Place
    name: str
    chambers: tuple[Chamber, ...]
    along: int
    is_staggered: bool
    as_buttons: bool
    half: Half | None
    other_half: Half | None
    other_half_words: str

    @property
    def next_turn(self) -> Turn:
        """The turn that one touch of "turn the map" gives."""
        turns: tuple[Turn, ...] = (0, 90, 180, 270)
        return turns[(turns.index(self.turned) + 1) % len(turns)]

    @property
    def spots(self) -> tuple[Spot, ...]:
        """Every position shown."""
        return tuple(spot for chamber in self.chambers for row in chamber.rows for spot in row)


def head_map(
    positions: Sequence[MapPosition],
    end_label: str,
    turned: Turn = 0,
    half: Half | None = None,
    as_buttons: bool = False,
) -> HeadMap:
    """Lay out a head; `turned` is how far it lies clockwise from "numbering end at the left"."""
    if not positions:
        raise ValueError("a head map needs at least one position")
    if turned not in END_PLACES:
        raise ValueError("a head is turned by 0, 90, 180 or 270 degrees")
    rows = sorted({position.row for position in positions})
    if len(rows) > MOST_ROWS:
        raise ValueError(f"a head has one row or two, not {len(rows)}")
    cylinders = list(dict.fromkeys(position.cylinder for position in _by_lie(positions)))
    shown, half, other = _shown(positions, cylinders, half)
    scales = _scales(positions)

    chambers = [
        Chamber(
            cylinder,
            tuple(
                tuple(
                    _spot(position, scales[position.label])
                    for position in positions
                    if position.cylinder == cylinder and position.row == row
                )
                for row in rows
            ),
        )
        for cylinder in shown
    ]
    # Turning clockwise: 90 puts the left end on top and the upper row at the right.
    if turned in (180, 270):
        chambers = [
            Chamber(each.cylinder, tuple(row[::-1] for row in each.rows))
            for each in reversed(chambers)
        ]
    if turned in (90, 180):
        chambers = [Chamber(each.cylinder, each.rows[::-1]) for each in chambers]

    along = sum(max(len(row) for row in chamber.rows) for chamber in chambers)
    lying: Literal["across", "down"] = "across" if turned in (0, 180) else "down"
    return HeadMap(
        lying=lying,
        turned=turned,
        end_label=end_label,
        end_place=END_PLACES[turned],
        name=_map_name(end_label, END_PLACES[turned], shown, half),
        chambers=tuple(chambers),
        along=along,
        is_staggered=along > (LONGEST_ACROSS if lying == "across" else LONGEST_DOWN),
        as_buttons=as_buttons,
        half=half,
        other_half=other,
        other_half_words=_cylinder_words([each for each in cylinders if each not in shown]),
    )


def position_name(position: MapPosition) -> str:
    """``3E, cylinder 3 exhaust``: the way every position is called aloud."""
    kind = KIND_WORDS[position.kind]
    nth = position.label[-1:] if position.label[-2:-1] in KIND_WORDS else ""
    return f"{position.label}, cylinder {position.cylinder} {kind}" + (f" {nth}" if nth else "")


def _by_lie(positions: Sequence[MapPosition]) -> list[MapPosition]:
    return sorted(positions, key=lambda position: position.row)


def _shown(
    positions: Sequence[MapPosition], cylinders: list[str], half: Half | None
) -> tuple[list[str], Half | None, Half | None]:
    """The cylinders to draw: all of them, or the half being worked."""
    if len(positions) <= MOST_SHOWN or len(cylinders) < 2:
        return cylinders, None, None
    middle = ceil(len(cylinders) / 2)
    first, second = cylinders[:middle], cylinders[middle:]
    if half is None:
        here = {position.cylinder for position in positions if position.is_here}
        half = "second" if here and here <= set(second) else "first"
    return (first, half, "second") if half == "first" else (second, half, "first")


def _scales(positions: Sequence[MapPosition]) -> dict[str, float]:
    """How large each position is drawn: by its own size against the head's largest."""
    sizes = [position.size for position in positions if position.size]
    if len(sizes) < len(positions):
        return {position.label: USUAL_SCALE[position.kind] for position in positions}
    largest = max(sizes)
    return {
        position.label: round(max(float(SMALLEST_SCALE), size / largest), 3)
        for position, size in zip(positions, sizes, strict=True)
    }


def _spot(position: MapPosition, scale: float) -> Spot:
    name = position_name(position)
    work = str(position.work).replace("_", " ")
    if work in ("ring", "seat ring"):
        ring = stage_ring(
            position.label,
            position.stages,
            name=name,
            ring_in=position.ring_in,
            on_hold=position.on_hold,
            is_here=position.is_here,
            scale=scale,
        )
        word, short_word, told = ring.word, "", ring.name
    else:
        ring = None
        word, short_word = work, SHORT_WORDS.get(work, work)
        told = f"{name}: {work}"
        told += ", on hold" if position.on_hold else ""
        told += ", you are here" if position.is_here else ""
    return Spot(
        label=position.label,
        value=str(position.port_id),
        name=told,
        word=word,
        short_word=short_word,
        href=position.href,
        is_here=position.is_here,
        on_hold=position.on_hold,
        ring=ring,
        plain_radius=round(PLAIN_RADIUS * scale, 2),
    )


def _map_name(end_label: str, place: Place, shown: list[str], half: Half | None) -> str:
    where = {"left": "at the left", "right": "at the right", "top": "on top", "bottom": "below"}
    part = f", {_cylinder_words(shown)} only" if half else ""
    return f"Head map, {end_label} {where[place]}{part}"


def _cylinder_words(cylinders: list[str]) -> str:
    if not cylinders:
        return ""
    if len(cylinders) == 1:
        return f"cylinder {cylinders[0]}"
    return f"cylinders {cylinders[0]} to {cylinders[-1]}"

"""A seat's half section as drawn, before and after beside each other, both to one scale.

The valve's axis lies to the left, the chamber above. Every place is worked from the sizes
themselves; a picture of one scale both ways is the only one in which an angle is an angle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, radians, sin

from app.calc.gauge import shown_number
from app.calc.shown import shown_nm
from app.calc.units import NM_PER_UNIT, Length
from app.web.drawing.seat_section import (
    HEAD,
    PANEL,
    Angles,
    Face,
    Frame,
    Land,
    Point,
    Section,
    left_of,
    millimetres,
    radius,
    right_of,
)
from app.workflow.kinds import Unit

__all__ = ["Angles", "Face", "Land", "SeatDrawing", "seat_drawing"]

GAP, FOOT = 16.0, 88.0
BAR_AT_LEAST = 56.0
TICK = 4.0
UNIT_WORDS = {unit.value: unit.screen for unit in Unit}


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line, by the role that it has."""

    role: str
    x1: str
    y1: str
    x2: str
    y2: str


@dataclass(frozen=True, slots=True)
class Note:
    """A figure or word in the picture."""

    role: str
    x: str
    y: str
    anchor: str
    text: str
    turn: str = ""


@dataclass(frozen=True, slots=True)
class Panel:
    """One section. Points are texts as SVG takes them; an empty one is not drawn."""

    title: str
    x: str
    metal: str  # head, or the casting that the seat is cut in
    ring: str
    surface: str
    was: str  # the surface before, where this one is another
    valve: str
    face: str
    land: str
    touch: tuple[str, str] | None
    strokes: tuple[Stroke, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class SeatDrawing:
    """What the partial draws; `name` says the whole picture in words."""

    width: str
    height: str
    panels: tuple[Panel, ...]
    bar: Stroke
    bar_note: Note
    has_ring: bool
    has_valve: bool
    name: str


def seat_drawing(
    *,
    now: Land,
    wanted: Land,
    angles: Angles,
    unit: str,
    ring_outside: Length | None = None,
    ring_inside: Length | None = None,
    face: Face | None = None,
) -> SeatDrawing:
    """Draw the land as it is and as it is wanted."""
    ring = (ring_inside, ring_outside)
    sections = [Section(land, angles, now.inner, face) for land in (now, wanted)]
    frame = Frame.around(sections, ring, face)
    panels = tuple(
        _panel(section, frame, n, ring, unit, sections[0] if n else None)
        for n, section in enumerate(sections)
    )
    bar, note = _bar(frame, unit)
    return SeatDrawing(
        width=_px(2 * PANEL + GAP),
        height=_px(HEAD + frame.high + FOOT),
        panels=panels,
        bar=bar,
        bar_note=note,
        has_ring=any(panel.ring for panel in panels),
        has_valve=face is not None and any(panel.face for panel in panels),
        name=_told(sections, angles, unit),
    )


def _panel(
    section: Section,
    frame: Frame,
    n: int,
    ring: tuple[Length | None, Length | None],
    unit: str,
    before: Section | None,
) -> Panel:
    land = section.land
    surface = section.surface(frame)
    body = [*surface, (frame.right, frame.floor)]
    edge = None if ring[1] is None else radius(ring[1])
    shows_edge = edge is not None and frame.left < edge < frame.right
    ring_body = left_of(body, edge) if edge is not None and edge > frame.left else []
    strokes, notes = _dimensions(section, frame, unit)
    if edge is not None and shows_edge:
        strokes.append(
            _stroke("joint", frame.px((edge, frame.floor)), _meets(surface, edge, frame))
        )
        x, y = frame.px((edge, frame.floor))
        beside = x + 13 if x < PANEL - 18 else x - 5
        notes.append(_note("small", (beside, y - 4), "start", f"ring {_size(ring[1], unit)}", -90))
    strokes += _angle_marks(section, frame, notes)
    valve, face, touch = _valve(section, frame, notes)
    was = before.surface(frame) if before is not None else []
    return Panel(
        title=land.title,
        x=_px(n * (PANEL + GAP)),
        metal=_points(frame, body if not ring_body else right_of(body, edge or 0)),
        ring=_points(frame, ring_body),
        surface=_points(frame, surface),
        was=_points(frame, was) if was and was != surface else "",
        valve=valve,
        face=face,
        land=_points(frame, [section.outer, section.inner]),
        touch=touch,
        strokes=tuple(strokes),
        notes=tuple(notes),
    )


def _dimensions(section: Section, frame: Frame, unit: str) -> tuple[list[Stroke], list[Note]]:
    """Sloping width along the land; projected width and both diameters below; face left above."""
    land = section.land
    outer, inner = frame.px(section.outer), frame.px(section.inner)
    strokes: list[Stroke] = []
    notes: list[Note] = []
    # Into the metal, square to the land.
    away = radians(section.angles.seat)
    by = 20.0
    shifted = [(x + by * sin(away), y + by * cos(away)) for x, y in (inner, outer)]
    for start, end in zip((inner, outer), shifted, strict=True):
        strokes.append(_stroke("extension", start, end))
    strokes += _dimension(shifted[0], shifted[1])
    middle = ((shifted[0][0] + shifted[1][0]) / 2, (shifted[0][1] + shifted[1][1]) / 2)
    seat = shown_number(section.angles.seat)
    notes.append(
        _note(
            "figure",
            (middle[0] + 10, middle[1] + 12),
            "start",
            f"{_size(land.width, unit)} at {seat}°",
        )
    )
    base = HEAD + frame.high
    rows = (base + 20, base + 44)
    for x, y in (inner, outer):
        strokes.append(_stroke("extension", (x, y), (x, rows[1] + 6)))
    strokes += _dimension((inner[0], rows[0]), (outer[0], rows[0]))
    projected = f"projected {_size(land.projected, unit)}"
    room = PANEL - outer[0] > 120
    notes.append(
        _note(
            "figure",
            (outer[0] + 8 if room else inner[0] - 8, rows[0] + 4),
            "start" if room else "end",
            projected,
        )
    )
    notes.append(
        _note("figure", (inner[0] - 5, rows[1] + 4), "end", f"⌀ {_size(land.inner, unit)}")
    )
    notes.append(
        _note("figure", (outer[0] + 5, rows[1] + 4), "start", f"⌀ {_size(land.outer, unit)}")
    )
    if section.face is not None and land.clear_outside is not None:
        _clear_outside(section, frame, unit, strokes, notes)
    return strokes, notes


def _clear_outside(
    section: Section, frame: Frame, unit: str, strokes: list[Stroke], notes: list[Note]
) -> None:
    """The face that is left toward the margin, or what the land has too much."""
    land, face = section.land, section.face
    assert face is not None
    assert land.clear_outside is not None
    level = HEAD - 13
    edge = frame.px(section.on_face(radius(face.head)))
    outer = frame.px(section.outer)
    for x, y in (edge, outer):
        strokes.append(_stroke("extension", (x, y), (x, level - 5)))
    strokes += _dimension((min(edge[0], outer[0]), level), (max(edge[0], outer[0]), level))
    past = land.clear_outside.nm < 0
    size = _size(Length(abs(land.clear_outside.nm)), unit)
    words = f"{size} past the edge" if past else f"{size} to the margin"
    low, high = min(edge[0], outer[0]), max(edge[0], outer[0])
    to_the_left = low > PANEL - high
    at = low - 6 if to_the_left else high + 6
    notes.append(_note("figure", (at, level + 4), "end" if to_the_left else "start", words))


def _dimension(start: Point, end: Point) -> list[Stroke]:
    """A dimension line with an oblique tick at each end, as a scriber leaves it."""
    ticks = [_stroke("tick", (x - TICK, y + TICK), (x + TICK, y - TICK)) for x, y in (start, end)]
    return [_stroke("dimension", start, end), *ticks]


def _angle_marks(section: Section, frame: Frame, notes: list[Note]) -> list[Stroke]:
    """The angle of each cut, in the metal beside its face."""
    angles = section.angles
    top = frame.px(section.top(section.outer[0] * 0.3 + frame.right * 0.7))
    notes.append(
        _note("angle", (top[0], top[1] + 20), "middle", f"top {shown_number(angles.top)}°")
    )
    ends = section.surface(frame)[2:4]
    throat = frame.px(((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2))
    notes.append(
        _note("angle", (throat[0] - 8, throat[1]), "end", f"throat {shown_number(angles.throat)}°")
    )
    return []


def _valve(
    section: Section, frame: Frame, notes: list[Note]
) -> tuple[str, str, tuple[str, str] | None]:
    """The valve's outline from its face up, its face alone, and where it touches first."""
    face = section.face
    if face is None or section.land.rests_on is None:
        return "", "", None
    low = frame.left if face.inner is None else max(frame.left, radius(face.inner))
    line = [section.on_face(low), section.on_face(radius(face.head))]
    edge = line[1]
    top = frame.ceiling if face.margin is None else edge[1] + millimetres(face.margin)
    outline = [(frame.left, line[0][1]), *line, (edge[0], top), (frame.left, top)]
    x, y = frame.px((frame.left, top))
    notes.append(
        _note("angle", (x + 8, y + 18), "start", f"valve, face {shown_number(face.angle)}°")
    )
    at = frame.px(section.on_land(radius(section.land.rests_on)))
    touch = (_px(at[0]), _px(at[1])) if face.angle != section.angles.seat else None
    return _points(frame, outline), _points(frame, [*line, (edge[0], top)]), touch


def _meets(surface: Sequence[Point], r: float, frame: Frame) -> Point:
    """Where the metal's surface stands at a radius, in pixels."""
    for (r1, y1), (r2, y2) in pairwise(surface):
        if r2 <= r <= r1 and r1 > r2:
            return frame.px((r, y2 + (r - r2) / (r1 - r2) * (y1 - y2)))
    return frame.px((r, frame.floor))


def _bar(frame: Frame, unit: str) -> tuple[Stroke, Note]:
    """A line of a round length: what the scale is, on whatever screen or paper it stands."""
    per_unit = NM_PER_UNIT[unit] / 1_000_000 * frame.scale
    size = next(
        digit * 10.0**power
        for power in range(-5, 3)
        for digit in (1, 2, 5)
        if digit * 10.0**power * per_unit >= BAR_AT_LEAST
    )
    y = HEAD + frame.high + FOOT - 12
    length = Length.nearest(round(size * NM_PER_UNIT[unit]))
    text = f"{_size(length, unit)} {UNIT_WORDS[unit]}, both drawn to this scale"
    return (
        _stroke("bar", (1, y), (1 + size * per_unit, y)),
        _note("figure", (1 + size * per_unit + 10, y + 5), "start", text),
    )


def _told(sections: Sequence[Section], angles: Angles, unit: str) -> str:
    cuts = f"top {angles.top:g}°, seat {angles.seat:g}°, throat {angles.throat:g}°"
    lands = "; ".join(
        f"{one.land.title.lower()}: outer diameter {_size(one.land.outer, unit)}, inner "
        f"{_size(one.land.inner, unit)}, sloping width {_size(one.land.width, unit)}"
        for one in sections
    )
    return f"Section of the seat to scale in {UNIT_WORDS[unit]}, {cuts}. {lands}"


def _size(length: Length | None, unit: str) -> str:
    return shown_nm((length or Length(0)).nm, unit, inch_places=4, mm_places=3)


def _points(frame: Frame, points: Sequence[Point]) -> str:
    return " ".join(",".join(map(_px, frame.px(point))) for point in points)


def _stroke(role: str, start: Point, end: Point) -> Stroke:
    return Stroke(role, _px(start[0]), _px(start[1]), _px(end[0]), _px(end[1]))


def _note(role: str, at: Point, anchor: str, text: str, turn: int = 0) -> Note:
    x, y = _px(at[0]), _px(at[1])
    return Note(role, x, y, anchor, text, f"rotate({turn} {x} {y})" if turn else "")


def _px(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"

"""A seat's half section in millimetres, and the stretch of it that a picture shows.

The valve's axis lies to the left, the chamber above. Places are worked from the sizes themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.seat import tangent
from app.calc.units import Length

PANEL, HEAD = 312.0, 52.0
MOST_HIGH = 250.0
# Of the land's own width: what is shown beside it, and how far the ring's edges may lie to show.
BESIDE, FAR = 0.75, 3.0
NOTHING = Length(0)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Angles:
    """Top, seat and throat, from the head's face."""

    top: float
    seat: float
    throat: float


@dataclass(frozen=True, slots=True)
class Face:
    """The valve as far as it is known; the inner end of its face and its margin may not be."""

    head: Length
    angle: float
    inner: Length | None = None
    margin: Length | None = None


@dataclass(frozen=True, slots=True)
class Land:
    """A land to draw; `drop` is how much deeper it lies than the one it is measured from."""

    title: str
    outer: Length
    inner: Length
    width: Length
    projected: Length
    drop: Length = NOTHING
    rests_on: Length | None = None  # diameter on which the valve rests; None: they do not meet
    clear_outside: Length | None = None


class Section:
    """One land's section in millimetres: r from the valve's axis, y up from the land's inner edge
    as it is now."""

    def __init__(self, land: Land, angles: Angles, from_inner: Length, face: Face | None) -> None:
        self.land, self.angles = land, angles
        self.face = face if land.rests_on is not None else None
        self.slope = tangent(angle_deg=angles.seat)
        self._start, self._drop = radius(from_inner), millimetres(land.drop)
        self.outer, self.inner = (self.on_land(radius(one)) for one in (land.outer, land.inner))

    def on_land(self, r: float) -> Point:
        """The land's cone at a radius."""
        return r, (r - self._start) * self.slope - self._drop

    def top(self, r: float) -> Point:
        """The metal outside the land."""
        return r, self.outer[1] + (r - self.outer[0]) * tangent(angle_deg=self.angles.top)

    def throat(self, r: float) -> Point:
        """The metal inside the land."""
        return r, self.inner[1] - (self.inner[0] - r) * tangent(angle_deg=self.angles.throat)

    def on_face(self, r: float) -> Point:
        """The valve's face, lowered until it rests."""
        assert self.face is not None
        assert self.land.rests_on is not None
        at = self.on_land(radius(self.land.rests_on))
        return r, at[1] + (r - at[0]) * tangent(angle_deg=self.face.angle)

    def surface(self, frame: Frame) -> list[Point]:
        """From the right edge of the picture down to its floor, or to the ring's inside."""
        points = [self.top(frame.right), self.outer, self.inner]
        slope = tangent(angle_deg=self.angles.throat)
        floor_at = self.inner[0] - (self.inner[1] - frame.floor) / slope
        end = max(floor_at, min(frame.inside, self.inner[0]))
        points.append(self.throat(end))
        if end > floor_at:
            points.append((end, frame.floor))
        return points


@dataclass(frozen=True, slots=True)
class Frame:
    """The stretch of metal that is shown, and how many pixels a millimetre has."""

    left: float
    right: float
    floor: float
    ceiling: float
    inside: float  # where the throat ends: the ring's inside, or the left edge
    scale: float
    beside: float

    @classmethod
    def around(
        cls,
        sections: Sequence[Section],
        ring: tuple[Length | None, Length | None],
        face: Face | None,
    ) -> Frame:
        """The land with what lies beside it; the ring's edges where they are near."""
        lands = [section.land for section in sections]
        wide = max(millimetres(land.projected) for land in lands)
        least, most = (
            min(radius(one.inner) for one in lands),
            max(radius(one.outer) for one in lands),
        )
        left, right = least, most
        drawn = face is not None and any(section.face for section in sections)
        if drawn and face is not None:
            right = max(right, radius(face.head))
            left = min(left, radius(face.inner)) if face.inner else left
        ring_in, ring_out = (None if one is None else radius(one) for one in ring)
        if ring_out is not None and most < ring_out <= most + FAR * wide:
            right = max(right, ring_out)
        if ring_in is not None and least - FAR * wide <= ring_in < least:
            left = min(left, ring_in)
        left, right = left - BESIDE * wide, right + BESIDE * wide
        floor = min(section.inner[1] for section in sections) - (BESIDE + 0.25) * wide
        ceiling = max(section.top(right)[1] for section in sections)
        for section in sections:
            if section.face is not None:
                edge = section.on_face(radius(section.face.head))[1]
                margin = section.face.margin
                ceiling = max(ceiling, edge + (millimetres(margin) if margin else BESIDE * wide))
        ceiling += 0.12 * wide
        scale = min(PANEL / (right - left), MOST_HIGH / (ceiling - floor))
        # A picture that is limited by its height stands in the middle of its panel.
        beside = (PANEL - (right - left) * scale) / 2
        inside = ring_in if ring_in is not None and ring_in > left else left
        return cls(left, right, floor, ceiling, inside, scale, beside)

    @property
    def high(self) -> float:
        """In pixels."""
        return (self.ceiling - self.floor) * self.scale

    def px(self, point: Point) -> Point:
        """Where a point of the section stands in its panel."""
        r, y = point
        return self.beside + (r - self.left) * self.scale, HEAD + (self.ceiling - y) * self.scale


def left_of(body: Sequence[Point], r: float) -> list[Point]:
    """A closed outline up to a radius."""
    return _clipped(body, r, keep_left=True)


def right_of(body: Sequence[Point], r: float) -> list[Point]:
    """A closed outline from a radius on."""
    return _clipped(body, r, keep_left=False)


def _clipped(body: Sequence[Point], at: float, *, keep_left: bool) -> list[Point]:
    """A closed outline on one side of a radius."""
    found: list[Point] = []
    for here, there in zip(body, [*body[1:], body[0]], strict=True):
        inside = (here[0] <= at) if keep_left else (here[0] >= at)
        then = (there[0] <= at) if keep_left else (there[0] >= at)
        if inside:
            found.append(here)
        if inside != then:
            share = (at - here[0]) / (there[0] - here[0])
            found.append((at, here[1] + share * (there[1] - here[1])))
    return found


def radius(diameter: Length) -> float:
    """Half a diameter, in millimetres."""
    return millimetres(diameter) / 2


def millimetres(length: Length) -> float:
    """A length as drawn."""
    return length.nm / 1_000_000

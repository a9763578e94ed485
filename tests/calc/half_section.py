"""The half section of a seat in shapely: metal below three cones, cut by sinking them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import atan, degrees, hypot, radians, tan

from shapely import Polygon, intersection_all

REACH = 400.0


@dataclass(frozen=True)
class Cone:
    """A cutter's cone through (r, z), at an angle from the head's face, in mm."""

    r: float
    z: float
    angle_deg: float

    def sunk(self, by: float) -> Cone:
        return Cone(self.r, self.z - by, self.angle_deg)

    @property
    def metal(self) -> Polygon:
        """What the cutter leaves: all that lies below its cone."""
        slope = tan(radians(self.angle_deg))
        left, right = self.r - REACH, self.r + REACH
        deep = -10 * REACH * (1 + slope)
        return Polygon(
            [
                (left, deep),
                (right, deep),
                (right, self.z + slope * REACH),
                (left, self.z - slope * REACH),
            ]
        )


@dataclass(frozen=True)
class Land:
    """The land that is left, as diameters and sloping width."""

    outer: float
    inner: float
    width: float


def land_of(cones: list[Cone], seat_angle_deg: float) -> Land | None:
    """The edge of the metal that slopes like the seat."""
    corners = list(intersection_all([cone.metal for cone in cones]).exterior.coords)
    for (r1, z1), (r2, z2) in pairwise(corners):
        (r1, z1), (r2, z2) = sorted([(r1, z1), (r2, z2)])
        if r2 - r1 < 1e-7:
            continue
        if abs(degrees(atan((z2 - z1) / (r2 - r1))) - seat_angle_deg) < 1e-3:
            return Land(2 * r2, 2 * r1, hypot(r2 - r1, z2 - z1))
    return None


def cones_of(
    outer: float, inner: float, seat: float, top: float, throat: float
) -> tuple[Cone, Cone, Cone]:
    """Seat, top and throat cones that meet at the land's two edges."""
    depth = (outer - inner) / 2 * tan(radians(seat))
    return (
        Cone(outer / 2, 0, seat),
        Cone(outer / 2, 0, top),
        Cone(inner / 2, -depth, throat),
    )

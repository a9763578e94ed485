"""An old pocket and what stands around it: the facts that bound a larger counterbore."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.units import Length


@dataclass(frozen=True, slots=True)
class OldPocket:
    """What was read of the pocket to be opened; None is "not known", never "none".

    Where the seat was in the casting, `bore_max` is the old seat's outside and `run_out` 0.
    """

    bore_max: Length | None
    run_out: Length | None
    deepest_floor: Length | None
    thinnest_wall: Length | None


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A counterbore beside this one, and how far its axis stands away, None when not known."""

    position: str
    bore: Length
    centre_distance: Length | None


@dataclass(frozen=True, slots=True)
class MetalLimits:
    """The shop's rules: stock to clean up wall (on the radius) and floor, least wall and web."""

    stock: Length
    floor_clean_up: Length
    least_wall: Length
    least_web: Length

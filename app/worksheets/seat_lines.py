"""The lines of a seat's work-out: each cut, the land before and after, what else it moves."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.gauge import shown_number
from app.calc.seat import Seat
from app.calc.seat_cuts import SeatCuts
from app.calc.seat_sink import ValveSink
from app.calc.seat_valve import (
    ChamberGrowth,
    SpringShim,
    StemHeight,
)
from app.calc.shown import shown_apart, shown_nm
from app.calc.units import Length
from app.forms.seats import SeatForm
from app.workflow.kinds import Unit
from app.workflow.seats import (
    AS_WANTED,
    NO_SHIM,
    SEAT_CUT_ALONE,
    SHIM,
    STEM_OVER,
    STEM_SHORT,
)

# As a seat is read: a tenth of a thou, a thousandth of a millimetre.
PLACES = {"inch_places": 4, "mm_places": 3}


@dataclass(frozen=True, slots=True)
class CutLine:
    """One cutter in its turn; `depth` is empty where it is not needed."""

    cutter: str
    angle: str
    depth: str


@dataclass(frozen=True, slots=True)
class LandLine:
    """One figure of the land, before and after, and how far it goes: the three subtract."""

    name: str
    now: str
    wanted: str
    moves: str


@dataclass(frozen=True, slots=True)
class RestLine:
    """What the cuts do to something else: its figure, and what that would mean."""

    name: str
    figure: str
    unit: str
    says: str


def rest_lines(
    form: SeatForm,
    sink: Length,
    by_face: ValveSink | None,
    stem: StemHeight | None,
    spring: SpringShim | None,
    chamber: ChamberGrowth | None,
) -> tuple[RestLine, ...]:
    unit = form.unit.value
    figures = shown_nm(sink.nm, unit, **PLACES)
    by = "with this face and these cuts" if by_face else SEAT_CUT_ALONE
    lines = [RestLine("Valve sinks by", figures, unit, by)]
    if stem is not None:
        says = (
            STEM_OVER if stem.tip_grind.nm > 0 else STEM_SHORT if stem.tip_grind.nm else AS_WANTED
        )
        lines.append(
            RestLine("Stem over the height wanted", _signed(stem.tip_grind, unit), unit, says)
        )
    if spring is not None:
        says = SHIM if spring.shim.nm > 0 else NO_SHIM if spring.shim.nm else AS_WANTED
        lines.append(
            RestLine("Spring over its height wanted", _signed(spring.shim, unit), unit, says)
        )
    if chamber is not None:
        lines.append(
            RestLine(
                "Chamber grows by",
                f"{chamber.volume_mm3 / 1000:.2f}",
                "cm³",
                f"{chamber.volume_in3:.4f} in³, for this valve alone",
            )
        )
    return tuple(lines)


def _signed(length: Length, unit: str) -> str:
    return shown_nm(length.nm, unit, **PLACES).replace("-", "−")


def cut_lines(form: SeatForm, cuts: SeatCuts) -> tuple[CutLine, ...]:
    """In the order they are cut: the seat first, since the other two first touch its edges."""
    return tuple(
        CutLine(cutter, f"{shown_number(angle or 0)}°", _depth(sink, form.unit))
        for cutter, angle, sink in (
            ("seat", form.seat_angle, cuts.seat_sink),
            ("top", form.top_angle, cuts.top_sink),
            ("throat", form.throat_angle, cuts.throat_sink),
        )
    )


def _depth(sink: Length, unit: Unit) -> str:
    """Empty when it rounds to nothing: a quill shows no more."""
    text = shown_nm(sink.nm, unit.value, **PLACES)
    return text if text.strip("0.") else ""


def land_lines(form: SeatForm, now: Seat, wanted: Seat, cuts: SeatCuts) -> tuple[LandLine, ...]:
    assert form.outer is not None
    assert form.inner is not None
    ways = {
        "diameter": ("inward", "outward"),
        "width": ("narrower", "wider"),
    }
    return tuple(
        _land_line(name, before, after, ways[what], form.unit)
        for name, what, before, after in (
            ("Outer diameter", "diameter", form.outer, cuts.outer_wanted),
            ("Inner diameter", "diameter", form.inner, cuts.inner_wanted),
            ("Width, sloping", "width", now.width, wanted.width),
            ("Width, projected", "width", now.width_projected, wanted.width_projected),
        )
    )


def _land_line(
    name: str, before: Length, after: Length, ways: tuple[str, str], unit: Unit
) -> LandLine:
    first_shown, then = (shown_nm(one.nm, unit.value, **PLACES) for one in (before, after))
    moves = shown_apart(before.nm, after.nm, unit.value, **PLACES)
    way = ways[0] if after < before else ways[1]
    return LandLine(name, first_shown, then, f"{moves} {way}" if first_shown != then else "stays")

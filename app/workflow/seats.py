"""Seats in words: what is wanted, and what a land does on its ring and on the valve's face.

It explains and asks; nothing here blocks a cut, and nothing promises that a seat will hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.gauge import shown_number
from app.calc.seat_valve import FirstTouch, ValveContact
from app.calc.sources import GEOMETRY, SEAT_HABIT
from app.calc.units import Length
from app.workflow.fit_advice import BY_THESE_READINGS, Advice
from app.workflow.kinds import Unit
from app.workflow.words import Kind, listed

# A face further from its seat's angle than this is asked about: one degree is common.
ODD_FACE_APART_DEG = 2.0
RING_READ = "seat ring as read"
SEAT_CUT_ALONE = (
    "by the seat cut alone, as for a face at the seat's angle; with the valve head and the face "
    "angle the other cuts count too"
)
STEM_OVER = (
    "by these readings as much would come off the tip; the engine maker says how far a tip or a "
    "valve may go"
)
STEM_SHORT = (
    "by these readings the stem would stand below it, which no grinding mends: a deeper seat, or "
    "another valve"
)
SHIM = "by these readings a shim of as much would bring the spring to it"
NO_SHIM = "by these readings the spring would stand shorter than it already: no shim"
AS_WANTED = "by these readings just as wanted"


@dataclass(frozen=True, slots=True)
class RingEdges:
    """The seat ring that a land lies on, as it was read; None where nobody read it."""

    outside: Length | None
    inside: Length | None


@dataclass(frozen=True, slots=True)
class WidthWindow:
    """The shop's widths for one kind of valve, along the slope."""

    least: Length
    most: Length
    source: str


def size_words(length: Length, unit: Unit) -> str:
    """A size as it is said: no zeros behind what a seat is read to."""
    text = length.shown(unit.value)
    whole, _, part = text.partition(".")
    return f"{whole}.{part.rstrip('0').ljust(3 if unit is Unit.INCH else 2, '0')}"


def seat_words(
    *,
    kind: Kind,
    seat_angle_deg: float,
    top_angle_deg: float,
    throat_angle_deg: float,
    width: Length | None,
    outer: Length | None,
    unit: Unit,
) -> str:
    """``exhaust: 45°, top 30°, throat 60°, land .070 wide, outer edge 1.480``."""
    parts = [
        f"{shown_number(seat_angle_deg)}°",
        f"top {shown_number(top_angle_deg)}°",
        f"throat {shown_number(throat_angle_deg)}°",
    ]
    if width is not None:
        parts.append(f"land {size_words(width, unit)} wide")
    if outer is not None:
        parts.append(f"outer edge {size_words(outer, unit)}")
    return f"{kind.screen}: {', '.join(parts)}"


def odd_plan(
    *,
    kind: Kind,
    seat_angle_deg: float,
    valve_angle_deg: float | None,
    width: Length | None,
    window: WidthWindow,
    unit: Unit,
) -> str:
    """What to ask about before it is kept, or nothing: it may well be so."""
    odd = []
    if valve_angle_deg is not None and abs(valve_angle_deg - seat_angle_deg) > ODD_FACE_APART_DEG:
        apart = shown_number(abs(valve_angle_deg - seat_angle_deg))
        odd.append(f"the valve's face is {apart}° from its seat")
    if width is not None and not window.least <= width <= window.most:
        odd.append(
            f"a land {size_words(width, unit)} wide is outside the shop's widths for {kind.screen}"
            f" seats, {size_words(window.least, unit)} to {size_words(window.most, unit)}"
        )
    return f"Is it so? {listed(odd)[0].upper()}{listed(odd)[1:]}." if odd else ""


def ring_advice(
    whose: str, outer: Length, inner: Length, ring: RingEdges, unit: Unit
) -> list[Advice]:
    """Where a land leaves its seat ring, or reaches the ring's outside edge."""
    found = []
    if ring.outside is not None and outer >= ring.outside:
        reached = "reaches" if outer == ring.outside else "runs past"
        found.append(
            Advice(
                "ring_outside",
                f"The {whose} {reached} the seat ring's outside edge, which is "
                f"{size_words(ring.outside, unit)}: {BY_THESE_READINGS} the valve would sit on "
                "the joint of ring and head.",
                RING_READ,
            )
        )
    if ring.inside is not None and inner < ring.inside:
        found.append(
            Advice(
                "ring_inside",
                f"The {whose} would begin at {size_words(inner, unit)}, where the seat ring is "
                f"open: its inside is {size_words(ring.inside, unit)}, as read before it was "
                "pressed.",
                RING_READ,
            )
        )
    if (
        ring.outside is not None
        and ring.inside is not None
        and outer - inner > ring.outside - ring.inside
    ):
        found.append(
            Advice("wider_than_ring", f"The {whose} is wider than the seat ring.", RING_READ)
        )
    return found


def width_advice(*, width: Length, kind: Kind, window: WidthWindow, unit: Unit) -> list[Advice]:
    """A wanted width outside the shop's."""
    if window.least <= width <= window.most:
        return []
    side = "narrower" if width < window.least else "wider"
    does = (
        "a narrow land passes less heat from the valve"
        if width < window.least
        else "a wide land presses less and holds what lands on it"
    )
    return [
        Advice(
            "width_odd",
            f"The wanted land is {side} than the shop's {kind.screen} seats, "
            f"{size_words(window.least, unit)} to {size_words(window.most, unit)}: {does}. The "
            "engine maker's figure wins.",
            window.source,
        )
    ]


def contact_advice(
    *,
    contact: ValveContact,
    seat_angle_deg: float,
    face_angle_deg: float,
    clear: Length,
    clear_source: str,
    unit: Unit,
) -> list[Advice]:
    """Where the valve touches the wanted land, and how much face is left beside it."""
    found = [_touch(contact, seat_angle_deg, face_angle_deg)]
    outside, inside = contact.clear_outside, contact.clear_inside
    if outside.nm < 0:
        found.append(
            Advice(
                "past_the_edge",
                f"The wanted land reaches {size_words(-outside, unit)} past the valve's edge: the "
                "valve would rest on its edge, with no face left outside.",
                GEOMETRY,
            )
        )
    elif outside < clear:
        found.append(_little(outside, "the margin", clear, clear_source, unit))
    if inside is not None and inside.nm < 0:
        found.append(
            Advice(
                "past_the_face",
                f"The wanted land reaches {size_words(-inside, unit)} past the face toward the "
                "stem.",
                GEOMETRY,
            )
        )
    elif inside is not None and inside < clear:
        found.append(_little(inside, "the stem", clear, clear_source, unit))
    if contact.place is not None:
        found.append(
            Advice(
                "place",
                f"The middle of the contact lies {contact.place * 100:.0f} % of the way out "
                "across the face; from half way to a third further out is usual.",
                SEAT_HABIT.cited,
            )
        )
    return found


def no_contact(words: str) -> Advice:
    """Land and face that do not meet."""
    return Advice(
        "no_contact",
        f"{words} the valve's face and the land do not meet: look at the valve head and at the "
        "land's diameters.",
        GEOMETRY,
    )


def first(found: Sequence[Advice]) -> list[Advice]:
    """What is odd comes before what only describes."""
    describing = ("touch", "place")
    return sorted(found, key=lambda one: one.key in describing)


def _touch(contact: ValveContact, seat_angle_deg: float, face_angle_deg: float) -> Advice:
    apart = shown_number(abs(face_angle_deg - seat_angle_deg))
    words = {
        FirstTouch.WHOLE: "The face lies on the whole width that it shares with the land: both "
        "have one angle.",
        FirstTouch.OUTER_EDGE: f"The valve touches first at the land's outer edge: its face is "
        f"{apart}° flatter than the seat.",
        FirstTouch.INNER_EDGE: f"The valve touches first at the land's inner edge: its face is "
        f"{apart}° steeper than the seat.",
    }
    return Advice("touch", words[contact.first_touch], GEOMETRY)


def _little(left: Length, toward: str, clear: Length, source: str, unit: Unit) -> Advice:
    return Advice(
        "little_face",
        f"Only {size_words(left, unit)} of the face is left toward {toward}; the shop leaves "
        f"{size_words(clear, unit)}.",
        source,
    )

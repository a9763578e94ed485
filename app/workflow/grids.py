"""Grids of readings: which cells a page asks for, and what each is a reading of."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.calc.quantities import (
    ALLOWANCE,
    DIAMETER,
    GUIDE,
    HEIGHT,
    REACH,
    LengthRange,
)
from app.calc.units import Length
from app.workflow.kinds import Quantity

Q = Quantity

# Valve heads, stems and walls are not in a calculation's ranges: wide, from common sense.
_WALL = LengthRange(Length.of("0", "mm"), Length.of("60", "mm"))
# A guide's outside, and a thin sleeve's.
_NEW_GUIDE = LengthRange(Length.of("4", "mm"), Length.of("40", "mm"))
_SEAT_WIDTH = LengthRange(Length.of("0.2", "mm"), Length.of("8", "mm"))
# A gap under a straight edge: typed in the wrong unit it is far wider than this.
_FLATNESS = LengthRange(Length.of("0", "mm"), Length.of("2", "mm"))
# How deep a valve head lies below the deck; below nothing it stands proud of it.
_RECESSION = LengthRange(Length.of("-12", "mm"), Length.of("12", "mm"))
_STEM = LengthRange(Length.of("1", "mm"), Length.of("200", "mm"))

PLAUSIBLE: dict[Quantity, LengthRange] = {
    Q.RING_OD: DIAMETER,
    Q.RING_HEIGHT: HEIGHT,
    Q.RING_ID: DIAMETER,
    Q.STEM_HEIGHT: _STEM,
    Q.GUIDE_BORE: GUIDE,
    Q.GUIDE_ROCKING: ALLOWANCE,
    Q.GUIDE_LENGTH: REACH,
    Q.OVERHANG: REACH,
    Q.OLD_BORE: DIAMETER,
    Q.OLD_RUN_OUT: ALLOWANCE,
    Q.OLD_DEPTH: HEIGHT,
    Q.SEAT_OUTSIDE: DIAMETER,
    Q.VALVE_HEAD: DIAMETER,
    Q.CENTRE_DISTANCE: DIAMETER,
    Q.WALL: _WALL,
    Q.BORE: DIAMETER,
    Q.DEPTH: HEIGHT,
    Q.OD_CHECK: DIAMETER,
    Q.DOWN_HEIGHT: LengthRange(Length.of("-10", "mm"), Length.of("60", "mm")),
    Q.SEAT_WIDTH: _SEAT_WIDTH,
    Q.RUN_OUT: ALLOWANCE,
    Q.STEM_AFTER: _STEM,
    Q.PILOT_GUIDE_END: GUIDE,
    Q.PILOT_SHANK: GUIDE,
    Q.FIXTURE: LengthRange(Length.of("1", "mm"), Length.of("150", "mm")),
    Q.VALVE_MARGIN: LengthRange(Length.of("0", "mm"), Length.of("15", "mm")),
    Q.FACE_RUN_OUT: ALLOWANCE,
    Q.TIP_GROUND: LengthRange(Length.of("0", "mm"), Length.of("5", "mm")),
    Q.SPRING_HEIGHT: LengthRange(Length.of("10", "mm"), Length.of("150", "mm")),
    Q.SPRING_SHIM: LengthRange(Length.of("0", "mm"), Length.of("15", "mm")),
    Q.VALVE_LENGTH: LengthRange(Length.of("30", "mm"), Length.of("400", "mm")),
    Q.CONTACT_WIDTH: _SEAT_WIDTH,
    Q.CONTACT_FROM_EDGE: LengthRange(Length.of("0", "mm"), Length.of("15", "mm")),
    Q.FLATNESS: _FLATNESS,
    Q.STEM: GUIDE,
    Q.GUIDE_HOUSING: _NEW_GUIDE,
    Q.NEW_GUIDE: _NEW_GUIDE,
    Q.RECESSION: _RECESSION,
    Q.TOUCH_OFF: LengthRange(Length.of("0", "mm"), Length.of("300", "mm")),
}


# How a valve that stands proud of the deck is typed: an example in each unit.
PROUD = {"in": "-.020", "mm": "-0.50"}


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a grid: a quantity at a place."""

    quantity: Quantity
    place: str
    heading: str
    is_wanted: bool = True  # else: may stay empty
    is_signed: bool = False  # a keypad without a minus would not do


FIRST_RING = (
    *(Column(Q.RING_OD, str(n), "Outside diameter") for n in range(1, 5)),
    *(Column(Q.RING_HEIGHT, str(n), "Height") for n in range(1, 4)),
    Column(Q.RING_ID, "1", "Inside", is_wanted=False),
)
OTHER_RING = (
    *(Column(Q.RING_OD, str(n), "Outside diameter") for n in range(1, 3)),
    Column(Q.RING_HEIGHT, "1", "Height"),
)
# "More places": what the first ring is read at.
MORE_OF_A_RING = FIRST_RING

STEM_HEIGHTS = (Column(Q.STEM_HEIGHT, "1", "Stem height"),)
# As it came in with the stem heights, and after the seats were cut with their finish.
BELOW_DECK = (Column(Q.RECESSION, "1", "Below the deck", is_wanted=False, is_signed=True),)
GUIDE_BORES = (
    Column(Q.GUIDE_BORE, "top", "Top"),
    Column(Q.GUIDE_BORE, "middle", "Middle", is_wanted=False),
    Column(Q.GUIDE_BORE, "bottom", "Bottom", is_wanted=False),
)
# Both ways at each height, as one gauge goes down the guide.
GUIDE_BOTH_WAYS = tuple(
    replace(column, place=f"{column.place}{way}", heading=f"{column.heading}{words}")
    for column in GUIDE_BORES
    for way, words in (("", ""), ("-along", ", along"))
)
VALVE_STEM = (Column(Q.STEM, "1", "Stem", is_wanted=False),)
NEW_GUIDE = (
    Column(Q.DOWN_HEIGHT, "before", "Height, old guide", is_wanted=False),
    Column(Q.GUIDE_HOUSING, "across", "Bore in the head"),
    Column(Q.GUIDE_HOUSING, "along", "Bore, along", is_wanted=False),
    Column(Q.NEW_GUIDE, "1", "Outside"),
    Column(Q.NEW_GUIDE, "2", "Outside, again", is_wanted=False),
    Column(Q.DOWN_HEIGHT, "1", "Height as pressed", is_wanted=False),
)
GUIDE_ROCKING = (Column(Q.GUIDE_ROCKING, "1", "By rocking"),)
OLD_POCKETS = (
    Column(Q.OLD_BORE, "across", "Old bore, across"),
    Column(Q.OLD_BORE, "along", "Old bore, along", is_wanted=False),
    Column(Q.OLD_RUN_OUT, "1", "Run-out"),
    Column(Q.OLD_DEPTH, "1", "Old depth"),
)
SEATS_IN_CASTING = (
    Column(Q.SEAT_OUTSIDE, "1", "Old seat's outside", is_wanted=False),
    Column(Q.VALVE_HEAD, "1", "Valve head", is_wanted=False),
)
WALL_AND_WEB = (
    Column(Q.WALL, "1", "Wall to the jacket", is_wanted=False),
    Column(Q.CENTRE_DISTANCE, "1", "Centres to the next", is_wanted=False),
)
# What turns a pilot's clearance into run-out at the cut.
PILOT_REACH = (
    Column(Q.GUIDE_LENGTH, "1", "Guide length", is_wanted=False),
    Column(Q.OVERHANG, "1", "Guide's end to the cut", is_wanted=False),
)
BORE = (
    Column(Q.BORE, "across", "Across the head"),
    Column(Q.BORE, "along", "Along the head"),
    Column(Q.DEPTH, "1", "Depth"),
)
# More heights, on demand: each is a run of its own, from the mouth down.
LOWER_BORE = (
    Column(Q.BORE, "across-middle", "Across, half way down", is_wanted=False),
    Column(Q.BORE, "along-middle", "Along, half way down", is_wanted=False),
    Column(Q.BORE, "across-floor", "Across, near the floor", is_wanted=False),
    Column(Q.BORE, "along-floor", "Along, near the floor", is_wanted=False),
)
BORE_HEIGHTS = (
    ("across", "along"),
    ("across-middle", "along-middle"),
    ("across-floor", "along-floor"),
)
RING_DOWN = tuple(Column(Q.DOWN_HEIGHT, str(n), "Height", is_wanted=False) for n in range(1, 5))
FINISH = (
    Column(Q.SEAT_WIDTH, "1", "Seat width"),
    Column(Q.RUN_OUT, "1", "Run-out"),
    Column(Q.STEM_AFTER, "1", "Stem height after"),
)
VALVES = (
    Column(Q.VALVE_MARGIN, "1", "Margin", is_wanted=False),
    Column(Q.FACE_RUN_OUT, "1", "Face run-out", is_wanted=False),
    Column(Q.VALVE_LENGTH, "1", "Length", is_wanted=False),
    Column(Q.TIP_GROUND, "1", "Off the tip", is_wanted=False),
    Column(Q.SPRING_HEIGHT, "1", "Spring height", is_wanted=False),
    Column(Q.SPRING_SHIM, "1", "Shims", is_wanted=False),
)
VALVE_CONTACT = (
    Column(Q.CONTACT_WIDTH, "1", "Contact width", is_wanted=False),
    Column(Q.CONTACT_FROM_EDGE, "1", "From the valve's edge", is_wanted=False),
)
# What the book says of a head's valves and springs, one figure for each kind of valve.
OF_THE_BOOK = (
    Column(Q.SPRING_HEIGHT, "intake", "Book height, intake", is_wanted=False),
    Column(Q.SPRING_HEIGHT, "exhaust", "Book height, exhaust", is_wanted=False),
    Column(Q.VALVE_LENGTH, "intake", "Least length, intake", is_wanted=False),
    Column(Q.VALVE_LENGTH, "exhaust", "Least length, exhaust", is_wanted=False),
)

"""Depth of the counterbore, where it is measured from, and where the spindle's stop goes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from app.calc.errors import ImpossibleError, MissingError, OrderError
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY, GIVEN, MEASURED
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

DEPTH = Calculation("depth", 1)
STOP = Calculation("depth-stop", 1)
FLOOR = Calculation("old-floor", 1)
CORNER = Calculation("corner", 1)


class Datum(Enum):
    """What a depth is measured from; a required choice, since each gives another depth."""

    DECK = "deck"
    CHAMBER_ROOF = "chamber_roof"
    OLD_LIP = "old_lip"
    OLD_FLOOR = "old_floor"

    @property
    def words(self) -> str:
        """As the page says it."""
        return {
            Datum.DECK: "the deck",
            Datum.CHAMBER_ROOF: "the chamber roof beside the seat",
            Datum.OLD_LIP: "the old lip",
            Datum.OLD_FLOOR: "the old floor",
        }[self]


@dataclass(frozen=True, kw_only=True)
class Depth(Result):
    """How deep the counterbore is to be, below its own rim's datum."""

    depth_nm: Fraction
    depth: Length


@dataclass(frozen=True, kw_only=True)
class DepthStop(Result):
    """Where the stop goes, and whether the spindle reaches it with its allowance."""

    stop: Length
    travel: Length
    travel_left: Length
    spare: Length
    reaches: bool


@dataclass(frozen=True, kw_only=True)
class FloorCheck(Result):
    """Whether the new floor goes below the deepest old one, and by how much."""

    spare: Length
    cleans_up: bool


@dataclass(frozen=True, kw_only=True)
class CornerCheck(Result):
    """Whether the ring's lead chamfer clears the corner that the tool leaves."""

    spare: Length
    clears: bool


def counterbore_depth(
    *,
    ring_height_nm: Fraction | int,
    protrusion: Length,
    deck_stock: Length,
    datum: Datum | None,
    unit: str = "in",
) -> Depth:
    """Depth for a measured ring height.

    H = h − protrusion + deck stock; the last only when depth is measured from the deck, which a
    later facing will lower

    Parameters
    ----------
    ring_height_nm : Fraction or int
        h, mean ring height, exact [nm]
    protrusion : Length
        how far the ring is to stand proud of the datum; negative when recessed [nm]
    deck_stock : Length
        metal that will still come off the deck, 0 or more [nm]
    datum : Datum
        what the depth is measured from, or None when the asker keeps that to himself [-]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    Depth
        nearest nanometre, ties to even

    Raises
    ------
    OrderError
        field ``deck_stock`` when it is negative, or when the datum is not the deck.
    ImpossibleError
        field ``protrusion`` when the ring would stand proud by its whole height.

    >>> counterbore_depth(ring_height_nm=Length.of(".2500").nm, protrusion=Length(0),
    ...                   deck_stock=Length.of(".008"), datum=Datum.DECK).depth.inches(4)
    '.2580'
    """
    if deck_stock.nm < 0:
        raise OrderError("deck_stock", "cannot be negative")
    if deck_stock and datum is not Datum.DECK:
        raise OrderError("deck_stock", "counts only when depth is measured from the deck")
    depth = Fraction(ring_height_nm) - protrusion.nm + deck_stock.nm
    if depth <= 0:
        raise ImpossibleError("protrusion", "leaves no depth: the ring would stand on the face")
    stands = "ring recessed by"
    if protrusion.nm >= 0:
        stands = "ring proud by" if protrusion else "ring flush"
    sign = -1 if protrusion.nm >= 0 else 1
    parts: list[tuple[int, Fraction | int]] = [
        (1, Fraction(ring_height_nm)),
        (sign, abs(protrusion.nm)),
        (1, deck_stock.nm),
    ]
    shown = shown_sum(parts=parts, unit=unit, inch_places=4, mm_places=3)
    return Depth(
        calculation=DEPTH,
        inputs={
            "ring_height_nm": Fraction(ring_height_nm),
            "protrusion": protrusion,
            "deck_stock": deck_stock,
            "datum": datum,
        },
        depth_nm=depth,
        depth=Length.nearest(depth),
        working=(
            Step("h", "ring height", shown.parts[0], unit, MEASURED),
            Step("p", f"{'−' if sign < 0 else '+'} {stands}", shown.parts[1], unit, GIVEN),
            Step("s", "+ stock still to come off the deck", shown.parts[2], unit, GIVEN),
            Step(
                "H",
                f"depth from {datum.words}" if datum else "depth",
                shown.total,
                unit,
                GEOMETRY,
                is_total=True,
            ),
        ),
    )


def depth_stop(
    *,
    depth: Length,
    datum: Datum,
    old_floor: Length | None,
    touch_off: Length,
    scale_rises: bool,
    travel_left: Length,
    allowance: Length,
    unit: str = "in",
) -> DepthStop:
    """Where the stop goes after touching off on the datum.

    travel = H, or H − old floor when touched off on the old floor; stop = touch-off ± travel;
    it reaches when the travel left > travel + allowance

    Parameters
    ----------
    depth : Length
        H, depth of the counterbore [nm]
    datum : Datum
        where the tool was touched off [-]
    old_floor : Length
        depth of the old floor from the face that H counts from; only for that datum, else None
        [nm]
    touch_off : Length
        the scale's reading with the tool on the datum [nm]
    scale_rises : bool
        whether the scale's figures rise as the spindle goes down [-]
    travel_left : Length
        travel that the spindle has left from there [nm]
    allowance : Length
        travel to keep beyond the floor [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    DepthStop
        exact; ``spare`` is the travel that remains beyond floor and allowance

    Raises
    ------
    MissingError
        field ``old_floor`` when touched off there and its depth was not given.
    OrderError
        field ``old_floor`` when it is as deep as the counterbore is to be.

    >>> short = depth_stop(depth=Length.of(".250"), datum=Datum.CHAMBER_ROOF, old_floor=None,
    ...     touch_off=Length.of(".300"), scale_rises=True, travel_left=Length.of(".200"),
    ...     allowance=Length.of(".040"))
    >>> short.stop.inches(3), short.reaches
    ('.550', False)
    """
    travel = depth
    if datum is Datum.OLD_FLOOR:
        if old_floor is None:
            raise MissingError("old_floor", "is needed: its depth, when touched off on it")
        travel = depth - old_floor
        if travel.nm <= 0:
            raise OrderError("old_floor", "is already as deep as the counterbore is to be")
    stop = touch_off + travel if scale_rises else touch_off - travel
    spare = travel_left - travel - allowance
    reaches = spare.nm > 0
    at = shown_sum(
        parts=[(1, touch_off.nm), (1 if scale_rises else -1, travel.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
    )
    left = shown_sum(
        parts=[(1, travel_left.nm), (-1, travel.nm), (-1, allowance.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
        limits=[0],
    )
    outcome = "reaches" if reaches else "runs out of travel"
    return DepthStop(
        calculation=STOP,
        inputs={
            "depth": depth,
            "datum": datum,
            "old_floor": old_floor,
            "touch_off": touch_off,
            "scale_rises": scale_rises,
            "travel_left": travel_left,
            "allowance": allowance,
        },
        stop=stop,
        travel=travel,
        travel_left=travel_left,
        spare=spare,
        reaches=reaches,
        working=(
            *_from_old_floor(depth, old_floor, travel, datum, unit),
            Step("Z", f"touched off on {datum.words}", at.parts[0], unit, MEASURED),
            Step("T", f"{'+' if scale_rises else '−'} travel", at.parts[1], unit, GEOMETRY),
            Step("stop", "depth stop", at.total, unit, "touch-off ± travel", is_total=True),
            Step("", "travel left at touch-off", left.parts[0], unit, MEASURED),
            Step("", "− travel", left.parts[1], unit, GEOMETRY),
            Step("", "− allowance", left.parts[2], unit, GIVEN),
            Step("", f"beyond it: {outcome}", left.total, unit, GEOMETRY, is_total=True),
        ),
    )


def _from_old_floor(
    depth: Length, old_floor: Length | None, travel: Length, datum: Datum, unit: str
) -> tuple[Step, ...]:
    if datum is not Datum.OLD_FLOOR or old_floor is None:
        return ()
    shown = shown_sum(
        parts=[(1, depth.nm), (-1, old_floor.nm)], unit=unit, inch_places=4, mm_places=3
    )
    return (
        Step("H", "depth of the counterbore", shown.parts[0], unit, GEOMETRY),
        Step("F", "− depth of the old floor", shown.parts[1], unit, MEASURED),
        Step("T", "travel from the old floor", shown.total, unit, "H − F", is_total=True),
    )


def floor_check(
    *, depth: Length, deepest_old_floor: Length, clean_up: Length, unit: str = "in"
) -> FloorCheck:
    """Whether the new floor takes away all of the old one; if not, someone must decide.

    spare = H − (deepest old floor + clean-up); it cleans up when spare ≥ 0

    Parameters
    ----------
    depth : Length
        H, depth of the counterbore [nm]
    deepest_old_floor : Length
        deepest reading of the old floor, from the same datum [nm]
    clean_up : Length
        metal to take off the old floor, 0 or more [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    FloorCheck
        exact

    >>> floor_check(depth=Length.of(".250"), deepest_old_floor=Length.of(".252"),
    ...             clean_up=Length.of(".002")).spare.inches(3)
    '-.004'
    """
    spare = depth - deepest_old_floor - clean_up
    cleans = spare.nm >= 0
    shown = shown_sum(
        parts=[(1, depth.nm), (-1, deepest_old_floor.nm), (-1, clean_up.nm)],
        unit=unit,
        inch_places=4,
        mm_places=3,
        limits=[0],
    )
    outcome = "floor cleans up" if cleans else "the old floor stays lower"
    return FloorCheck(
        calculation=FLOOR,
        inputs={
            "depth": depth,
            "deepest_old_floor": deepest_old_floor,
            "clean_up": clean_up,
        },
        spare=spare,
        cleans_up=cleans,
        working=(
            Step("H", "depth of the counterbore", shown.parts[0], unit, GEOMETRY),
            Step("F", "− deepest old floor", shown.parts[1], unit, MEASURED),
            Step("t", "− clean-up", shown.parts[2], unit, GIVEN),
            Step("", f"below the old floor: {outcome}", shown.total, unit, GEOMETRY, is_total=True),
        ),
    )


def corner_check(*, ring_chamfer: Length, corner_radius: Length, unit: str = "in") -> CornerCheck:
    """Whether the ring goes down to the floor instead of riding on the corner's fillet.

    clears when the lead chamfer's leg ≥ the tool's corner radius

    Parameters
    ----------
    ring_chamfer : Length
        leg of the ring's lead chamfer [nm]
    corner_radius : Length
        radius of the tool's corner [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    CornerCheck
        exact

    >>> corner_check(ring_chamfer=Length.of(".012"), corner_radius=Length.of(".015")).clears
    False
    """
    spare = ring_chamfer - corner_radius
    clears = spare.nm >= 0
    outcome = "clears the corner" if clears else "rides on the corner"
    return CornerCheck(
        calculation=CORNER,
        inputs={"ring_chamfer": ring_chamfer, "corner_radius": corner_radius},
        spare=spare,
        clears=clears,
        working=(
            Step("c", "lead chamfer", shown_nm(ring_chamfer.nm, unit), unit, MEASURED),
            Step("r", "− tool's corner radius", shown_nm(corner_radius.nm, unit), unit, MEASURED),
            Step("c − r", outcome, shown_nm(spare.nm, unit), unit, GEOMETRY, is_total=True),
        ),
    )

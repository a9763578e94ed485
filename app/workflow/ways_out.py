"""The ways out of a hold, side by side: what each would need and what is not known."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.units import Length
from app.workflow.kinds import HoldReason, Unit
from app.workflow.permissions import Verb
from app.workflow.verdicts import depth_shown, fit_shown, limit_shown
from app.workflow.words import Way, listed

LEAST_CUT = Length.of(".0010")  # on diameter; common practice, a shop rule


@dataclass(frozen=True, slots=True)
class RingChoice:
    """A ring that is free to be used: its mean OD and height where they were read."""

    tag: str
    od: Length | None = None
    height: Length | None = None


@dataclass(frozen=True, slots=True)
class HoldSituation:
    """What is known of a position on hold; what is None was not measured or does not stand."""

    reason: HoldReason
    unit: Unit
    bore: Length | None = None  # mean of the bore as it is now
    ring_od: Length | None = None  # mean of the ring that was meant for it
    least: Length | None = None  # interference window and aim
    aim: Length | None = None
    most: Length | None = None
    depth: Length | None = None  # as it is now
    depth_wanted: Length | None = None
    set_rings: tuple[RingChoice, ...] = ()  # the other free rings of its set
    shelf_rings: tuple[RingChoice, ...] = ()  # free rings of other sets that might do
    wall: str = ""  # as told, or empty where it is not known
    web: str = ""
    beside: tuple[str, ...] = ()  # neighbours that have or get a counterbore
    ring_is_in: bool = False
    is_aluminium: bool = False  # welding draws the temper of the casting around
    least_cut: Length = LEAST_CUT


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way: whether it is open, what it would take, and what is not known."""

    way: Way
    is_open: bool
    told: str
    needs: tuple[str, ...] = ()
    not_known: tuple[str, ...] = ()
    # A way opens the next pass, is signed as a deviation, or neither (read again, ask, scrap).
    opens_next_pass: bool = False
    is_deviation: bool = False
    # Where the next pass would be aimed, for a cut with the ring that was meant.
    next_bore: Length | None = None
    rings: tuple[str, ...] = ()


def ways_out(hold: HoldSituation) -> tuple[WayOut, ...]:
    """Every way, always in the same order and none put forward; a closed one says why."""
    return (
        _cut_again(hold),
        _another_ring(hold),
        _larger_ring(hold),
        _read_again(hold),
        _weld(hold),
        _deviation(hold),
        _stop_and_ask(),
        _scrap(),
    )


def way_out(hold: HoldSituation, way: Way) -> WayOut:
    """One of them: a service refuses a way that is not open."""
    return next(each for each in ways_out(hold) if each.way is way)


def beyond(hold: HoldSituation) -> Length | None:
    """How far interference lies outside its window, for a hold on size; None where none is known.

    A depth, a shape or a change of figures has no window to measure a deviation by.
    """
    if hold.bore is None or hold.ring_od is None or hold.least is None or hold.most is None:
        return None
    if hold.reason not in (HoldReason.LOOSE, HoldReason.TIGHT, HoldReason.NOT_PROVED):
        return None
    found = hold.ring_od - hold.bore
    return max(hold.least - found, found - hold.most, Length(0))


def deviation_verb(hold: HoldSituation, limit: Length) -> Verb:
    """The permission that a deviation takes; past the shop's limit, or unmeasured, an owner's."""
    outside = beyond(hold)
    within = outside is not None and outside <= limit
    return Verb.SIGN_DEVIATION if within else Verb.DEVIATE_PAST_LIMIT


# Reasons that lie in the bore's shape: the ring would follow it, so the bore itself must change.
_SHAPE = frozenset({HoldReason.OUT_OF_ROUND, HoldReason.TAPER})


def _cut_again(hold: HoldSituation) -> WayOut:
    way = Way.CUT_AGAIN
    if hold.ring_is_in:
        return WayOut(way, False, "The ring is in; it would have to come out first.")
    if hold.reason is HoldReason.DEEP:
        return WayOut(way, False, "It is too deep already.")
    if hold.reason is HoldReason.SHALLOW:
        return _cut_deeper(hold)
    left = _left_to_cut(hold)
    if left is None:
        return WayOut(
            way,
            False,
            "Not to be judged until bore and ring are read.",
            not_known=_unread(hold),
        )
    bore, ring_od, to_aim, at_most = left
    if at_most < hold.least_cut:
        room = f"Only {fit_shown(at_most, hold.unit)}" if at_most.nm > 0 else "Nothing"
        least = limit_shown(hold.least_cut, hold.unit)
        return WayOut(way, False, f"{room} is left to cut for this ring; a cut needs {least}.")
    # To the aim; where that is less than can be cut, as little as can be: still inside.
    by = max(to_aim, hold.least_cut)
    next_bore = bore + by
    gives = ring_od - next_bore
    return WayOut(
        way,
        True,
        f"Cut {fit_shown(by, hold.unit)} on diameter, to {fit_shown(next_bore, hold.unit)}: "
        f"this ring would be gripped by {fit_shown(gives, hold.unit)}.",
        needs=("the cutter set again, for this position only", "bore and depth gauged again"),
        not_known=_metal_not_known(hold),
        opens_next_pass=True,
        next_bore=next_bore,
    )


def _cut_deeper(hold: HoldSituation) -> WayOut:
    if hold.depth is None or hold.depth_wanted is None:
        return WayOut(
            Way.CUT_AGAIN, False, "Not to be judged until depth is read.", not_known=("depth",)
        )
    by = depth_shown(hold.depth_wanted - hold.depth, hold.unit)
    return WayOut(
        Way.CUT_AGAIN,
        True,
        f"Cut {by} deeper at the same size.",
        needs=("the depth stop set again", "bore and depth gauged again"),
        not_known=_metal_not_known(hold),
        opens_next_pass=True,
        next_bore=hold.bore,
    )


def _another_ring(hold: HoldSituation) -> WayOut:
    way = Way.ANOTHER_RING
    if hold.reason in _SHAPE:
        return WayOut(way, False, "The bore's shape stays the same with any ring of its size.")
    if not hold.set_rings:
        return WayOut(way, False, "No other ring of the set is free.")
    if hold.reason in (HoldReason.DEEP, HoldReason.SHALLOW):
        return _ring_of_another_height(hold)
    if hold.bore is None or hold.least is None or hold.most is None:
        return WayOut(
            way, False, "Not to be judged until the bore is read.", not_known=_unread(hold)
        )
    fits = []
    for ring in hold.set_rings:
        if ring.od is not None and hold.least <= ring.od - hold.bore <= hold.most:
            fits.append(f"{ring.tag} ({fit_shown(ring.od - hold.bore, hold.unit)})")
    unread = tuple(ring.tag for ring in hold.set_rings if ring.od is None)
    not_known = (f"outside diameter of {listed(unread)}",) if unread else ()
    if fits:
        return WayOut(
            way,
            True,
            f"In this bore would be inside the window: {listed(fits)}.",
            needs=("that ring read again before it goes in", "rings tagged, so that none is mixed"),
            not_known=not_known,
            opens_next_pass=True,
            rings=tuple(
                ring.tag
                for ring in hold.set_rings
                if ring.od is not None and hold.least <= ring.od - hold.bore <= hold.most
            ),
        )
    low = fit_shown(hold.bore + hold.least, hold.unit)
    high = fit_shown(hold.bore + hold.most, hold.unit)
    read = "No ring of the set that was read" if unread else "No ring of the set"
    return WayOut(way, False, f"{read} measures {low} to {high}.", not_known=not_known)


def _ring_of_another_height(hold: HoldSituation) -> WayOut:
    word = "higher" if hold.reason is HoldReason.DEEP else "lower"
    if hold.depth is None or hold.depth_wanted is None:
        return WayOut(
            Way.ANOTHER_RING, False, "Not to be judged until depth is read.", not_known=("depth",)
        )
    by = depth_shown(abs(hold.depth - hold.depth_wanted), hold.unit)
    unread = tuple(ring.tag for ring in hold.set_rings if ring.height is None)
    return WayOut(
        Way.ANOTHER_RING,
        True,
        f"A ring about {by} {word} would stand right at this depth.",
        needs=("its height read, and its outside diameter against this bore",),
        not_known=(f"height of {listed(unread)}",) if unread else (),
        opens_next_pass=True,
        rings=tuple(ring.tag for ring in hold.set_rings),
    )


def _larger_ring(hold: HoldSituation) -> WayOut:
    way = Way.LARGER_RING
    needs = ("the ring measured first", "the cutter set again", "consent, should the price change")
    if hold.bore is None or hold.aim is None:
        return WayOut(
            way,
            True,
            "How large is not to be said until the bore is read.",
            needs=needs,
            not_known=(*_unread(hold), *_metal_not_known(hold)),
            opens_next_pass=True,
        )
    bore = hold.bore + hold.least_cut
    least_od = bore + hold.aim
    larger = [ring for ring in hold.shelf_rings if ring.od is not None and ring.od >= least_od]
    larger.sort(key=lambda ring: ring.od or least_od)
    shelf = f" On the shelf: {listed([ring.tag for ring in larger])}." if larger else ""
    return WayOut(
        way,
        True,
        f"Would need a ring of about {fit_shown(least_od, hold.unit)} or more, in a bore of "
        f"about {fit_shown(bore, hold.unit)} or more; measure it first.{shelf}",
        needs=needs,
        not_known=_metal_not_known(hold),
        opens_next_pass=True,
        rings=tuple(ring.tag for ring in larger),
    )


def _read_again(hold: HoldSituation) -> WayOut:
    what = "what changed" if hold.reason is HoldReason.CHANGED else "bore and depth"
    return WayOut(
        Way.READ_AGAIN,
        True,
        f"Read {what} again, cold, with another instrument where there is one; a slip is struck "
        "with a reason.",
        needs=("the gauge zeroed again",),
        not_known=("whether a reading slipped",),
    )


def _weld(hold: HoldSituation) -> WayOut:
    tests = "crack and pressure test again"
    if hold.is_aluminium:
        tests += ", and hardness"
    return WayOut(
        Way.WELD,
        True,
        "Weld the pocket up and bore it again.",
        needs=("a welder", "consent", tests),
        not_known=("how the casting takes it", *_metal_not_known(hold)),
        opens_next_pass=True,
    )


def _deviation(hold: HoldSituation) -> WayOut:
    return WayOut(
        Way.DEVIATION,
        True,
        "Keep it as it is and sign for it.",
        needs=(
            "value and limit in writing",
            "a reason",
            "who decided; past a limit that is the owner",
            "whether the customer was told",
        ),
        not_known=("how it will hold in service",),
        is_deviation=True,
    )


def _stop_and_ask() -> WayOut:
    return WayOut(
        Way.STOP_AND_ASK,
        True,
        "Stop here and ask the customer or the owner; the position stays on hold.",
        needs=("who was asked, and when",),
    )


def _scrap() -> WayOut:
    return WayOut(
        Way.SCRAP,
        True,
        "Give the head up.",
        needs=("the customer told", "what came with it counted back"),
        not_known=("whether another head can be had",),
    )


def _left_to_cut(hold: HoldSituation) -> tuple[Length, Length, Length, Length] | None:
    """Bore, ring, what may be cut up to the aim, and what may be cut at most."""
    if hold.bore is None or hold.ring_od is None or hold.aim is None or hold.least is None:
        return None
    return (
        hold.bore,
        hold.ring_od,
        hold.ring_od - hold.aim - hold.bore,
        hold.ring_od - hold.least - hold.bore,
    )


def _unread(hold: HoldSituation) -> tuple[str, ...]:
    return tuple(
        name
        for name, value in (("bore", hold.bore), ("ring outside diameter", hold.ring_od))
        if value is None
    )


def _metal_not_known(hold: HoldSituation) -> tuple[str, ...]:
    unknown = []
    if not hold.wall:
        unknown.append("wall behind the bore")
    if not hold.web:
        unknown.append(f"web to {listed(hold.beside)}" if hold.beside else "web")
    return tuple(unknown)

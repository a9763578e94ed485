"""What each gate asks, line by line; a changed table is a new version beside the old one."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.workflow.facts import HeadFacts, Point, PointState, PortFacts
from app.workflow.guide_outcomes import outcome_of
from app.workflow.kinds import CustomerKind, Verdict
from app.workflow.layout import neighbours
from app.workflow.permissions import Verb
from app.workflow.requirements import Closing, Gate, OfHead, OfPort, Requirement
from app.workflow.words import (
    HeatHistory,
    InspectionKind,
    InspectionWay,
    Material,
    Page,
    SeatNow,
    Stage,
    Work,
    listed,
    money,
)

GATE_VERSION = 1

_CUTS_METAL = frozenset({Work.RING, Work.SEAT_ONLY})
_IS_WORKED_ON = frozenset({Work.RING, Work.SEAT_ONLY, Work.GUIDE_ONLY})


# When a line applies


def _is_first_metal_of_a_customer(head: HeadFacts) -> bool:
    # Asked before the first metal and before hand-over, never between: a half-cut head must not
    # be stranded by a price that grew.
    return head.customer_kind is not CustomerKind.SHOP_STOCK and not head.metal_off


def _may_have_gone_soft(head: HeadFacts) -> bool:
    return head.material is Material.ALUMINIUM and head.heat_history is not HeatHistory.NONE_KNOWN


def _or_goes_on(head: HeadFacts, found: Point, kind: InspectionKind) -> Point:
    """A test that failed is closed by the word, given after it, that the head goes on and why."""
    is_decided = head.way is InspectionWay.GO_ON and kind.value in head.way_knew
    if found.state is not PointState.NOT_OK or not (is_decided and head.way_because):
        return found
    told = f"not OK: {found.told}" if found.told else "not OK"
    return Point.closed(f"{told}; goes on, because {head.way_because}")


def _cuts_metal(head: HeadFacts, port: PortFacts) -> bool:
    return port.work in _CUTS_METAL


def _gets_a_ring(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING


def _is_worked_on(head: HeadFacts, port: PortFacts) -> bool:
    return port.work in _IS_WORKED_ON


def _has_its_ring(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING and port.ring_in.is_closed_by_value


def _goes_over(port: PortFacts) -> bool:
    # A seat in the casting has no pocket: any counterbore goes over it. What is not known yet may.
    return port.seat_now is SeatNow.CASTING or port.goes_over_old_pocket is not False


def _is_beside_a_new_ring(head: HeadFacts, port: PortFacts) -> bool:
    return any(
        head.port(each.position.label).work is Work.RING
        for each in neighbours(head.positions, port.position)
    )


def _thins_the_wall(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING and (_goes_over(port) or _is_beside_a_new_ring(head, port))


def _was_bored(head: HeadFacts) -> bool:
    return any(port.work is Work.RING or port.cut.is_closed_by_value for port in head.ports)


def _had_an_old_ring(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING and port.seat_now is not SeatNow.CASTING


# How a point stands


def _known(value: object, told: str) -> Point:
    return Point.closed(told) if value else Point.open()


def _layout(head: HeadFacts) -> Point:
    if not head.layout or not head.ports:
        return Point.open()
    if not head.numbered_from:
        return Point.open("from which end the cylinders are numbered")
    return Point.closed(f"{head.layout} from the {head.numbered_from}")


def _work(head: HeadFacts) -> Point:
    undecided = [port.label for port in head.ports if port.work is Work.UNDECIDED]
    if not head.ports:
        return Point.open()
    return Point.open(f"undecided: {listed(undecided)}") if undecided else Point.closed("decided")


def _consent(head: HeadFacts) -> Point:
    consent = head.consent
    if not consent.given:
        return Point.open("none recorded")
    if consent.limit is not None and consent.more:
        return Point.open(
            f"agreed up to {money(consent.limit)}, the price lines come to {money(consent.total)}"
        )
    return Point.closed(consent.told or "given")


def _guide(head: HeadFacts, port: PortFacts) -> Point:
    if port.guide_fit.told and not port.guide_fit.is_closed_by_value:
        return port.guide_fit
    if port.guide_decision is None:
        return Point.open("serviced or left as it is?")
    if not port.guide_fit.is_closed_by_value:
        return Point.open("its bore or the pilot's fit")
    said = outcome_of(port.guide_decision, port.guide_how)
    return Point.closed(f"{said.screen}, {port.guide_fit.told}")


def _verdict(head: HeadFacts, port: PortFacts) -> Point:
    if port.verdict is None:
        return Point.open()
    if port.verdict in (Verdict.LOOSE, Verdict.TIGHT) and not port.deviation:
        return Point.open(f"{port.verdict.screen}, and no deviation is signed")
    return Point.closed(port.deviation or port.verdict.screen)


def _hold(head: HeadFacts, port: PortFacts) -> Point:
    if port.hold is None:
        return Point.closed("none")
    return Point.open(port.hold.told or port.hold.reason.screen)


def _standing(head: HeadFacts, port: PortFacts) -> Point:
    if port.no_longer_stands:
        return Point.open(listed([each.screen for each in port.no_longer_stands]))
    return Point.closed("all stand")


def _signed(head: HeadFacts, port: PortFacts) -> Point:
    if port.hold is not None:
        return Point.open("on hold")
    if port.no_longer_stands:
        stale = listed([each.screen for each in port.no_longer_stands])
        return Point.open(f"no longer stands: {stale}")
    return port.signed


def _counted_in(head: HeadFacts) -> Point:
    if head.pieces_in is None:
        return Point.open()
    return Point.closed(f"{head.pieces_in} pieces" if head.pieces_in else "nothing came with it")


_METAL, _RING, _OUT = Gate.METAL_OFF, Gate.RING_IN, Gate.HAND_OVER

_INTAKE = Closing(Page.INTAKE, Verb.TAKE_IN, Stage.INTAKE)
_LAYOUT = Closing(Page.LAYOUT, Verb.TAKE_IN, Stage.INTAKE)
_WORK = Closing(Page.POSITIONS, Verb.DECIDE_WORK, Stage.INTAKE)
_CONSENT = Closing(Page.CONSENT, Verb.RECORD_CONSENT, Stage.INTAKE)
_INSPECT = Closing(Page.INSPECTIONS, Verb.INSPECT, Stage.MEASURE)
_GUIDES = Closing(Page.GUIDES, Verb.RECORD_READING, Stage.MEASURE)
_STEM_HEIGHTS = Closing(Page.STEM_HEIGHTS, Verb.RECORD_READING, Stage.MEASURE)
_POCKETS = Closing(Page.POCKETS, Verb.RECORD_READING, Stage.MEASURE)
_GAUGE = Closing(Page.CUT, Verb.RECORD_READING, Stage.CUT)
_PROVE = Closing(Page.CUT, Verb.CUT, Stage.VERIFY)
_IN_HAND = Closing(Page.RING_IN, Verb.RECORD_READING, Stage.VERIFY)
_HOLD = Closing(Page.HOLD, Verb.RELEASE_HOLD, Stage.VERIFY)
_CONSENT_AGAIN = Closing(Page.CONSENT, Verb.RECORD_CONSENT, Stage.VERIFY)
_PRESS = Closing(Page.RING_IN, Verb.PRESS_RING, Stage.VERIFY)
_COOL = Closing(Page.HEAT, Verb.PRESS_RING, Stage.VERIFY)
_FINISH = Closing(Page.FINISH, Verb.FINISH_SEAT, Stage.VERIFY)
_INSPECT_AFTER = Closing(Page.INSPECTIONS, Verb.INSPECT, Stage.VERIFY)
_SIGNATURE = Closing(Page.SIGNATURE, Verb.SIGN, Stage.VERIFY)
_COUNT_OUT = Closing(Page.PARTS_OUT, Verb.RECORD_RECEIVED, Stage.VERIFY)
_COUNT_IN = Closing(Page.RECEIVED, Verb.RECORD_RECEIVED, Stage.INTAKE)

_VERSION_1: tuple[Requirement, ...] = (
    # Before metal comes off
    OfHead(
        "identity",
        _METAL,
        "casting number, photo or “none found”",
        _INTAKE,
        point=lambda head: head.identity,
    ),
    OfHead(
        "material",
        _METAL,
        "head material",
        _INTAKE,
        point=lambda head: _known(head.material, head.material.screen if head.material else ""),
    ),
    OfHead(
        "unit",
        _METAL,
        "unit",
        _INTAKE,
        point=lambda head: _known(head.unit, head.unit.screen if head.unit else ""),
    ),
    OfHead(
        "layout", _METAL, "valve layout with the end it is numbered from", _LAYOUT, point=_layout
    ),
    OfHead("work", _METAL, "work of each position", _WORK, point=_work),
    OfHead(
        "consent",
        _METAL,
        "consent that covers the work",
        _CONSENT,
        applies=_is_first_metal_of_a_customer,
        point=_consent,
    ),
    OfHead(
        "crack_test",
        _METAL,
        "crack test",
        _INSPECT,
        may_be_not_done=True,
        point=lambda head: _or_goes_on(head, head.crack_test, InspectionKind.CRACK),
    ),
    OfHead(
        "hardness",
        _METAL,
        "hardness of a head that was, or may have been, overheated",
        _INSPECT,
        may_be_not_done=True,
        applies=_may_have_gone_soft,
        point=lambda head: _or_goes_on(head, head.hardness, InspectionKind.HARDNESS),
    ),
    OfPort(
        "guides", _METAL, "guide", _GUIDES, may_be_not_done=True, applies=_cuts_metal, point=_guide
    ),
    OfPort(
        "stem_before",
        _METAL,
        "stem height as it came in",
        _STEM_HEIGHTS,
        may_be_not_done=True,
        applies=_cuts_metal,
        point=lambda head, port: port.stem_before,
    ),
    OfPort(
        "wall",
        _METAL,
        "wall behind the counterbore",
        _POCKETS,
        may_be_not_done=True,
        applies=_thins_the_wall,
        point=lambda head, port: port.wall,
    ),
    OfPort(
        "web",
        _METAL,
        "web to the next counterbore",
        _POCKETS,
        may_be_not_done=True,
        applies=_thins_the_wall,
        point=lambda head, port: port.web,
    ),
    # Before the ring goes in
    OfPort(
        "bore",
        _RING,
        "bore, measured after the last cut",
        _GAUGE,
        applies=_gets_a_ring,
        point=lambda head, port: port.bore_measured,
    ),
    OfPort(
        "depth",
        _RING,
        "depth, measured after the last cut",
        _GAUGE,
        applies=_gets_a_ring,
        point=lambda head, port: port.depth_measured,
    ),
    OfPort("verdict", _RING, "verdict on the bore", _PROVE, applies=_gets_a_ring, point=_verdict),
    OfPort(
        "ring_in_hand",
        _RING,
        "the ring in hand, read again or of a set that may be mixed",
        _IN_HAND,
        applies=_gets_a_ring,
        point=lambda head, port: port.ring_in_hand,
    ),
    OfPort("no_hold", _RING, "on hold", _HOLD, applies=_gets_a_ring, point=_hold),
    OfPort(
        "standing",
        _RING,
        "results that no longer stand",
        _PROVE,
        applies=_gets_a_ring,
        point=_standing,
    ),
    # Before hand-over
    OfHead(
        "consent",
        _OUT,
        "consent that covers the work",
        _CONSENT_AGAIN,
        applies=lambda head: head.customer_kind is not CustomerKind.SHOP_STOCK,
        point=_consent,
    ),
    OfPort(
        "seat_ring_in",
        _OUT,
        "seat ring in",
        _PRESS,
        applies=_gets_a_ring,
        point=lambda head, port: port.ring_in,
    ),
    OfPort(
        "seat_width",
        _OUT,
        "seat width",
        _FINISH,
        may_be_not_done=True,
        applies=_cuts_metal,
        point=lambda head, port: port.seat_width,
    ),
    OfPort(
        "seat_run_out",
        _OUT,
        "seat run-out",
        _FINISH,
        may_be_not_done=True,
        applies=_cuts_metal,
        point=lambda head, port: port.seat_run_out,
    ),
    OfPort(
        "stem_after",
        _OUT,
        "stem height after",
        _FINISH,
        may_be_not_done=True,
        applies=_cuts_metal,
        point=lambda head, port: port.stem_after,
    ),
    OfHead(
        "pressure_after",
        _OUT,
        "pressure test after boring",
        _INSPECT_AFTER,
        may_be_not_done=True,
        applies=_was_bored,
        point=lambda head: head.pressure_after,
    ),
    OfPort("signed", _OUT, "signature", _SIGNATURE, applies=_is_worked_on, point=_signed),
    OfHead(
        "parts_counted",
        _OUT,
        "parts counted out",
        _COUNT_OUT,
        may_be_not_done=True,
        applies=lambda head: head.pieces_in != 0,
        point=lambda head: head.parts_counted,
    ),
    # Visible, and stopping nothing
    OfHead(
        "wanted",
        None,
        "what is wanted, in the customer's words",
        _INTAKE,
        point=lambda head: head.wanted,
    ),
    OfHead("received", None, "what came with it, counted", _COUNT_IN, point=_counted_in),
    OfHead(
        "heat_history",
        None,
        "whether the head was overheated",
        _INTAKE,
        applies=lambda head: head.material is Material.ALUMINIUM,
        point=lambda head: _known(
            head.heat_history, head.heat_history.screen if head.heat_history else ""
        ),
    ),
    OfHead(
        "pressure_before",
        None,
        "pressure test as it came in",
        _INSPECT,
        may_be_not_done=True,
        point=lambda head: head.pressure_before,
    ),
    OfHead(
        "flatness",
        None,
        "deck flatness",
        _INSPECT,
        may_be_not_done=True,
        point=lambda head: head.flatness,
    ),
    OfPort(
        "old_pocket",
        None,
        "old pocket's bore, run-out and depth",
        _POCKETS,
        may_be_not_done=True,
        applies=_had_an_old_ring,
        point=lambda head, port: port.old_pocket,
    ),
    OfPort(
        "ring_seated",
        None,
        "ring down, by the feeler and cold",
        _COOL,
        may_be_not_done=True,
        applies=_has_its_ring,
        point=lambda head, port: port.ring_seated,
    ),
)

# Heads under way keep the version that they were opened under.
GATES: Mapping[int, tuple[Requirement, ...]] = MappingProxyType({1: _VERSION_1})

"""When a line of the gates applies, and how its point stands, by the facts of a head."""

from __future__ import annotations

from app.workflow.facts import HeadFacts, Point, PointState, PortFacts
from app.workflow.guide_outcomes import outcome_of
from app.workflow.kinds import CustomerKind, Verdict
from app.workflow.layout import neighbours
from app.workflow.words import (
    HeatHistory,
    InspectionKind,
    InspectionWay,
    Material,
    SeatNow,
    Work,
    listed,
    money,
)

_CUTS_METAL = frozenset({Work.RING, Work.SEAT_ONLY})
_IS_WORKED_ON = frozenset({Work.RING, Work.SEAT_ONLY, Work.GUIDE_ONLY})


# When a line applies


def is_first_metal_of_a_customer(head: HeadFacts) -> bool:
    # Asked before the first metal and before hand-over, never between: a half-cut head must not
    # be stranded by a price that grew.
    return head.customer_kind is not CustomerKind.SHOP_STOCK and not head.metal_off


def may_have_gone_soft(head: HeadFacts) -> bool:
    return head.material is Material.ALUMINIUM and head.heat_history is not HeatHistory.NONE_KNOWN


def or_goes_on(head: HeadFacts, found: Point, kind: InspectionKind) -> Point:
    """A test that failed is closed by the word, given after it, that the head goes on and why."""
    is_decided = head.way is InspectionWay.GO_ON and kind.value in head.way_knew
    if found.state is not PointState.NOT_OK or not (is_decided and head.way_because):
        return found
    told = f"not OK: {found.told}" if found.told else "not OK"
    return Point.closed(f"{told}; goes on, because {head.way_because}")


def cuts_metal(head: HeadFacts, port: PortFacts) -> bool:
    return port.work in _CUTS_METAL


def gets_a_ring(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING


def is_worked_on(head: HeadFacts, port: PortFacts) -> bool:
    return port.work in _IS_WORKED_ON


def has_its_ring(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING and port.ring_in.is_closed_by_value


def goes_over(port: PortFacts) -> bool:
    # A seat in the casting has no pocket: any counterbore goes over it. What is not known yet may.
    return port.seat_now is SeatNow.CASTING or port.goes_over_old_pocket is not False


def is_beside_a_new_ring(head: HeadFacts, port: PortFacts) -> bool:
    return any(
        head.port(each.position.label).work is Work.RING
        for each in neighbours(head.positions, port.position)
    )


def thins_the_wall(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING and (goes_over(port) or is_beside_a_new_ring(head, port))


def was_bored(head: HeadFacts) -> bool:
    return any(port.work is Work.RING or port.cut.is_closed_by_value for port in head.ports)


def had_an_old_ring(head: HeadFacts, port: PortFacts) -> bool:
    return port.work is Work.RING and port.seat_now is not SeatNow.CASTING


# How a point stands


def known(value: object, told: str) -> Point:
    return Point.closed(told) if value else Point.open()


def layout(head: HeadFacts) -> Point:
    if not head.layout or not head.ports:
        return Point.open()
    if not head.numbered_from:
        return Point.open("from which end the cylinders are numbered")
    return Point.closed(f"{head.layout} from the {head.numbered_from}")


def work(head: HeadFacts) -> Point:
    undecided = [port.label for port in head.ports if port.work is Work.UNDECIDED]
    if not head.ports:
        return Point.open()
    return Point.open(f"undecided: {listed(undecided)}") if undecided else Point.closed("decided")


def consent(head: HeadFacts) -> Point:
    consent = head.consent
    if not consent.given:
        return Point.open("none recorded")
    if consent.limit is not None and consent.more:
        return Point.open(
            f"agreed up to {money(consent.limit)}, the price lines come to {money(consent.total)}"
        )
    return Point.closed(consent.told or "given")


def guide(head: HeadFacts, port: PortFacts) -> Point:
    if port.guide_fit.told and not port.guide_fit.is_closed_by_value:
        return port.guide_fit
    if port.guide_decision is None:
        return Point.open("serviced or left as it is?")
    if not port.guide_fit.is_closed_by_value:
        return Point.open("its bore or the pilot's fit")
    said = outcome_of(port.guide_decision, port.guide_how)
    return Point.closed(f"{said.screen}, {port.guide_fit.told}")


def verdict(head: HeadFacts, port: PortFacts) -> Point:
    if port.verdict is None:
        return Point.open()
    if port.verdict in (Verdict.LOOSE, Verdict.TIGHT) and not port.deviation:
        return Point.open(f"{port.verdict.screen}, and no deviation is signed")
    return Point.closed(port.deviation or port.verdict.screen)


def hold(head: HeadFacts, port: PortFacts) -> Point:
    if port.hold is None:
        return Point.closed("none")
    return Point.open(port.hold.told or port.hold.reason.screen)


def standing(head: HeadFacts, port: PortFacts) -> Point:
    if port.no_longer_stands:
        return Point.open(listed([each.screen for each in port.no_longer_stands]))
    return Point.closed("all stand")


def signed(head: HeadFacts, port: PortFacts) -> Point:
    if port.hold is not None:
        return Point.open("on hold")
    if port.no_longer_stands:
        stale = listed([each.screen for each in port.no_longer_stands])
        return Point.open(f"no longer stands: {stale}")
    return port.signed


def counted_in(head: HeadFacts) -> Point:
    if head.pieces_in is None:
        return Point.open()
    return Point.closed(f"{head.pieces_in} pieces" if head.pieces_in else "nothing came with it")

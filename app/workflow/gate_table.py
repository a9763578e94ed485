"""What each gate asks, line by line; a changed table is a new version beside the old one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from app.workflow import gate_points as points
from app.workflow.kinds import CustomerKind
from app.workflow.permissions import Verb
from app.workflow.requirements import Closing, Gate, OfHead, OfPort, Requirement
from app.workflow.words import InspectionKind, Material, Page, Stage

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
        point=lambda head: points.known(
            head.material, head.material.screen if head.material else ""
        ),
    ),
    OfHead(
        "unit",
        _METAL,
        "unit",
        _INTAKE,
        point=lambda head: points.known(head.unit, head.unit.screen if head.unit else ""),
    ),
    OfHead(
        "layout",
        _METAL,
        "valve layout with the end it is numbered from",
        _LAYOUT,
        point=points.layout,
    ),
    OfHead("work", _METAL, "work of each position", _WORK, point=points.work),
    OfHead(
        "consent",
        _METAL,
        "consent that covers the work",
        _CONSENT,
        applies=points.is_first_metal_of_a_customer,
        point=points.consent,
    ),
    OfHead(
        "crack_test",
        _METAL,
        "crack test",
        _INSPECT,
        may_be_not_done=True,
        point=lambda head: head.crack_test,
    ),
    OfHead(
        "hardness",
        _METAL,
        "hardness of a head that was, or may have been, overheated",
        _INSPECT,
        may_be_not_done=True,
        applies=points.may_have_gone_soft,
        point=lambda head: head.hardness,
    ),
    OfPort(
        "guides",
        _METAL,
        "guide",
        _GUIDES,
        may_be_not_done=True,
        applies=points.cuts_metal,
        point=points.guide,
    ),
    OfPort(
        "stem_before",
        _METAL,
        "stem height as it came in",
        _STEM_HEIGHTS,
        may_be_not_done=True,
        applies=points.cuts_metal,
        point=lambda head, port: port.stem_before,
    ),
    OfPort(
        "wall",
        _METAL,
        "wall behind the counterbore",
        _POCKETS,
        may_be_not_done=True,
        applies=points.thins_the_wall,
        point=lambda head, port: port.wall,
    ),
    OfPort(
        "web",
        _METAL,
        "web to the next counterbore",
        _POCKETS,
        may_be_not_done=True,
        applies=points.thins_the_wall,
        point=lambda head, port: port.web,
    ),
    # Before the ring goes in
    OfPort(
        "bore",
        _RING,
        "bore, measured after the last cut",
        _GAUGE,
        applies=points.gets_a_ring,
        point=lambda head, port: port.bore_measured,
    ),
    OfPort(
        "depth",
        _RING,
        "depth, measured after the last cut",
        _GAUGE,
        applies=points.gets_a_ring,
        point=lambda head, port: port.depth_measured,
    ),
    OfPort(
        "verdict",
        _RING,
        "verdict on the bore",
        _PROVE,
        applies=points.gets_a_ring,
        point=points.verdict,
    ),
    OfPort(
        "ring_in_hand",
        _RING,
        "the ring in hand, read again or of a set that may be mixed",
        _IN_HAND,
        applies=points.gets_a_ring,
        point=lambda head, port: port.ring_in_hand,
    ),
    OfPort("no_hold", _RING, "on hold", _HOLD, applies=points.gets_a_ring, point=points.hold),
    OfPort(
        "standing",
        _RING,
        "results that no longer stand",
        _PROVE,
        applies=points.gets_a_ring,
        point=points.standing,
    ),
    # Before hand-over
    OfHead(
        "consent",
        _OUT,
        "consent that covers the work",
        _CONSENT_AGAIN,
        applies=lambda head: head.customer_kind is not CustomerKind.SHOP_STOCK,
        point=points.consent,
    ),
    OfPort(
        "seat_ring_in",
        _OUT,
        "seat ring in",
        _PRESS,
        applies=points.gets_a_ring,
        point=lambda head, port: port.ring_in,
    ),
    OfPort(
        "seat_width",
        _OUT,
        "seat width",
        _FINISH,
        may_be_not_done=True,
        applies=points.cuts_metal,
        point=lambda head, port: port.seat_width,
    ),
    OfPort(
        "seat_run_out",
        _OUT,
        "seat run-out",
        _FINISH,
        may_be_not_done=True,
        applies=points.cuts_metal,
        point=lambda head, port: port.seat_run_out,
    ),
    OfPort(
        "stem_after",
        _OUT,
        "stem height after",
        _FINISH,
        may_be_not_done=True,
        applies=points.cuts_metal,
        point=lambda head, port: port.stem_after,
    ),
    OfHead(
        "pressure_after",
        _OUT,
        "pressure test after boring",
        _INSPECT_AFTER,
        may_be_not_done=True,
        applies=points.was_bored,
        point=lambda head: head.pressure_after,
    ),
    OfPort(
        "signed",
        _OUT,
        "signature",
        _SIGNATURE,
        applies=points.is_worked_on,
        point=points.signed,
    ),
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
    OfHead("received", None, "what came with it, counted", _COUNT_IN, point=points.counted_in),
    OfHead(
        "heat_history",
        None,
        "whether the head was overheated",
        _INTAKE,
        applies=lambda head: head.material is Material.ALUMINIUM,
        point=lambda head: points.known(
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
        applies=points.had_an_old_ring,
        point=lambda head, port: port.old_pocket,
    ),
    OfPort(
        "ring_seated",
        None,
        "ring down, by the feeler and cold",
        _COOL,
        may_be_not_done=True,
        applies=points.has_its_ring,
        point=lambda head, port: port.ring_seated,
    ),
)

# A test that failed is closed by the word, given after it, that the head goes on all the same.
_GOES_ON = {"crack_test": InspectionKind.CRACK, "hardness": InspectionKind.HARDNESS}


def _or_goes_on(line: Requirement) -> Requirement:
    if not isinstance(line, OfHead) or line.key not in _GOES_ON:
        return line
    kind = _GOES_ON[line.key]
    return replace(line, point=lambda head: points.or_goes_on(head, line.point(head), kind))


_VERSION_2: tuple[Requirement, ...] = tuple(map(_or_goes_on, _VERSION_1))

# A head that nobody described or decided does not leave unseen beside the one that is done.
_VERSION_3: tuple[Requirement, ...] = (
    *_VERSION_2,
    OfHead("work", _OUT, "work of each position", _WORK, point=points.work),
)

# Heads under way keep the version that they were opened under.
GATES: Mapping[int, tuple[Requirement, ...]] = MappingProxyType(
    {1: _VERSION_1, 2: _VERSION_2, 3: _VERSION_3}
)
GATE_VERSION = max(GATES)

"""Heads for the tests: one with every point closed, from which each test opens one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from app.workflow.facts import ConsentFacts, HeadFacts, Point, PortFacts
from app.workflow.gates import GATE_VERSION
from app.workflow.kinds import Unit, Verdict
from app.workflow.layout import lay_out
from app.workflow.words import GuideDecision, HeatHistory, Material, SeatNow, Work

CLOSED = Point.closed("read")
OPEN = Point()

FINISHED_PORT: dict[str, Any] = {
    "seat_now": SeatNow.RING,
    "stem_before": CLOSED,
    "guide_decision": GuideDecision.SERVICED,
    "guide_fit": CLOSED,
    "old_pocket": CLOSED,
    "goes_over_old_pocket": True,
    "wall": CLOSED,
    "web": CLOSED,
    "ring_read": CLOSED,
    "target": CLOSED,
    "setting": CLOSED,
    "cut": CLOSED,
    "bore_measured": CLOSED,
    "depth_measured": CLOSED,
    "verdict": Verdict.INSIDE,
    "ring_in_hand": CLOSED,
    "ring_in": CLOSED,
    "ring_seated": CLOSED,
    "seat_width": CLOSED,
    "seat_run_out": CLOSED,
    "stem_after": CLOSED,
    "signed": CLOSED,
}

NO_RING: dict[str, Any] = {
    **dict.fromkeys(
        ["ring_read", "target", "setting", "cut", "bore_measured", "depth_measured"], OPEN
    ),
    "verdict": None,
    "ring_in_hand": OPEN,
    "ring_in": OPEN,
}

# Two rings beside each other, a seat only, a guide only, the rest left alone.
WORKS = {"2E": Work.RING, "3E": Work.RING, "1E": Work.SEAT_ONLY, "1I": Work.GUIDE_ONLY}


def finished_head(**changes: Any) -> HeadFacts:
    """An aluminium head that was overheated, with every point of every gate closed."""
    ports = []
    for position in lay_out("EIIEEIIE", 2):
        work = WORKS.get(position.label, Work.LEAVE)
        read = FINISHED_PORT if work is Work.RING else FINISHED_PORT | NO_RING
        ports.append(PortFacts(position=position, work=work, **read))
    head = HeadFacts(
        gate_version=GATE_VERSION,
        ports=tuple(ports),
        consent=ConsentFacts(given=True, limit=64000, total=64000, told="by phone"),
        wanted=CLOSED,
        identity=CLOSED,
        material=Material.ALUMINIUM,
        unit=Unit.INCH,
        layout="EIIEEIIE",
        numbered_from="timing end",
        heat_history=HeatHistory.OVERHEATED,
        pieces_in=24,
        crack_test=CLOSED,
        pressure_before=CLOSED,
        flatness=CLOSED,
        hardness=CLOSED,
        pressure_after=CLOSED,
        parts_counted=CLOSED,
    )
    return replace(head, **changes)


def with_port(head: HeadFacts, label: str, **changes: Any) -> HeadFacts:
    """The head with one position changed."""
    head.port(label)  # an unknown label is a mistake in the test
    return replace(
        head,
        ports=tuple(
            replace(port, **changes) if port.label == label else port for port in head.ports
        ),
    )


def with_every_port(head: HeadFacts, **changes: Any) -> HeadFacts:
    """The head with every position changed alike."""
    return replace(head, ports=tuple(replace(port, **changes) for port in head.ports))

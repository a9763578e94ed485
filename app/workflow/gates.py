"""The three gates as one table of requirements; a head keeps the version it was opened under.

Hard stops stand only before what cannot be undone. Everything else that a careful shop would
close is listed too, without a gate: it stays visible and stops nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from app.workflow.facts import HeadFacts, PortFacts
from app.workflow.gate_table import GATE_VERSION, GATES
from app.workflow.requirements import AskedPoint, Gate, Requirement, told_together
from app.workflow.words import sentence

__all__ = [
    "GATES",
    "GATE_VERSION",
    "AskedPoint",
    "Gate",
    "GateShut",
    "accepts_reason",
    "asked_points",
    "closed_by_reason",
    "may_pass",
    "open_points",
    "pass_gate",
    "requirement",
]


class GateShut(Exception):
    """A gate that is not passed yet, with every point that keeps it shut."""

    def __init__(self, gate: Gate, points: tuple[AskedPoint, ...]) -> None:
        self.gate = gate
        self.points = points
        super().__init__(self.message)

    @property
    def message(self) -> str:
        """``Still open before metal comes off: crack test; 2E and 3E: guide.``"""
        return sentence(f"still open {self.gate.screen}: {'; '.join(told_together(self.points))}")


def asked_points(
    gate: Gate | None, head: HeadFacts, labels: Iterable[str] | None = None
) -> tuple[AskedPoint, ...]:
    """Every point that a gate asks of a head and some of its positions (all, when none are named).

    Without a gate: what stays visible and stops nothing.
    """
    ports = head.ports if labels is None else tuple(head.port(label) for label in labels)
    return tuple(_asked(GATES[head.gate_version], gate, head, ports))


def open_points(
    gate: Gate | None, head: HeadFacts, labels: Iterable[str] | None = None
) -> tuple[AskedPoint, ...]:
    """Those that are still open."""
    return tuple(asked for asked in asked_points(gate, head, labels) if not asked.is_closed)


def closed_by_reason(
    gate: Gate | None, head: HeadFacts, labels: Iterable[str] | None = None
) -> tuple[AskedPoint, ...]:
    """Those closed by "not done, because …": a sheet prints them as large as a result."""
    return tuple(
        asked
        for asked in asked_points(gate, head, labels)
        if asked.is_closed and not asked.point.is_closed_by_value
    )


def may_pass(gate: Gate, head: HeadFacts, labels: Iterable[str] | None = None) -> bool:
    """Whether nothing that the gate asks is open."""
    return not open_points(gate, head, labels)


def pass_gate(gate: Gate, head: HeadFacts, labels: Iterable[str] | None = None) -> None:
    """Pass, or say all that is open: services call it inside their write transaction."""
    points = open_points(gate, head, labels)
    if points:
        raise GateShut(gate, points)


def requirement(key: str, version: int = GATE_VERSION) -> Requirement:
    """The line with this key; the first, when two gates ask the same thing."""
    for line in GATES[version]:
        if line.key == key:
            return line
    raise KeyError(key)


def accepts_reason(key: str, version: int = GATE_VERSION) -> bool:
    """Whether "not done, because …" closes what is stored under this key."""
    return any(line.key == key and line.may_be_not_done for line in GATES[version])


def _asked(
    table: Iterable[Requirement],
    gate: Gate | None,
    head: HeadFacts,
    ports: tuple[PortFacts, ...],
) -> Iterator[AskedPoint]:
    for line in table:
        if line.gate is gate:
            for label, point in line.points(head, ports):
                yield AskedPoint(line, label, point)

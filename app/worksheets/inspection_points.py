"""A head's inspection point by point, in the order in which it is done: from rows to words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from app.calc.units import Length
from app.workflow.facts import HeadFacts, Point, PointState
from app.workflow.gates import Gate, asked_points
from app.workflow.kinds import Quantity, Unit
from app.workflow.seats import size_words
from app.workflow.words import (
    InspectionKind,
    InspectionWay,
    Material,
    Outcome,
    Page,
    Work,
    counted,
    listed,
)
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import HeadRows, PortRows

DECISION = "way"
_GATES = (Gate.METAL_OFF, Gate.HAND_OVER, None)


@dataclass(frozen=True, slots=True)
class InspectionPoint:
    """One point: done with what it said, not done with its reason, or still open."""

    key: str
    screen: str
    point: Point
    page: Page = Page.INSPECTIONS
    is_asked: bool = True  # else it may stay empty

    @property
    def is_open(self) -> bool:
        """It is asked for, and nobody said anything yet."""
        return self.is_asked and self.point.state is PointState.OPEN

    @property
    def state(self) -> str:
        """``done``, ``not OK``, ``not done``, ``open``; ``if wanted`` where it may stay empty."""
        if self.point.state is PointState.CLOSED:
            return "done"
        if self.point.state is PointState.OPEN and not self.is_asked:
            return "if wanted"
        return self.point.state.screen


@dataclass(frozen=True, slots=True)
class InspectionRun:
    """All of them, in order."""

    points: tuple[InspectionPoint, ...]

    @property
    def open(self) -> tuple[InspectionPoint, ...]:
        """Those that are still open, the next one first."""
        return tuple(each for each in self.points if each.is_open)

    @property
    def told(self) -> str:
        """``5 of 9 points closed, next: deck flatness``."""
        asked = sum(each.is_asked for each in self.points)
        left = self.open
        start = f"{asked - len(left)} of {asked} points closed"
        return f"{start}, next: {left[0].screen}" if left else start

    def at(self, key: str) -> InspectionPoint:
        """The point with this key."""
        return next(each for each in self.points if each.key == key)


def inspection_run(sheet: HeadSheet, pictures: int) -> InspectionRun:
    """Condition, parts, tests, heights, guides, recession, and how the head goes on."""
    rows, facts = sheet.rows, sheet.facts
    asked = {point.key for gate in _GATES for point in asked_points(gate, facts)}
    found = [
        InspectionPoint("condition", "condition", _condition(rows, pictures)),
        InspectionPoint("received", "parts counted in", _received(facts), Page.RECEIVED),
        InspectionPoint("crack", "crack test", facts.crack_test),
        InspectionPoint("pressure_before", "pressure test", facts.pressure_before),
        InspectionPoint("flatness", "deck flatness", facts.flatness),
    ]
    if "hardness" in asked or rows.head.material is Material.ALUMINIUM:
        found.append(
            InspectionPoint("hardness", "hardness", facts.hardness, is_asked="hardness" in asked)
        )
    page = Page.STEM_HEIGHTS if rows.ports else Page.LAYOUT
    unit = rows.job.job.unit
    found += [
        InspectionPoint("stem_heights", "stem heights", _stems(rows), page),
        InspectionPoint(
            "guides", "guide wear", _guides(rows, facts), Page.GUIDES if rows.ports else page
        ),
        InspectionPoint("recession", "recession", _recession(rows, unit), page, is_asked=False),
        InspectionPoint(DECISION, "how it goes on", _decision(rows)),
    ]
    return InspectionRun(tuple(found))


def _condition(rows: HeadRows, pictures: int) -> Point:
    row = rows.inspections.get(InspectionKind.CONDITION)
    shown = counted(pictures, "picture") if pictures else ""
    if row is None:
        return Point.open(shown)
    told = row.because if row.outcome is Outcome.NOT_DONE else row.found
    return Point.of_inspection(row.outcome, "; ".join(filter(None, [told, shown])))


def _received(facts: HeadFacts) -> Point:
    if facts.pieces_in is None:
        return Point.open()
    return Point.closed(
        counted(facts.pieces_in, "piece") if facts.pieces_in else "nothing came with it"
    )


def _stems(rows: HeadRows) -> Point:
    return _along(
        rows.ports,
        lambda port: bool(port.stems and port.stems.of(Quantity.STEM_HEIGHT)),
        "stem_before",
        "",
    )


def _guides(rows: HeadRows, facts: HeadFacts) -> Point:
    """How many by which method: a rocking figure and a bore are two kinds of figures."""
    by = {
        "bore": sum(_has(port, Quantity.GUIDE_BORE) for port in rows.ports),
        "rocking the valve": sum(_has(port, Quantity.GUIDE_ROCKING) for port in rows.ports),
    }
    told = listed([f"{number} by {method}" for method, number in by.items() if number])
    return _along(
        rows.ports,
        lambda port: facts.port(port.label).guide_fit.is_closed_by_value,
        "guides",
        told,
    )


def _has(port: PortRows, quantity: Quantity) -> bool:
    return bool(port.guides and port.guides.of(quantity))


def _along(
    ports: Iterable[PortRows], is_read: Callable[[PortRows], bool], key: str, how: str
) -> Point:
    """Closed once every position that is not left as it is was read, or has its reason."""
    every = list(ports)
    if not every:
        return Point.open("the valve layout is not known yet")
    read = [port for port in every if is_read(port)]
    reasons = {
        port.label: because
        for port in every
        if port not in read and (because := port.not_done.get(key))
    }
    told = ", ".join(filter(None, [f"{len(read)} of {len(every)} read", how]))
    if reasons:
        labels = listed(list(reasons))
        told += f"; not done at {labels}, because {listed(list(dict.fromkeys(reasons.values())))}"
    wanted = [port for port in every if port.port.work is not Work.LEAVE]
    if any(port not in read and port.label not in reasons for port in wanted):
        return Point.open(told if read or reasons else "")
    return Point.not_done(told) if reasons and not read else Point.closed(told)


def _recession(rows: HeadRows, unit: Unit) -> Point:
    read: dict[str, Length] = {}
    for port in rows.ports:
        depth = port.stems.one(Quantity.RECESSION) if port.stems else None
        if depth is not None:
            read[port.label] = depth
    if not read:
        return Point.open()
    deepest = max(read.values())
    labels = listed([label for label, depth in read.items() if depth == deepest])
    size = f"{size_words(Length(abs(deepest.nm)), unit)} {unit.value}"
    told = f"all proud, least {size}" if deepest.nm < 0 else f"deepest {size}"
    return Point.closed(f"{len(read)} of {len(rows.ports)} read, {told} at {labels}")


def _decision(rows: HeadRows) -> Point:
    if rows.decision is None:
        return Point.open()
    told = rows.decision.way.screen
    if rows.decision.because:
        told += f": {rows.decision.because}"
    asks = rows.decision.way is InspectionWay.ASK_CUSTOMER
    return Point.open(told) if asks else Point.closed(told)

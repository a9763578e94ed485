"""What a gate can require: small frozen objects, of a whole head or of a position."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from app.workflow.facts import HeadFacts, Point, PointState, PortFacts
from app.workflow.kinds import Said
from app.workflow.permissions import Verb
from app.workflow.words import Page, Stage, listed


class Gate(Said):
    """The three hard stops; each stands before something that cannot be undone."""

    METAL_OFF = "metal_off", "before metal comes off"
    RING_IN = "ring_in", "before the ring goes in"
    HAND_OVER = "hand_over", "before hand-over"


@dataclass(frozen=True, slots=True)
class Closing:
    """Where a point is closed, by whom, and which arc of the stage ring it keeps open."""

    page: Page
    by: Verb
    stage: Stage


@dataclass(frozen=True, slots=True)
class Requirement(ABC):
    """One line of a gate's table; without a gate it only stays visible.

    `key` is what a "not done, because …" is stored under; `screen` names what is asked.
    """

    key: str
    gate: Gate | None
    screen: str
    closing: Closing
    may_be_not_done: bool = False

    @abstractmethod
    def points(
        self, head: HeadFacts, ports: Iterable[PortFacts]
    ) -> Iterator[tuple[str | None, Point]]:
        """Each point that this line asks for: the position's label (None: the head) and how."""

    def is_closed(self, point: Point) -> bool:
        """Closed by a value, or by a reason where this line accepts one."""
        if point.state is PointState.NOT_DONE:
            return self.may_be_not_done
        return point.is_closed_by_value


@dataclass(frozen=True, slots=True, kw_only=True)
class OfHead(Requirement):
    """Asked once for the whole head."""

    point: Callable[[HeadFacts], Point]
    applies: Callable[[HeadFacts], bool] = lambda head: True

    def points(
        self, head: HeadFacts, ports: Iterable[PortFacts]
    ) -> Iterator[tuple[str | None, Point]]:
        if self.applies(head):
            yield None, self.point(head)


@dataclass(frozen=True, slots=True, kw_only=True)
class OfPort(Requirement):
    """Asked for each position that it applies to."""

    point: Callable[[HeadFacts, PortFacts], Point]
    applies: Callable[[HeadFacts, PortFacts], bool]

    def points(
        self, head: HeadFacts, ports: Iterable[PortFacts]
    ) -> Iterator[tuple[str | None, Point]]:
        for port in ports:
            if self.applies(head, port):
                yield port.label, self.point(head, port)


@dataclass(frozen=True, slots=True)
class AskedPoint:
    """A point that a requirement asks for, with how it stands."""

    requirement: Requirement
    label: str | None
    point: Point

    @property
    def is_closed(self) -> bool:
        """Nothing more is asked."""
        return self.requirement.is_closed(self.point)

    @property
    def key(self) -> str:
        """The requirement's key."""
        return self.requirement.key

    @property
    def page(self) -> Page:
        """Where it is closed."""
        return self.requirement.closing.page

    @property
    def told(self) -> str:
        """``3E: stem height as it came in``, with what is known about why it is open."""
        name = self.requirement.screen
        named = f"{self.label}: {name}" if self.label else name
        if self.point.state is PointState.NOT_OK:
            return (
                f"{named} (not OK: {self.point.told})" if self.point.told else f"{named} (not OK)"
            )
        if self.point.state is PointState.NOT_DONE and not self.is_closed:
            return f"{named} (a reason does not close this)"
        return f"{named} ({self.point.told})" if self.point.told else named


def told_together(points: Iterable[AskedPoint]) -> tuple[str, ...]:
    """Open points in words, positions of one requirement in one line."""
    lines: dict[tuple[str, str], list[AskedPoint]] = {}
    for asked in points:
        lines.setdefault((asked.key, asked.point.told), []).append(asked)
    told = []
    for group in lines.values():
        first = group[0]
        labels = [asked.label for asked in group if asked.label]
        whole = AskedPoint(first.requirement, listed(labels) or None, first.point)
        told.append(whole.told)
    return tuple(told)

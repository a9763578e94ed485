"""What the rules need to know of a job, its heads and positions, gathered by worksheets.

Facts carry no decision: each point that can be open says how it stands, and the rules decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Self

from app.workflow.kinds import CustomerKind, HoldReason, ResultKind, Said, Unit, Verdict
from app.workflow.layout import Position
from app.workflow.words import (
    Ended,
    GuideDecision,
    GuideHow,
    HeatHistory,
    InspectionWay,
    Material,
    Outcome,
    SeatNow,
    Waiting,
    Work,
)


class PointState(Said):
    """How one point stands."""

    OPEN = "open"
    CLOSED = "closed"
    NOT_DONE = "not_done", "not done"
    NOT_OK = "not_ok", "not OK"


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that is open, closed by a value, closed by "not done, because …", or failed.

    `told` is the value as a person reads it, the reason of a "not done", what failed, or why an
    open point is still open (a reading in doubt, one that was struck).
    """

    state: PointState = PointState.OPEN
    told: str = ""

    @classmethod
    def closed(cls, value: str) -> Self:
        """Closed by a value."""
        return cls(PointState.CLOSED, value)

    @classmethod
    def not_done(cls, because: str) -> Self:
        """Closed by a reason, where the requirement accepts one; an empty reason closes nothing."""
        return cls(PointState.NOT_DONE, because) if because.strip() else cls()

    @classmethod
    def open(cls, why: str = "") -> Self:
        """Still open, and why when there is more to say than "not yet"."""
        return cls(PointState.OPEN, why)

    @classmethod
    def not_ok(cls, found: str) -> Self:
        """Done, and it failed."""
        return cls(PointState.NOT_OK, found)

    @classmethod
    def of_inspection(cls, outcome: Outcome | None, told: str) -> Self:
        """The newest inspection of a kind as a point; none yet is open."""
        if outcome is Outcome.OK:
            return cls.closed(told or "OK")
        if outcome is Outcome.NOT_OK:
            return cls.not_ok(told)
        return cls.not_done(told) if outcome is Outcome.NOT_DONE else cls()

    @property
    def is_closed_by_value(self) -> bool:
        """There is a value."""
        return self.state is PointState.CLOSED


@dataclass(frozen=True, slots=True)
class ConsentFacts:
    """What the customer agreed to, against what the work comes to; amounts in minor units."""

    given: bool = False
    limit: int | None = None  # None: agreed without an amount
    total: int = 0  # of the price lines that stand
    told: str = ""  # "Dana Field, by phone, 24 Nov 15:10"

    @property
    def more(self) -> int:
        """By how much the work comes to more than was agreed; 0 where nobody agreed at all."""
        if not self.given or self.limit is None:
            return 0
        return max(0, self.total - self.limit)


@dataclass(frozen=True, slots=True)
class HoldFacts:
    """A hold that is not released."""

    reason: HoldReason
    told: str


@dataclass(frozen=True, slots=True)
class PortFacts:
    """One position, in its open pass."""

    position: Position
    work: Work = Work.UNDECIDED
    seat_now: SeatNow | None = None

    # Measure
    stem_before: Point = Point()  # stem height as it came in
    guide_decision: GuideDecision | None = None
    guide_how: GuideHow | None = None
    guide_fit: Point = Point()  # its bore, or the pilot's fit, by the decision that stands
    old_pocket: Point = Point()  # bore, run-out and depth of the old pocket
    # The target is larger than the old pocket; None while either is not known.
    goes_over_old_pocket: bool | None = None
    wall: Point = Point()  # behind the counterbore
    web: Point = Point()  # to the neighbours
    ring_read: Point = Point()  # the ring, or the set it comes from, is read and nothing in doubt
    target: Point = Point()  # target bore and depth, accepted and standing
    wanted_ring: str = ""  # a ring wanted for it and not arrived: "ordered, expected Friday"

    # Set and cut
    setting: Point = Point()  # a setting names this position (live, or the one it was cut with)
    cut: Point = Point()  # the open pass was cut
    opened_unrecorded: str = ""  # "14:07": the cut page was opened and nothing was recorded
    bore_measured: Point = Point()  # after the last cut
    depth_measured: Point = Point()  # after the last cut

    # Verify
    verdict: Verdict | None = None  # of the open pass, standing
    deviation: str = ""  # the deviation signed for the open pass, as it is told
    edge_question_open: bool = False  # close to the edge, and neither read again nor kept
    hold: HoldFacts | None = None
    no_longer_stands: tuple[ResultKind, ...] = ()
    # One OD read again within the limit, or a set whose rings may be mixed.
    ring_in_hand: Point = Point()
    ring_in: Point = Point()
    ring_seated: Point = Point()  # down by feeler; of a heated head, once it was cold
    is_warm: bool = False  # heated for its ring, and nobody recorded that it is cold again
    seat_width: Point = Point()
    seat_run_out: Point = Point()
    stem_after: Point = Point()
    signed: Point = Point()

    @property
    def label(self) -> str:
        """``3E``."""
        return self.position.label


@dataclass(frozen=True, slots=True)
class HeadFacts:
    """One head of a job, with its positions and what its gates ask of the whole head."""

    name: str = ""
    gate_version: int = 1
    ports: tuple[PortFacts, ...] = ()
    metal_off: bool = False  # anything was cut on this head

    # Taken in
    customer_kind: CustomerKind = CustomerKind.NAMED
    consent: ConsentFacts = ConsentFacts()
    wanted: Point = Point()  # the work asked for, in the customer's words
    identity: Point = Point()  # casting number, photo, or "none found" as a value
    material: Material | None = None
    unit: Unit | None = None
    layout: str = ""
    numbered_from: str = ""
    heat_history: HeatHistory | None = None  # None: not asked, the same as unknown
    pieces_in: int | None = None  # what came with it, counted; None: not counted, 0: nothing came

    # Inspected
    crack_test: Point = Point()
    pressure_before: Point = Point()
    flatness: Point = Point()
    hardness: Point = Point()
    way: InspectionWay | None = None  # how it goes on after that; None: not said
    way_because: str = ""
    # The findings that were there when that was said: it speaks of no later one.
    way_knew: frozenset[str] = frozenset()

    # Before hand-over
    pressure_after: Point = Point()
    parts_counted: Point = Point()

    def port(self, label: str) -> PortFacts:
        """The position with this label."""
        for port in self.ports:
            if port.label == label:
                return port
        raise KeyError(label)

    @property
    def is_scrap(self) -> bool:
        """It was inspected and is not to be worked on."""
        return self.way is InspectionWay.SCRAP

    @property
    def positions(self) -> tuple[Position, ...]:
        """Where the positions lie."""
        return tuple(port.position for port in self.ports)


@dataclass(frozen=True, slots=True)
class JobFacts:
    """A job as the counter tells it."""

    number: str
    today: date
    heads: tuple[HeadFacts, ...] = ()
    promised_on: date | None = None
    place: str = ""  # rack place, as it is written on the rack
    waiting: Waiting | None = None
    waiting_for: str = ""  # which parts, which answer, which welder
    waiting_since: date | None = None
    expected_on: date | None = None
    asked_since: date | None = None  # since when the customer's yes is missing
    ended: Ended | None = None
    ended_on: date | None = None
    voided: bool = False

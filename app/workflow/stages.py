"""Where a position, a head and a job stand: the stage ring, the next step, the words for both."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from app.workflow.facts import HeadFacts, Point, PointState, PortFacts
from app.workflow.gates import Gate, open_points
from app.workflow.requirements import AskedPoint
from app.workflow.words import Page, Stage, StageState, VerifyPart, Work, counted, listed

# The arcs that each kind of work has; the last one stays open until the position is signed.
ARCS: dict[Work, tuple[Stage, ...]] = {
    Work.RING: (Stage.INTAKE, Stage.MEASURE, Stage.SET, Stage.CUT, Stage.VERIFY),
    Work.SEAT_ONLY: (Stage.INTAKE, Stage.MEASURE, Stage.VERIFY),
    Work.GUIDE_ONLY: (Stage.INTAKE, Stage.MEASURE, Stage.VERIFY),
    Work.LEAVE: (Stage.INTAKE,),
    Work.UNDECIDED: (Stage.INTAKE,),
}
PARTS: dict[Work, tuple[VerifyPart, ...]] = {
    Work.RING: (VerifyPart.BORE_PROVED, VerifyPart.RING_IN, VerifyPart.SEAT_FINISHED),
    Work.SEAT_ONLY: (VerifyPart.SEAT_FINISHED,),
    Work.GUIDE_ONLY: (),
    Work.LEAVE: (),
    Work.UNDECIDED: (),
}


@dataclass(frozen=True, slots=True)
class Step:
    """What is next at a position, in the bench's words, and the page for it."""

    screen: str
    page: Page


@dataclass(frozen=True, slots=True)
class PortStage:
    """Where one position stands."""

    stage: Stage
    arcs: tuple[tuple[Stage, StageState], ...]
    parts: tuple[tuple[VerifyPart, bool], ...]
    on_hold: bool
    next: Step | None

    def arc(self, stage: Stage) -> StageState | None:
        """How one arc is drawn; None where this work has no such arc."""
        return dict(self.arcs).get(stage)

    def has(self, part: VerifyPart) -> bool:
        """Whether a part of verify is reached."""
        return dict(self.parts).get(part, False)


class _Opens:
    """The open points of a head, gathered once for all of its positions."""

    def __init__(self, head: HeadFacts, labels: Iterable[str] | None = None) -> None:
        self._points: dict[tuple[Gate, str | None], list[AskedPoint]] = {}
        for gate in (Gate.METAL_OFF, Gate.RING_IN):
            for each in open_points(gate, head, labels):
                self._points.setdefault((gate, each.label), []).append(each)

    def before_metal(self, port: PortFacts, stage: Stage) -> list[AskedPoint]:
        """What keeps an early arc of a position open; the work of the others does not."""
        points = self._points.get((Gate.METAL_OFF, None), []) + self._points.get(
            (Gate.METAL_OFF, port.label), []
        )
        return [
            each
            for each in points
            if each.requirement.closing.stage is stage and each.key != "work"
        ]

    def before_ring(self, port: PortFacts) -> list[AskedPoint]:
        """What keeps the bore unproved; the ring in hand is asked when it goes in."""
        points = self._points.get((Gate.RING_IN, port.label), [])
        return [each for each in points if each.key != "ring_in_hand"]


def stage_of(head: HeadFacts, port: PortFacts) -> PortStage:
    """Where one position stands; for a whole head `stages_of` gathers once."""
    return _stage(_Opens(head, [port.label]), port)


def stages_of(head: HeadFacts) -> dict[str, PortStage]:
    """Where each position stands, by label."""
    opens = _Opens(head)
    return {port.label: _stage(opens, port) for port in head.ports}


def _stage(opens: _Opens, port: PortFacts) -> PortStage:
    """The first of its arcs with an open point.

    A later arc may be done before an earlier one (a shop works along the head, not down a form);
    it is then drawn done, and the first open one is now.
    """
    closed = {stage: _is_closed(opens, port, stage) for stage in ARCS[port.work]}
    stage = next((each for each, is_closed in closed.items() if not is_closed), Stage.DONE)
    arcs = tuple(
        (
            each,
            StageState.NOW
            if each is stage
            else StageState.DONE
            if is_closed
            else StageState.TO_COME,
        )
        for each, is_closed in closed.items()
    )
    reached = tuple((part, _has_part(opens, port, part)) for part in PARTS[port.work])
    return PortStage(
        stage=stage,
        arcs=arcs,
        parts=reached,
        on_hold=port.hold is not None,
        next=_next_step(opens, port, stage),
    )


def order_at_bench(stage: Stage, page: Page) -> int:
    """What comes first at the bench: what can be done on the machine now, then what is behind.

    A cutter that is set is used before the next one is planned; a bore that is proved gets its
    ring before that too, and a hot head is proved cold before anything of it is read. The seats
    are finished once the rings are in: pressing and heat move the others. Signing waits for the
    rest.
    """
    if stage is Stage.CUT:
        return -3
    if stage is Stage.VERIFY and page in (Page.RING_IN, Page.HEAT):
        return -2 if page is Page.RING_IN else -1
    return list(Stage).index(stage) + (page is Page.SIGNATURE)


def progress(head: HeadFacts) -> str:
    """The head in one line: ``2 of 2 seat rings in, waiting for pressure test``."""
    if not head.ports:
        return "taken in, valve layout open"
    undecided = [port for port in head.ports if port.work is Work.UNDECIDED]
    if len(undecided) == len(head.ports):
        return "taken in, work of each position to be decided"
    at = stages_of(head)
    done = _done_so_far(head, at)
    if undecided:
        return f"{done}, work of {counted(len(undecided), 'position')} to be decided"
    rest = _rest(head, at)
    return f"{done}, {rest}" if rest else done


def least_stage(heads: tuple[HeadFacts, ...]) -> Stage:
    """The stage of what is furthest behind: a job is only as far as its last position."""
    order = list(Stage)
    stages = [
        at.stage
        for head in _worked_on(heads)
        for port, at in zip(head.ports, stages_of(head).values(), strict=True)
        if port.work is not Work.LEAVE
    ]
    return min(stages, key=order.index, default=Stage.INTAKE)


def is_ready(heads: tuple[HeadFacts, ...]) -> bool:
    """Whether nothing but the hand-over itself is left."""
    return bool(heads) and all(
        head.ports
        and not open_points(Gate.HAND_OVER, head)
        and all(port.work is not Work.UNDECIDED for port in head.ports)
        for head in _worked_on(heads)
    )


def _worked_on(heads: tuple[HeadFacts, ...]) -> tuple[HeadFacts, ...]:
    """One that was scrapped holds up no other of its job."""
    return tuple(head for head in heads if not head.is_scrap) or heads


def _is_closed(opens: _Opens, port: PortFacts, stage: Stage) -> bool:
    if stage is Stage.INTAKE:
        return port.work is not Work.UNDECIDED and not opens.before_metal(port, stage)
    if stage is Stage.MEASURE:
        return _is_measured(opens, port)
    if stage is Stage.SET:
        return port.setting.is_closed_by_value
    if stage is Stage.CUT:
        return port.cut.is_closed_by_value and not any(
            each.requirement.closing.stage is stage for each in opens.before_ring(port)
        )
    return (
        port.signed.is_closed_by_value
        and port.hold is None
        and not port.no_longer_stands
        and all(_has_part(opens, port, part) for part in PARTS[port.work])
    )


def _is_measured(opens: _Opens, port: PortFacts) -> bool:
    if port.work is Work.GUIDE_ONLY:
        return _is_settled(port.guide_fit)
    if opens.before_metal(port, Stage.MEASURE):
        return False
    return port.work is not Work.RING or (
        port.ring_read.is_closed_by_value and port.target.is_closed_by_value
    )


def _is_settled(point: Point) -> bool:
    return point.state in (PointState.CLOSED, PointState.NOT_DONE)


def _has_part(opens: _Opens, port: PortFacts, part: VerifyPart) -> bool:
    if part is VerifyPart.BORE_PROVED:
        return not opens.before_ring(port)
    if part is VerifyPart.RING_IN:
        return port.ring_in.is_closed_by_value
    return all(_is_settled(each) for each in (port.seat_width, port.seat_run_out, port.stem_after))


def _next_step(opens: _Opens, port: PortFacts, stage: Stage) -> Step | None:
    if port.hold is not None:
        return Step("choose a way out", Page.HOLD)
    if stage is Stage.DONE:
        return None
    if stage is Stage.INTAKE:
        if port.work is Work.UNDECIDED:
            return Step("decide its work", Page.POSITIONS)
        return _close_first(opens.before_metal(port, stage))
    if stage is Stage.MEASURE:
        return _next_measuring(opens, port)
    if stage is Stage.SET:
        return Step("set the cutter", Page.SETTING)
    if stage is Stage.CUT:
        if port.opened_unrecorded:
            return Step(f"opened at {port.opened_unrecorded}: was it cut?", Page.CUT)
        return Step("gauge the bore" if port.cut.is_closed_by_value else "cut and gauge", Page.CUT)
    return _next_verifying(opens, port)


def _close_first(points: list[AskedPoint]) -> Step:
    # The position is named before its step, wherever that is told.
    first = replace(points[0], label=None)
    if first.point.state is PointState.NOT_OK and first.page is Page.INSPECTIONS:
        return Step(f"say how the head goes on: {first.told}", first.page)
    return Step(f"{first.told} is still open", first.page)


def _next_measuring(opens: _Opens, port: PortFacts) -> Step:
    if port.work is Work.GUIDE_ONLY:
        return Step("service and measure the guide", Page.GUIDES)
    points = opens.before_metal(port, Stage.MEASURE)
    if points:
        return _close_first(points)
    if port.wanted_ring:
        return Step(f"wait for the ring: {port.wanted_ring}", Page.RING_SET)
    if not port.ring_read.is_closed_by_value:
        why = f" ({port.ring_read.told})" if port.ring_read.told else ""
        return Step(f"measure the ring{why}", Page.RING_SET)
    why = f" ({port.target.told})" if port.target.told else ""
    return Step(f"work out the bore{why}", Page.SETTING)


def _next_verifying(opens: _Opens, port: PortFacts) -> Step:
    for part in PARTS[port.work]:
        if _has_part(opens, port, part):
            continue
        if part is VerifyPart.BORE_PROVED:
            return _close_first(opens.before_ring(port))
        if part is VerifyPart.RING_IN:
            if port.edge_question_open:
                return Step("close to the edge: read again, or press the ring", Page.CUT)
            return Step("press the ring", Page.RING_IN)
        if port.is_warm:
            return Step("let the head cool, then prove the ring down", Page.HEAT)
        return Step("finish the seat", Page.FINISH)
    return Step("sign", Page.SIGNATURE)


def _done_so_far(head: HeadFacts, at: Mapping[str, PortStage]) -> str:
    rings = [port.label for port in head.ports if port.work is Work.RING]
    seats = [port.label for port in head.ports if port.work is Work.SEAT_ONLY]
    guides = [port for port in head.ports if port.work is Work.GUIDE_ONLY]
    if rings:
        into = sum(at[label].has(VerifyPart.RING_IN) for label in rings)
        return f"{into} of {counted(len(rings), 'seat ring')} in"
    if seats:
        finished = sum(at[label].has(VerifyPart.SEAT_FINISHED) for label in seats)
        return f"{finished} of {counted(len(seats), 'seat')} finished"
    if guides:
        settled = sum(_is_settled(port.guide_fit) for port in guides)
        return f"{settled} of {counted(len(guides), 'guide')} done"
    return "every position left as it is"


def _rest(head: HeadFacts, at: Mapping[str, PortStage]) -> str:
    """What the head is at, or waits for, in the counter's words."""
    order = list(Stage)
    without_ring = [
        at[port.label]
        for port in head.ports
        if port.work is Work.RING and not at[port.label].has(VerifyPart.RING_IN)
    ]
    under_way = [each.stage for each in without_ring if not each.on_hold]
    if under_way:
        return _COUNTER_WORDS[min(under_way, key=order.index)]
    if without_ring:
        return ""  # all that is left is on hold, which is told in its own sentence
    early = [each.stage for each in at.values() if each.stage in (Stage.INTAKE, Stage.MEASURE)]
    if early:
        return _COUNTER_WORDS[min(early, key=order.index)]
    unfinished = [
        port.label
        for port in head.ports
        if VerifyPart.SEAT_FINISHED in PARTS[port.work]
        and not at[port.label].has(VerifyPart.SEAT_FINISHED)
    ]
    if unfinished:
        return f"{counted(len(unfinished), 'seat')} to finish"
    open_keys = {each.key for each in open_points(Gate.HAND_OVER, head)}
    return next((words for key, words in _WAITS.items() if key in open_keys), "ready for hand-over")


_WAITS = {
    "pressure_after": "waiting for pressure test",
    "consent": "waiting for consent that covers the work",
    "signed": "waiting for signature",
    "parts_counted": "parts to be counted out",
}
_COUNTER_WORDS = {
    Stage.INTAKE: "being taken in",
    Stage.MEASURE: "being measured",
    Stage.SET: "cutter to be set",
    Stage.CUT: "counterbores being cut",
    Stage.VERIFY: "seat rings going in",
}


def holds(head: HeadFacts) -> tuple[str, ...]:
    """The labels of the positions on hold."""
    return tuple(port.label for port in head.ports if port.hold is not None)


def told_holds(labels: tuple[str, ...]) -> str:
    """``3E is on hold``, ``2E and 3E are on hold``."""
    return f"{listed(labels)} {'is' if len(labels) == 1 else 'are'} on hold" if labels else ""

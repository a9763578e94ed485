"""What was found and decided on heads, counted as a price list asks for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.workflow.facts import HeadFacts, Point, PointState, PortFacts
from app.workflow.kinds import PricedBy, Said
from app.workflow.words import GuideDecision, SeatNow, Work, listed


class Finding(Said):
    """What a price of the list can be proposed by."""

    JOB = "job", "every job"
    HEAD = "head", "every head"
    SEAT_RING = "seat_ring", "a position that gets a seat ring"
    OLD_RING_OUT = "old_ring_out", "an old seat ring that comes out"
    SEAT = "seat", "a seat that is cut, also on a new ring"
    GUIDE = "guide", "a guide that is serviced"
    CRACK_TEST = "crack_test", "a crack test that was done"
    PRESSURE_TEST = "pressure_test", "a pressure test that was done"
    HARDNESS = "hardness", "a hardness test that was done"
    DECK = "deck", "a deck that was cut"
    VALVE_REFACED = "valve_refaced", "a valve that was refaced"
    VALVE_NEW = "valve_new", "a new valve"
    VACUUM_TEST = "vacuum_test", "a vacuum test that was done"


@dataclass(frozen=True, slots=True)
class AlsoDone:
    """What a head's facts do not tell and a price list asks for; positions by label, in order."""

    deck_was_cut: bool = False
    refaced: tuple[str, ...] = ()
    new_valves: tuple[str, ...] = ()
    vacuum_tested: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """How often a finding was made, and where."""

    heads: int
    positions: int
    because: str

    def pieces(self, priced_by: PricedBy) -> int:
        """How many times a price holds."""
        if priced_by is PricedBy.JOB:
            return 1
        return self.heads if priced_by is PricedBy.HEAD else self.positions


_DONE = (PointState.CLOSED, PointState.NOT_OK)
_OLD_RINGS = frozenset({SeatNow.RING, SeatNow.OVERSIZE_RING, SeatNow.WELDED})
_OF_PORT: dict[Finding, Callable[[PortFacts], bool]] = {
    Finding.SEAT_RING: lambda port: port.work is Work.RING,
    Finding.OLD_RING_OUT: lambda port: port.work is Work.RING and port.seat_now in _OLD_RINGS,
    Finding.SEAT: lambda port: port.work in (Work.RING, Work.SEAT_ONLY),
    Finding.GUIDE: lambda port: port.guide_decision is GuideDecision.SERVICED,
}
_OF_HEAD: dict[Finding, Callable[[HeadFacts], tuple[Point, ...]]] = {
    Finding.CRACK_TEST: lambda head: (head.crack_test,),
    Finding.PRESSURE_TEST: lambda head: (head.pressure_before, head.pressure_after),
    Finding.HARDNESS: lambda head: (head.hardness,),
}


_ALSO: dict[Finding, Callable[[AlsoDone], tuple[str, ...]]] = {
    Finding.VALVE_REFACED: lambda also: also.refaced,
    Finding.VALVE_NEW: lambda also: also.new_valves,
    Finding.VACUUM_TEST: lambda also: also.vacuum_tested,
}


def found_on(heads: Sequence[HeadFacts], also: Sequence[AlsoDone]) -> dict[Finding, Found]:
    """What was found and done on the heads of a job; `also` goes head by head beside their facts.

    A finding that was not made is left out.
    """
    found = {
        Finding.JOB: Found(1, 1, ""),
        Finding.HEAD: Found(len(heads), len(heads), _named(heads)),
    }
    at: dict[Finding, list[list[str]]] = {
        finding: [[port.label for port in head.ports if holds(port)] for head in heads]
        for finding, holds in _OF_PORT.items()
    }
    at |= {finding: [list(labels(each)) for each in also] for finding, labels in _ALSO.items()}
    for finding, by_head in at.items():
        told = [
            f"{head.name} {label}".strip() if len(heads) > 1 else label
            for head, own in zip(heads, by_head, strict=True)
            for label in own
        ]
        if told:
            found[finding] = Found(sum(1 for own in by_head if own), len(told), listed(told))
    for finding, points in _OF_HEAD.items():
        # A test that failed was done; one that was not done costs nothing.
        done = [sum(1 for point in points(head) if point.state in _DONE) for head in heads]
        if any(done):
            tested = [head for head, times in zip(heads, done, strict=True) if times]
            found[finding] = Found(sum(done), sum(done), _named(tested))
    decks = [head for head, each in zip(heads, also, strict=True) if each.deck_was_cut]
    if decks:
        found[Finding.DECK] = Found(len(decks), len(decks), _named(decks))
    return {finding: one for finding, one in found.items() if one.heads}


def _named(heads: Sequence[HeadFacts]) -> str:
    return listed([head.name for head in heads if head.name])

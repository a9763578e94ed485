"""What a changed fact leaves without ground: applied and told, never worked out again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.workflow.changes import OF_QUANTITY, Change
from app.workflow.kinds import Quantity, ResultKind
from app.workflow.stale_table import (
    AFTER_THE_CUT,
    AFTER_THE_RING,
    SPENT_BY_THE_CUT,
    STALE,
    Phase,
)
from app.workflow.words import listed, sentence

__all__ = [
    "Change",
    "Phase",
    "Stale",
    "change_of",
    "instrument_failed",
    "still_matters",
    "what_no_longer_stands",
]


@dataclass(frozen=True, slots=True)
class Stale:
    """What no longer stands after a change, what to redo, and what is still good."""

    change: Change
    phase: Phase
    no_longer_stands: tuple[ResultKind, ...]
    redo: str
    still_good: str
    drops_overcut: bool  # what was learned of the cutter from this bore no longer counts

    @property
    def told(self) -> str:
        """The whole in words, for the page and the log."""
        gone = listed([each.screen for each in self.no_longer_stands])
        head = f"No longer stands: {gone}" if gone else "Nothing accepted rested on it"
        parts = [f"{sentence(self.change.screen)} {head}.", self.redo]
        if self.still_good:
            parts.append(f"Still good: {self.still_good}.")
        return " ".join(part for part in parts if part)


def what_no_longer_stands(change: Change, phase: Phase) -> Stale:
    """What a change leaves without ground at a position that is this far."""
    row = STALE[change]
    if phase is Phase.SIGNED and not row.reaches_signed:
        return Stale(change, phase, (), "", "everything, as it was signed", False)
    redo, still_good = row.at(phase)
    gone = row.rests_on_it
    if phase is Phase.BEFORE_CUT:
        gone = gone - AFTER_THE_CUT
    else:
        gone = gone - SPENT_BY_THE_CUT
    if phase in (Phase.BEFORE_CUT, Phase.CUT):
        gone = gone - AFTER_THE_RING
    order = list(ResultKind)
    return Stale(
        change=change,
        phase=phase,
        no_longer_stands=tuple(sorted(gone, key=order.index)),
        redo=redo,
        still_good=still_good,
        drops_overcut=row.drops_overcut and phase is not Phase.BEFORE_CUT,
    )


def still_matters(kind: ResultKind, phase: Phase) -> bool:
    """Whether a result of this kind must stand for what comes next; some are spent by the cut.

    A setting that no longer stands stops the next cut; at a bore that is cut it stops nothing.
    """
    if kind is ResultKind.OVERCUT:
        return False
    return phase is Phase.BEFORE_CUT or kind not in SPENT_BY_THE_CUT


def change_of(quantity: Quantity) -> Change:
    """What a struck reading of this quantity is."""
    return OF_QUANTITY[quantity]


def instrument_failed(quantities: Iterable[Quantity], phase: Phase) -> tuple[Stale, ...]:
    """What an instrument that failed its check takes along: all that it read since the last one."""
    changes = {OF_QUANTITY[quantity] for quantity in quantities}
    return tuple(what_no_longer_stands(each, phase) for each in Change if each in changes)

"""What rests on each fact that can change, and what to redo: one table, line by line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.workflow.changes import Change
from app.workflow.kinds import ResultKind, Said


class Phase(Said):
    """How far the position is; it decides what can still be redone."""

    BEFORE_CUT = "before_cut", "before the cut"
    CUT = "cut", "bored"
    RING_IN = "ring_in", "ring in"
    SIGNED = "signed"


@dataclass(frozen=True, slots=True)
class Row:
    """One change: what rests on the fact, and by phase what to redo and what is still good."""

    rests_on_it: frozenset[ResultKind]
    before: tuple[str, str]
    cut: tuple[str, str]
    ring_in: tuple[str, str]
    drops_overcut: bool = False
    # Strikes reach what is signed; a rule, a tip or a pilot of today does not.
    reaches_signed: bool = True

    def at(self, phase: Phase) -> tuple[str, str]:
        """What to redo and what is still good, this far on."""
        if phase is Phase.BEFORE_CUT:
            return self.before
        return self.cut if phase is Phase.CUT else self.ring_in


# Once the bore is cut these have done their work: a new one would change nothing.
SPENT_BY_THE_CUT = frozenset(
    {
        ResultKind.DEPTH_STOP,
        ResultKind.CLEAN_UP,
        ResultKind.WALL_WEB,
        ResultKind.PLAN,
        ResultKind.SETTING,
    }
)
AFTER_THE_CUT = frozenset({ResultKind.VERIFICATION})
AFTER_THE_RING = frozenset({ResultKind.RING_IN, ResultKind.FINISH})

_SIZES = frozenset(
    {
        ResultKind.RING_SET,
        ResultKind.TARGET,
        ResultKind.CLEAN_UP,
        ResultKind.WALL_WEB,
        ResultKind.PLAN,
        ResultKind.SETTING,
        ResultKind.VERIFICATION,
    }
)

STALE: Mapping[Change, Row] = MappingProxyType(
    {
        Change.RING_OD_STRUCK: Row(
            _SIZES,
            before=(
                "Read the ring again; work out bore, plan and setting anew.",
                "ring height, depth stop, pocket, guide and stem readings",
            ),
            cut=(
                "Read the ring again; work out its target and judge the bore with it.",
                "bore and depth as gauged, guide and stem readings",
            ),
            ring_in=(
                "The ring is in and cannot be read: keep the other readings with a reason, or "
                "put the position on hold.",
                "bore and depth as gauged, seat finish, stem readings",
            ),
        ),
        Change.RING_HEIGHT_STRUCK: Row(
            frozenset({ResultKind.DEPTH_STOP, ResultKind.VERIFICATION}),
            before=("Read the height again; work out the depth stop anew.", "bore and setting"),
            cut=(
                "Read the height again and judge the depth with it.",
                "bore and depth as gauged, ring outside",
            ),
            ring_in=(
                "Check how the ring stands: proud, flush or recessed.",
                "bore and depth as gauged, ring outside, seat finish",
            ),
        ),
        Change.INSPECTION_STRUCK: Row(
            frozenset(),
            before=("Read it again before it is decided how the head goes on.", "all sizes"),
            cut=("Read it again before hand-over.", "all sizes, bores and verdicts"),
            ring_in=("Read it again before hand-over.", "all sizes, bores and verdicts"),
        ),
        Change.RING_ID_STRUCK: Row(
            frozenset(),
            before=("Read the inside again before the seat is planned.", "bore, depth, setting"),
            cut=("Read the inside again before the ring goes in.", "bore, depth and verdict"),
            ring_in=("Look at throat and seat width again.", "bore, depth, verdict and ring in"),
        ),
        Change.OD_CHECK_STRUCK: Row(
            frozenset({ResultKind.RING_IN}),
            before=("Read the ring in hand again before it goes in.", "everything measured"),
            cut=("Read the ring in hand again before it goes in.", "bore, depth and verdict"),
            ring_in=(
                "Which ring is in is no longer proved: keep it with a reason, or put the position "
                "on hold.",
                "bore and depth as gauged, seat finish",
            ),
        ),
        Change.RINGS_SWAPPED: Row(
            _SIZES - {ResultKind.RING_SET} | {ResultKind.DEPTH_STOP, ResultKind.RING_IN},
            before=(
                "Work out bore, depth, plan and setting for the ring that is to go in.",
                "every reading of the rings, pocket, guide and stem readings",
            ),
            cut=(
                "Judge bore and depth with the ring that is to go in.",
                "bore and depth as gauged, every reading of the rings",
            ),
            ring_in=(
                "Judge bore and depth with the ring that is in.",
                "bore and depth as gauged, every reading of the rings, seat finish",
            ),
        ),
        Change.BORE_STRUCK: Row(
            frozenset({ResultKind.VERIFICATION}),
            before=("", "target, plan and setting"),
            cut=("Gauge the bore again.", "ring, target, depth"),
            ring_in=(
                "The ring is in and the bore cannot be gauged: keep the other readings with a "
                "reason, or put the position on hold.",
                "ring, target, depth, seat finish",
            ),
            drops_overcut=True,
        ),
        Change.BORE_READ_AGAIN: Row(
            frozenset({ResultKind.VERIFICATION}),
            before=("", "target, plan and setting"),
            cut=("Gauge both afresh.", "ring and target"),
            ring_in=(
                "The ring is in and the bore cannot be gauged: put the position on hold.",
                "ring, target, seat finish",
            ),
            drops_overcut=True,
        ),
        Change.DEPTH_STRUCK: Row(
            frozenset({ResultKind.VERIFICATION}),
            before=("", "target, plan and setting"),
            cut=("Gauge the depth again.", "bore as gauged, ring, target"),
            ring_in=(
                "Check how the ring stands: proud, flush or recessed.",
                "bore as gauged, ring, seat finish",
            ),
        ),
        Change.OLD_POCKET_STRUCK: Row(
            frozenset({ResultKind.CLEAN_UP, ResultKind.DEPTH_STOP, ResultKind.WALL_WEB}),
            before=(
                "Read the old pocket again; look at clean-up and depth anew.",
                "ring, target and setting",
            ),
            cut=(
                "Look whether the bore cleaned up all round; the old pocket is gone.",
                "bore and depth as gauged, verdict",
            ),
            ring_in=("", "bore, depth, verdict, ring in and finish"),
        ),
        Change.WALL_STRUCK: Row(
            frozenset({ResultKind.WALL_WEB}),
            before=("Read it again, or say “not known”.", "ring, target, setting"),
            cut=("Read it again, or say “not known”.", "bore, depth and verdict"),
            ring_in=("Say “not known”.", "bore, depth, verdict, ring in and finish"),
        ),
        Change.GUIDE_STRUCK: Row(
            frozenset({ResultKind.PILOT_FIT}),
            before=("Read the guide again; look at the pilot's fit anew.", "ring, target, setting"),
            cut=(
                "Read the guide again: run-out of the bore to it is not known.",
                "bore and depth as gauged, verdict",
            ),
            ring_in=(
                "Read the guide again and check the seat's run-out.",
                "bore, depth, verdict and ring in",
            ),
        ),
        Change.GUIDE_REPLACED: Row(
            frozenset(
                {
                    ResultKind.PILOT_FIT,
                    ResultKind.CLEAN_UP,
                    ResultKind.SETTING,
                    ResultKind.FINISH,
                    ResultKind.GUIDE_GRIP,
                }
            ),
            before=(
                "Measure the new guide, fit the pilot to it, and read the old pocket's run-out "
                "again; set the cutter again when it is measured across the pilot.",
                "ring, target and plan",
            ),
            cut=(
                "Measure the new guide and check that the bore runs true to it before the ring "
                "goes in.",
                "bore and depth as gauged, verdict",
            ),
            ring_in=(
                "Measure the new guide; cut the seat again from it, with width, run-out and stem "
                "height.",
                "bore and depth as gauged, verdict, ring in",
            ),
        ),
        Change.NEW_GUIDE_STRUCK: Row(
            frozenset({ResultKind.GUIDE_GRIP}),
            before=(
                "Read the new guide and its bore again where they can still be reached; else say "
                "how the guide holds.",
                "guide bore, ring, target, setting",
            ),
            cut=(
                "Look whether the guide holds in the head: its grip is not known.",
                "bore and depth as gauged, verdict",
            ),
            ring_in=(
                "Look whether the guide holds in the head: its grip is not known.",
                "bore, depth, verdict, ring in and finish",
            ),
        ),
        Change.PILOT_RE_MEASURED: Row(
            frozenset({ResultKind.PILOT_FIT, ResultKind.SETTING}),
            before=(
                "Look at the pilot's fit anew; set the cutter again when it is measured across "
                "the pilot.",
                "ring, target, plan, depth stop",
            ),
            cut=("Look at the pilot's fit anew.", "bore and depth as gauged, verdict"),
            ring_in=(
                "Check the seat's run-out.",
                "bore and depth as gauged, verdict, ring in and finish",
            ),
            drops_overcut=True,
            reaches_signed=False,
        ),
        Change.FIXTURE_STRUCK: Row(
            frozenset({ResultKind.SETTING}),
            before=("Read the fixture again before anything is cut.", "ring, target, plan"),
            cut=(
                "Read the fixture again before the next position is cut.",
                "bore and depth as gauged, verdict",
            ),
            ring_in=("", "bore and depth as gauged, verdict, ring in and finish"),
            drops_overcut=True,
        ),
        Change.TIP_CHANGED: Row(
            frozenset({ResultKind.SETTING}),
            before=(
                "Set the cutter anew; the overcut of the new tip is not known, go under size "
                "first.",
                "ring, target, plan, depth",
            ),
            cut=("", "bore and depth as gauged, verdict"),
            ring_in=("", "bore and depth as gauged, verdict, ring in and finish"),
            reaches_signed=False,
        ),
        Change.TOUCH_OFF_CHANGED: Row(
            frozenset({ResultKind.DEPTH_STOP}),
            before=("Touch off and work out the depth stop anew.", "ring, target and setting"),
            cut=("", "bore and depth as gauged, verdict"),
            ring_in=("", "bore and depth as gauged, verdict, ring in and finish"),
            reaches_signed=False,
        ),
        Change.RULE_CHANGED: Row(
            _SIZES,
            before=(
                "Work out bore, plan and setting by the new rule.",
                "every reading, depth stop",
            ),
            cut=("Judge the bore by the new rule.", "every reading, bore and depth as gauged"),
            ring_in=(
                "Judge the bore by the new rule.",
                "every reading, ring in and finish",
            ),
            reaches_signed=False,
        ),
        Change.RING_EXPANSION_CHANGED: Row(
            _SIZES - {ResultKind.RING_SET},
            before=(
                "Work out bore, plan and setting with the rings' new size at 20 °C.",
                "every reading, depth stop",
            ),
            cut=(
                "Judge the bore with the ring's new size at 20 °C.",
                "every reading, bore and depth as gauged",
            ),
            ring_in=(
                "Judge the bore with the ring's new size at 20 °C.",
                "every reading, bore and depth as gauged, ring in and finish",
            ),
            reaches_signed=False,
        ),
        Change.HEAD_EXPANSION_CHANGED: Row(
            frozenset({ResultKind.VERIFICATION}),
            before=("", "target, plan and setting"),
            cut=(
                "Judge the bore again: its size at 20 °C is another.",
                "every reading, bore and depth as gauged, target",
            ),
            ring_in=(
                "Judge the bore again: its size at 20 °C is another.",
                "every reading, bore and depth as gauged, ring in and finish",
            ),
            drops_overcut=True,
            reaches_signed=False,
        ),
        Change.STEM_STRUCK: Row(
            frozenset({ResultKind.FINISH}),
            before=("Read the stem height again before metal comes off.", "ring, target, setting"),
            cut=(
                "The stem height as it came in is gone: take the book figure, or say why not.",
                "bore, depth and verdict",
            ),
            ring_in=(
                "The stem height as it came in is gone: take the book figure, or say why not.",
                "bore, depth, verdict and ring in",
            ),
        ),
        Change.SEAT_STRUCK: Row(
            frozenset({ResultKind.FINISH}),
            before=("", "ring, target and setting"),
            cut=("", "bore, depth and verdict"),
            ring_in=("Read it again.", "bore, depth, verdict and ring in"),
        ),
    }
)

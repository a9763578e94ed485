"""From what was measured to go on, ask, or hold, with the words for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.calc.shown import ShownSum, shown_sum
from app.calc.units import Length
from app.workflow.kinds import HoldReason, Said, Unit, Verdict
from app.workflow.words import DecisionRule, sentence


class Decision(Said):
    """What follows from a measurement, from the mildest to the hardest."""

    GO_ON = "go_on", "go on"
    ASK = "ask", "read again?"
    HOLD = "hold", "on hold"


@dataclass(frozen=True, slots=True)
class Judgement:
    """What follows, why when it is a hold, and the words."""

    decision: Decision
    told: str
    reason: HoldReason | None = None


@dataclass(frozen=True, slots=True)
class Fit:
    """An interference with its window and its possible error."""

    interference: Length
    least: Length
    most: Length
    uncertainty: Length


def judge_fit(
    verdict: Verdict, rule: DecisionRule, close_to_edge: bool, fit: Fit, unit: Unit
) -> Judgement:
    """Hold outside the window; inside it the shop's decision rule decides.

    Under the simple rule a figure near an edge only asks for another reading; under the stricter
    ones what is not proved inside is held.
    """
    if verdict is Verdict.LOOSE:
        limit, found, short = _difference(fit.least, fit.interference, unit)
        return Judgement(
            Decision.HOLD,
            f"Too loose by {short}: interference {found}, needs {limit}.",
            HoldReason.LOOSE,
        )
    if verdict is Verdict.TIGHT:
        found, limit, over = _difference(fit.interference, fit.most, unit)
        return Judgement(
            Decision.HOLD,
            f"Too tight by {over}: interference {found}, at most {limit}.",
            HoldReason.TIGHT,
        )
    found = fit_shown(fit.interference, unit)
    window = f"{limit_shown(fit.least, unit)}–{limit_shown(fit.most, unit)}"
    error = f"possible error ±{fit_shown(fit.uncertainty, unit)}"
    if verdict is Verdict.DOUBTFUL and rule is not DecisionRule.SIMPLE:
        return Judgement(
            Decision.HOLD,
            f"Not proved inside by the shop's decision rule: interference {found}, "
            f"window {window}, {error}.",
            HoldReason.NOT_PROVED,
        )
    if close_to_edge or verdict is Verdict.DOUBTFUL:
        return Judgement(
            Decision.ASK,
            f"Close to the edge, read again? Interference {found}, window {window}, {error}.",
        )
    return Judgement(
        Decision.GO_ON, f"Inside by these readings: interference {found}, window {window}."
    )


def judge_depth(measured: Length, wanted: Length, tolerance: Length, unit: Unit) -> Judgement:
    """Depth within the shop's tolerance, ends included."""
    off = measured - wanted
    told = f"depth {depth_shown(measured, unit)}, wanted {depth_shown(wanted, unit)}"
    within = f"±{depth_shown(tolerance, unit)}"
    if abs(off) <= tolerance:
        return Judgement(Decision.GO_ON, sentence(f"{told}, within {within}"))
    reason = HoldReason.DEEP if off > Length(0) else HoldReason.SHALLOW
    by = depth_shown(abs(off), unit)
    return Judgement(
        Decision.HOLD, sentence(f"{reason.screen} by {by}: {told}, allowed {within}"), reason
    )


def judge_roundness(difference: Length, limit: Length, unit: Unit) -> Judgement:
    """Largest less smallest reading across one height, against the shop's limit."""
    return _judge_shape("out of round", HoldReason.OUT_OF_ROUND, difference, limit, unit)


def judge_taper(difference: Length, limit: Length, unit: Unit) -> Judgement:
    """Difference between the heights of one bore, against the shop's limit."""
    return _judge_shape("tapered", HoldReason.TAPER, difference, limit, unit)


def judge_together(judgements: Iterable[Judgement]) -> Judgement:
    """The hardest of several, with the words of all that ask or hold."""
    order = list(Decision)
    every = sorted(judgements, key=lambda each: -order.index(each.decision))
    if not every:
        raise ValueError("nothing was judged")
    first = every[0]
    if first.decision is Decision.GO_ON:
        return Judgement(Decision.GO_ON, " ".join(each.told for each in every))
    told = " ".join(each.told for each in every if each.decision is not Decision.GO_ON)
    return Judgement(first.decision, told, first.reason)


def _judge_shape(
    words: str, reason: HoldReason, difference: Length, limit: Length, unit: Unit
) -> Judgement:
    told = f"{words} by {limit_shown(difference, unit)}, allowed {limit_shown(limit, unit)}"
    if difference <= limit:
        return Judgement(Decision.GO_ON, sentence(told))
    return Judgement(Decision.HOLD, sentence(f"bore {told}"), reason)


def _difference(larger: Length, smaller: Length, unit: Unit) -> tuple[str, str, str]:
    """Both figures and what is between them, with as many digits as it takes to subtract."""
    shown = shown_sum(parts=((1, larger.nm), (-1, smaller.nm)), unit=unit.value, limits=(0,))
    return shown.parts[0], shown.parts[1], shown.total


def fit_sum(ring_od: Length, bore: Length, unit: Unit, limits: Iterable[Length] = ()) -> ShownSum:
    """Ring, bore, and the interference between them: three texts of one sum that adds up."""
    return shown_sum(
        parts=((1, ring_od.nm), (-1, bore.nm)),
        unit=unit.value,
        limits=[limit.nm for limit in limits],
    )


def fit_shown(length: Length, unit: Unit) -> str:
    """An interference, with one digit more than the readings."""
    return length.shown(unit.value, inch_places=5, mm_places=4)


def limit_shown(length: Length, unit: Unit) -> str:
    """A limit, with the digits of the readings."""
    return length.shown(unit.value, inch_places=4, mm_places=3)


def depth_shown(length: Length, unit: Unit) -> str:
    """A depth, with the digits of the readings."""
    return length.shown(unit.value, inch_places=4, mm_places=2)

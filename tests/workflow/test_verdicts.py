"""Measured, and then: go on, ask, or hold."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.calc.units import Length
from app.workflow.kinds import HoldReason, Unit, Verdict
from app.workflow.verdicts import (
    Decision,
    Fit,
    judge_depth,
    judge_fit,
    judge_roundness,
    judge_taper,
    judge_together,
)
from app.workflow.words import DecisionRule


def fit(interference: str) -> Fit:
    return Fit(Length.of(interference), Length.of(".0030"), Length.of(".0050"), Length.of(".00036"))


STRICT = [DecisionRule.ISO_14253_1_2017, DecisionRule.FULL_GUARD]


@pytest.mark.parametrize("rule", list(DecisionRule))
def test_a_loose_bore_is_held_under_every_rule(rule: DecisionRule) -> None:
    judged = judge_fit(Verdict.LOOSE, rule, True, fit(".0015"), Unit.INCH)
    assert (judged.decision, judged.reason) == (Decision.HOLD, HoldReason.LOOSE)
    assert judged.told == "Too loose by .00150: interference .00150, needs .00300."


@pytest.mark.parametrize("rule", list(DecisionRule))
def test_a_tight_bore_is_held_under_every_rule(rule: DecisionRule) -> None:
    judged = judge_fit(Verdict.TIGHT, rule, True, fit(".0062"), Unit.INCH)
    assert (judged.decision, judged.reason) == (Decision.HOLD, HoldReason.TIGHT)
    assert judged.told == "Too tight by .00120: interference .00620, at most .00500."


def test_near_an_edge_the_simple_rule_only_asks() -> None:
    judged = judge_fit(Verdict.INSIDE, DecisionRule.SIMPLE, True, fit(".0032"), Unit.INCH)
    assert judged.decision is Decision.ASK
    assert judged.reason is None
    assert judged.told.startswith("Close to the edge, read again?")
    assert "±.00036" in judged.told


@pytest.mark.parametrize("rule", STRICT)
def test_a_stricter_rule_holds_what_is_not_proved_inside(rule: DecisionRule) -> None:
    judged = judge_fit(Verdict.DOUBTFUL, rule, True, fit(".0032"), Unit.INCH)
    assert (judged.decision, judged.reason) == (Decision.HOLD, HoldReason.NOT_PROVED)


@pytest.mark.parametrize("rule", list(DecisionRule))
def test_clear_of_both_edges_goes_on_by_these_readings(rule: DecisionRule) -> None:
    judged = judge_fit(Verdict.INSIDE, rule, False, fit(".00395"), Unit.INCH)
    assert judged.decision is Decision.GO_ON
    assert judged.told == "Inside by these readings: interference .00395, window .0030–.0050."


def test_millimetres_are_told_in_millimetres() -> None:
    metric = Fit(*(Length.of(text, "mm") for text in ("0.1780", "0.180", "0.200", "0.004")))
    judged = judge_fit(Verdict.LOOSE, DecisionRule.SIMPLE, True, metric, Unit.MM)
    assert judged.told == "Too loose by 0.0020: interference 0.1780, needs 0.1800."


@pytest.mark.parametrize(
    ("measured", "decision", "reason"),
    [
        (".2500", Decision.GO_ON, None),
        (".2520", Decision.GO_ON, None),
        (".2480", Decision.GO_ON, None),
        (".2521", Decision.HOLD, HoldReason.DEEP),
        (".2479", Decision.HOLD, HoldReason.SHALLOW),
    ],
)
def test_depth_is_held_outside_its_tolerance(
    measured: str, decision: Decision, reason: HoldReason | None
) -> None:
    judged = judge_depth(Length.of(measured), Length.of(".2500"), Length.of(".0020"), Unit.INCH)
    assert (judged.decision, judged.reason) == (decision, reason)


def test_a_shallow_bore_says_by_how_much() -> None:
    judged = judge_depth(Length.of(".2450"), Length.of(".2500"), Length.of(".0020"), Unit.INCH)
    assert judged.told == "Too shallow by .0050: depth .2450, wanted .2500, allowed ±.0020."


def test_a_bore_out_of_round_or_tapered_past_the_limit_is_held() -> None:
    limit = Length.of(".0005")
    assert judge_roundness(Length.of(".0005"), limit, Unit.INCH).decision is Decision.GO_ON
    out = judge_roundness(Length.of(".0006"), limit, Unit.INCH)
    assert (out.decision, out.reason) == (Decision.HOLD, HoldReason.OUT_OF_ROUND)
    assert out.told == "Bore out of round by .0006, allowed .0005."
    assert judge_taper(Length.of(".0006"), limit, Unit.INCH).reason is HoldReason.TAPER


def test_of_several_judgements_the_hardest_counts_and_all_that_ask_are_told() -> None:
    inside = judge_fit(Verdict.INSIDE, DecisionRule.SIMPLE, False, fit(".0040"), Unit.INCH)
    close = judge_fit(Verdict.INSIDE, DecisionRule.SIMPLE, True, fit(".0032"), Unit.INCH)
    deep = judge_depth(Length.of(".2600"), Length.of(".2500"), Length.of(".0020"), Unit.INCH)
    judged = judge_together([inside, close, deep])
    assert (judged.decision, judged.reason) == (Decision.HOLD, HoldReason.DEEP)
    assert judged.told == f"{deep.told} {close.told}"
    assert judge_together([inside]).told == inside.told
    with pytest.raises(ValueError, match="nothing was judged"):
        judge_together([])


def test_a_figure_just_outside_is_never_shown_as_the_limit_itself() -> None:
    just_loose = replace(fit(".0030"), interference=Length.of(".0030") - Length(80))
    judged = judge_fit(Verdict.LOOSE, DecisionRule.SIMPLE, True, just_loose, Unit.INCH)
    assert judged.told == "Too loose by .000003: interference .002997, needs .003000."


def test_nothing_told_calls_a_fit_safe() -> None:
    told = [
        judge_fit(verdict, rule, close, fit(".0040"), Unit.INCH).told
        for verdict in Verdict
        for rule in DecisionRule
        for close in (True, False)
    ]
    assert not any("safe" in each.lower() for each in told)

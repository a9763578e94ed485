"""The shop rules of setting the cutter."""

from __future__ import annotations

from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule

_HERE = RuleGroup.SET

SETTING_RULES: tuple[Definition, ...] = (
    rule(
        "setting_repeatability",
        _HERE,
        ".0001 in",
        "How well a setting repeats, on the reading",
        "setting plan, possible error of a bore; a fixture's own figure wins",
        least="0 in",
        most=".005 in",
    ),
    rule(
        "good_cuts_needed",
        _HERE,
        "5",
        "Good cuts before a tip counts as known",
        "whether the first pass goes under size",
        kind=RuleKind.NUMBER,
        unit="cuts",
        least="1",
        most="50",
        is_whole=True,
    ),
    rule(
        "first_pass_under",
        _HERE,
        ".002 in",
        "First pass under size by",
        "first pass while the tip is little known",
        least="0 in",
        most=".020 in",
    ),
    rule(
        "correction_dead_band",
        _HERE,
        ".0002 in",
        "Leave the cutter alone while a bore is this close to what was expected",
        "correction after a cut",
        least="0 in",
        most=".005 in",
    ),
    rule(
        "overcut_odd",
        _HERE,
        ".002 in",
        "Overcut beyond this is asked about",
        "setting page, bore gauged",
        least=".0002 in",
        most=".020 in",
    ),
)

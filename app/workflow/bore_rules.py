"""The shop rules of proving a bore: its verdict and what it may be off by."""

from __future__ import annotations

from app.calc.sources import Mark
from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule
from app.workflow.words import DecisionRule

_HERE = RuleGroup.VERIFY

BORE_RULES: tuple[Definition, ...] = (
    rule(
        "decision_rule",
        _HERE,
        "simple",
        "How the possible error is taken into a verdict",
        "bore proved, holds",
        kind=RuleKind.WORD,
        choices=DecisionRule,
        source="simple acceptance, ILAC-G8:09/2019",
        mark=Mark.PUBLISHED,
    ),
    rule(
        "reading_repeatability",
        _HERE,
        ".0001 in",
        "How well a reading repeats: twice the standard deviation of readings of one size",
        "possible error of a mean; an instrument's own figure wins",
        least="0 in",
        most=".005 in",
    ),
    rule(
        "master_uncertainty",
        _HERE,
        ".00005 in",
        "Possible error of a master",
        "possible error of what a gauge was zeroed on; the figure of its last check wins",
        least="0 in",
        most=".002 in",
    ),
    rule(
        "temperature_within",
        _HERE,
        "2",
        "A temperature is known within ±",
        "possible error of an interference, from temperatures",
        kind=RuleKind.NUMBER,
        unit="°C",
        least="0",
        most="15",
    ),
    rule(
        "expansion_within",
        _HERE,
        "1.5",
        "The expansion of an alloy may differ from its table by ±",
        "possible error of an interference read away from 20 °C; a maker's own figure wins",
        kind=RuleKind.NUMBER,
        unit="millionths per °C",
        least="0",
        most="10",
    ),
    rule(
        "ring_uncertainty",
        _HERE,
        ".0001 in",
        "Possible error of a ring's mean outside diameter",
        "stands in while the micrometer, or its greatest error, is not known",
        least="0 in",
        most=".010 in",
    ),
    rule(
        "bore_uncertainty",
        _HERE,
        ".0002 in",
        "Possible error of a gauged bore",
        "stands in while the bore gauge, or its greatest error, is not known",
        least="0 in",
        most=".010 in",
    ),
    rule(
        "roundness_limit",
        _HERE,
        ".0005 in",
        "Bore out of round, at most",
        "bore proved",
        least=".0001 in",
        most=".010 in",
    ),
    rule(
        "taper_limit",
        _HERE,
        ".0005 in",
        "Bore taper over its depth, at most",
        "bore proved",
        least=".0001 in",
        most=".010 in",
    ),
    rule(
        "depth_tolerance",
        _HERE,
        ".002 in",
        "Depth may differ by",
        "bore proved",
        least=".0005 in",
        most=".050 in",
    ),
    rule(
        "deviation_limit",
        _HERE,
        ".0005 in",
        "Outside the window by more than this, only an owner signs a deviation",
        "ways out of a hold",
        least="0 in",
        most=".010 in",
    ),
)

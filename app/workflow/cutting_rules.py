"""The shop rules of cutting: speeds, least cut, travel, readings asked for."""

from __future__ import annotations

from app.calc.materials import HeadMaterial
from app.calc.spindle import HEAD_SPEEDS_FT_MIN
from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule

_HERE = RuleGroup.CUT

CUTTING_RULES: tuple[Definition, ...] = (
    *(
        rule(
            f"speed_{metal}_{end}",
            _HERE,
            str(speed),
            f"Surface speed to start with, {words}, {end}",
            "spindle line beside the depth stop, set-up sheet; the makers' figures come first",
            kind=RuleKind.NUMBER,
            unit="ft/min",
            least="10",
            most="2000",
            is_whole=True,
        )
        for metal, words, material in (
            ("iron", "iron", HeadMaterial.GREY_IRON),
            ("aluminium", "aluminium", HeadMaterial.ALUMINIUM),
        )
        for end, speed in zip(("slowest", "fastest"), HEAD_SPEEDS_FT_MIN[material], strict=True)
    ),
    rule(
        "least_cut",
        _HERE,
        ".0010 in",
        "Least cut, on diameter",
        "cut again as a way out: less than this rubs instead of cutting",
        least=".0001 in",
        most=".020 in",
    ),
    rule(
        "travel_allowance",
        _HERE,
        ".040 in",
        "Quill travel to keep beyond the depth",
        "depth stop",
        least="0 in",
        most="1 in",
    ),
    rule(
        "touch_again_minutes",
        _HERE,
        "10",
        "Touch the position again after",
        "confirming the position on the head map",
        kind=RuleKind.NUMBER,
        unit="minutes",
        least="1",
        most="240",
        is_whole=True,
    ),
    rule(
        "bore_readings",
        _HERE,
        "2",
        "Bore readings asked for: across and along at one height",
        "cut and gauge; more heights can be read at any position",
        kind=RuleKind.NUMBER,
        unit="readings",
        least="2",
        most="8",
        is_whole=True,
    ),
)

"""The shop rules of measuring: what is asked about, least metal, flatness and hardness."""

from __future__ import annotations

from app.calc.pilot import LOOSE
from app.calc.sources import Mark
from app.workflow.doubtful import GUIDES_APART, STEMS_APART
from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule

_HERE = RuleGroup.MEASURE

MEASURING_RULES: tuple[Definition, ...] = (
    rule(
        "temperature_c",
        _HERE,
        "20",
        "The shop's temperature of the day",
        "rings, heads and gauges without a temperature of their own",
        kind=RuleKind.NUMBER,
        unit="°C",
        least="-10",
        most="50",
        source="ISO 1:2016: sizes hold at 20 °C",
        mark=Mark.PUBLISHED,
    ),
    rule(
        "readings_apart",
        _HERE,
        ".001 in",
        "Readings this far apart are asked about",
        "every grid of readings: a slip, or is it so?",
        least=".0001 in",
        most=".020 in",
    ),
    rule(
        "stems_apart",
        _HERE,
        f"{STEMS_APART.inches(3)} in",
        "Stem height this far from the others of its kind is asked about",
        "stem heights: a sunk valve stands out by less",
        least=".005 in",
        most=".500 in",
    ),
    rule(
        "guides_apart",
        _HERE,
        f"{GUIDES_APART.inches(3)} in",
        "Guide bore this far from the others of its kind is asked about",
        "guides: one reamed for an oversize stem stands out by more",
        least=".0005 in",
        most=".100 in",
    ),
    rule(
        "pilot_loose",
        _HERE,
        f"{LOOSE.inches(3)} in",
        "A pilot with more clearance than this is loose",
        "guides, setting plan",
        least=".0002 in",
        most=".020 in",
    ),
    rule(
        "clean_up_stock",
        _HERE,
        ".001 in",
        "Metal to take off all round so that an old bore cleans up, on the radius",
        "clean-up of the old bore",
        least="0 in",
        most=".050 in",
    ),
    rule(
        "floor_clean_up",
        _HERE,
        ".002 in",
        "Metal to take off an old floor so that it cleans up",
        "which ring would save a pocket, rings to order",
        least="0 in",
        most=".050 in",
    ),
    rule(
        "least_wall_iron",
        _HERE,
        ".100 in",
        "Least wall behind a counterbore, iron",
        "wall to the water jacket",
        least=".010 in",
        most="1 in",
    ),
    rule(
        "least_wall_aluminium",
        _HERE,
        ".125 in",
        "Least wall behind a counterbore, aluminium",
        "wall to the water jacket",
        least=".010 in",
        most="1 in",
    ),
    rule(
        "least_web",
        _HERE,
        ".060 in",
        "Least web between two counterbores",
        "web to the neighbouring position",
        least=".005 in",
        most="1 in",
    ),
    rule(
        "flat_whole",
        _HERE,
        ".004 in",
        "Deck out of flat over its whole length, at most",
        "deck flatness, for a composite gasket; one of several steel layers asks for about half. "
        "The engine maker's figure wins",
        least=".0002 in",
        most=".050 in",
    ),
    rule(
        "flat_part",
        _HERE,
        ".001 in",
        "Deck out of flat within a part of its length, at most",
        "deck flatness; the engine maker's figure wins",
        least=".0002 in",
        most=".050 in",
    ),
    rule(
        "flat_part_over",
        _HERE,
        "3 in",
        "How long that part is",
        "deck flatness; the engine maker's figure wins",
        least=".5 in",
        most="20 in",
    ),
    *(
        rule(
            f"hardness_{key}",
            _HERE,
            value,
            words,
            "hardness of an aluminium head, mean of three spots",
            kind=RuleKind.NUMBER,
            unit="HB",
            least="20",
            most="250",
        )
        for key, value, words in (
            ("new_least", "100", "New aluminium head: hardness from"),
            ("new_most", "130", "New aluminium head: hardness up to"),
            ("reject", "65", "Aluminium head too soft to go on with: under"),
        )
    ),
)

"""The shop rules of guides; the engine maker's figure wins over each of them."""

from __future__ import annotations

from app.calc.sources import Mark
from app.workflow.shop_rule import Definition, RuleGroup, rule

_HERE = RuleGroup.GUIDES
_WINS = "; the engine maker's figure wins"


def _rule(
    key: str,
    default: str,
    words: str,
    used: str,
    *,
    least: str,
    most: str,
    mark: Mark = Mark.COMMON_PRACTICE,
) -> Definition:
    source = f"{mark.value}{_WINS}"
    return rule(key, _HERE, default, words, used, least=least, most=most, source=source, mark=mark)


GUIDE_RULES: tuple[Definition, ...] = (
    _rule(
        "guide_bell_mouth",
        ".0010 in",
        "Bell-mouth of a guide, at most: an end over the middle",
        "guides, set-up sheet: a pilot leans in a bell-mouthed guide",
        least="0 in",
        most=".020 in",
    ),
    _rule(
        "guide_clearance_asked",
        ".010 in",
        "Clearance of a stem from which it is asked about",
        "guides: a slip, or another valve's stem?",
        least=".002 in",
        most=".100 in",
    ),
    _rule(
        "guide_clearance_least_intake",
        ".0010 in",
        "Least clearance of a stem in a guide that was serviced, intake",
        "size to ream, clearance reached",
        least="0 in",
        most=".020 in",
    ),
    _rule(
        "guide_clearance_most_intake",
        ".0025 in",
        "Most clearance of a stem in a guide that was serviced, intake",
        "size to ream, clearance reached",
        least="0 in",
        most=".020 in",
    ),
    _rule(
        "guide_worn_intake",
        ".0040 in",
        "A guide is worn from this clearance by bore and stem, intake",
        "guides that are left; never held against a reading by rocking",
        least=".0005 in",
        most=".050 in",
    ),
    _rule(
        "guide_rocking_intake",
        ".0080 in",
        "A guide is worn from this reading by rocking, intake",
        "guides read by rocking the valve; never held against a clearance",
        least=".001 in",
        most=".100 in",
        mark=Mark.FROM_MEMORY,
    ),
    _rule(
        "guide_clearance_least_exhaust",
        ".0015 in",
        "Least clearance of a stem in a guide that was serviced, exhaust",
        "size to ream, clearance reached",
        least="0 in",
        most=".020 in",
    ),
    _rule(
        "guide_clearance_most_exhaust",
        ".0030 in",
        "Most clearance of a stem in a guide that was serviced, exhaust",
        "size to ream, clearance reached",
        least="0 in",
        most=".020 in",
    ),
    _rule(
        "guide_worn_exhaust",
        ".0050 in",
        "A guide is worn from this clearance by bore and stem, exhaust",
        "guides that are left; never held against a reading by rocking",
        least=".0005 in",
        most=".050 in",
    ),
    _rule(
        "guide_rocking_exhaust",
        ".0100 in",
        "A guide is worn from this reading by rocking, exhaust",
        "guides read by rocking the valve; never held against a clearance",
        least=".001 in",
        most=".100 in",
        mark=Mark.FROM_MEMORY,
    ),
    _rule(
        "guide_grip_least_iron",
        ".0010 in",
        "Least grip of a new guide, iron head",
        "new guides: guide less its bore in the head",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "guide_grip_most_iron",
        ".0020 in",
        "Most grip of a new guide, iron head",
        "new guides: more can crack iron and closes the guide",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "guide_grip_least_aluminium",
        ".0010 in",
        "Least grip of a new guide, aluminium head",
        "new guides: guide less its bore in the head",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "guide_grip_most_aluminium",
        ".0025 in",
        "Most grip of a new guide, aluminium head",
        "new guides: more can crack iron and closes the guide",
        least="0 in",
        most=".010 in",
    ),
    _rule(
        "sleeve_grip_least",
        ".0005 in",
        "Least grip of a sleeve in the old guide",
        "new guides: sleeve less its bore; the maker's figure wins",
        least="0 in",
        most=".010 in",
        mark=Mark.FROM_MEMORY,
    ),
    _rule(
        "sleeve_grip_most",
        ".0025 in",
        "Most grip of a sleeve in the old guide",
        "new guides: sleeve less its bore; the maker's figure wins",
        least="0 in",
        most=".010 in",
        mark=Mark.FROM_MEMORY,
    ),
    _rule(
        "guide_height_apart",
        ".010 in",
        "A new guide stands this far from the old one's height, at most",
        "new guides: height as pressed against the height before",
        least="0 in",
        most=".250 in",
    ),
)

"""Chamber volumes of a head against each other, and what sunk valves add to each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from fractions import Fraction

from app.calc.chamber_match import ChamberMatch, chamber_match
from app.calc.seat_valve import ChamberGrowth, chamber_growth
from app.calc.units import Length
from app.workflow.kinds import Quantity, ValveState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import listed
from app.worksheets.head_rows import PortRows
from app.worksheets.leak_tests import exact_rule, told
from app.worksheets.sinking import sinking


def matched(volumes: Mapping[str, Fraction], rules: ShopRules) -> ChamberMatch:
    """Held against the shop's figure."""
    return chamber_match(volumes_cm3=volumes, most_apart_cm3=exact_rule(rules, "chambers_apart"))


def match_words(found: ChamberMatch, rules: ShopRules) -> str:
    """``1.5 cm³ apart, at most 1 cm³: cylinder 3 holds 1.2 cm³ more than the others``."""
    start = f"{told(found.spread_cm3)} cm³ apart, the shop's figure {rules.shown('chambers_apart')}"
    if found.matches:
        return f"{start}: they match"
    if not found.out:
        return f"{start}: they do not match, and the figures do not say which one is out"
    return f"{start}: {listed([out_words(name, by) for name, by in found.out.items()])}"


def out_words(cylinder: str, by: Fraction) -> str:
    """One that is out, against the nearest of those that match."""
    return f"cylinder {cylinder} holds {told(abs(by))} cm³ {'more' if by > 0 else 'less'}"


def sunk(ports: Iterable[PortRows], unit: str) -> dict[str, list[tuple[str, ChamberGrowth]]]:
    """By cylinder: what each valve that lies deeper than it came in adds, where its head is known.

    A new valve says nothing of its seat: its stem is not the one that was read before.
    """
    found: dict[str, list[tuple[str, ChamberGrowth]]] = defaultdict(list)
    for rows in ports:
        before = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
        after = rows.finish.one(Quantity.STEM_AFTER) if rows.finish else None
        head = rows.pockets.one(Quantity.VALVE_HEAD) if rows.pockets else None
        is_new = rows.valve_fate is not None and rows.valve_fate.state is ValveState.NEW
        if before is None or after is None or head is None or is_new:
            continue
        found_deeper = sinking(rows, unit)
        ground = rows.valves.one(Quantity.TIP_GROUND) if rows.valves else None
        # A ground tip stands lower, and lets no less into the chamber.
        by_stem = after - before + (ground or Length(0))
        deeper = found_deeper.sunk.sunk if found_deeper else by_stem
        if not deeper:
            continue
        growth = chamber_growth(valve_head=head, sink=deeper, unit=unit)
        found[rows.port.cylinder].append((rows.label, growth))
    return dict(found)


def sunk_words(growths: Iterable[tuple[str, ChamberGrowth]]) -> str:
    """``3E lies deeper: 0.10 cm³ more``."""
    return "; ".join(
        f"{label} lies {'deeper' if growth.volume_mm3 > 0 else 'higher'}: "
        f"{abs(growth.volume_mm3) / 1000:.2f} cm³ {'more' if growth.volume_mm3 > 0 else 'less'}"
        for label, growth in growths
    )

"""How far a valve sank since it came in, and what that does to its stem and spring, in words."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.sunk import StemShould, Sunk, stem_should, sunk_since
from app.calc.units import Length
from app.workflow.kinds import Quantity, ValveState
from app.workflow.shop_rules import ShopRules
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings


@dataclass(frozen=True, slots=True)
class Sinking:
    """`stem` only where the valve is the one that came in: a new one has another length."""

    sunk: Sunk
    stem: StemShould | None
    is_new: bool


def recession(readings: Readings | None) -> Length | None:
    """How far the valve lay below the deck when these were read."""
    return readings.one(Quantity.RECESSION) if readings else None


def sinking(rows: PortRows, unit: str) -> Sinking | None:
    """Worked where the valve was read below the deck both times."""
    before, after = recession(rows.stems), recession(rows.finish)
    if before is None or after is None:
        return None
    sunk = sunk_since(before=before, after=after, unit=unit)
    is_new = rows.valve_fate is not None and rows.valve_fate.state is ValveState.NEW
    came_in = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
    now = rows.finish.one(Quantity.STEM_AFTER) if rows.finish else None
    if is_new or came_in is None or now is None:
        return Sinking(sunk, None, is_new)
    ground = rows.valves.one(Quantity.TIP_GROUND) if rows.valves else None
    stem = stem_should(
        came_in=came_in, sunk=sunk.sunk, ground=ground or Length(0), read=now, unit=unit
    )
    return Sinking(sunk, stem, is_new)


def sunk_words(found: Sinking, unit: str) -> str:
    """``sunk .0040 since it came in, its spring as much longer``."""
    by = found.sunk.sunk
    with_new = ", with its new valve" if found.is_new else ""
    if not by:
        return f"lies as deep as it came in{with_new}"
    size = Length(abs(by.nm)).shown(unit)
    if by.nm < 0:
        return f"raised {size} since it came in{with_new}, its spring as much shorter"
    return f"sunk {size} since it came in{with_new}, its spring as much longer"


def sunk_asks(rows: PortRows, found: Sinking | None, rules: ShopRules, unit: str) -> list[str]:
    """What the shop's rules question: too deep, or a stem that does not stand as it should."""
    asks = too_deep(recession(rows.finish), rules, unit)
    if found is None or found.stem is None:
        return asks
    if abs(found.stem.off.nm) > rules.length("stem_off").nm:
        way = "higher" if found.stem.off.nm > 0 else "lower"
        off = Length(abs(found.stem.off.nm)).shown(unit)
        asks.append(
            f"stem stands {off} {way} than sinking and tip say, {found.stem.should.shown(unit)}"
        )
    return asks


def too_deep(depth: Length | None, rules: ShopRules, unit: str) -> list[str]:
    """Over the shop's figure."""
    most = rules.length("recession_limit")
    if depth is None or depth <= most:
        return []
    return [f"more than {most.shown(unit)} below the deck"]

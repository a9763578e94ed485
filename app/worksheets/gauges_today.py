"""What a gauge should read today, where temperatures make it differ enough to be seen."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from app.calc.gauge import GaugeToday, part_today, shown_number
from app.calc.trace import Step
from app.calc.units import Length
from app.models.head import Head
from app.worksheets.materials import MaterialFigures, head_figures
from app.worksheets.ring_sets import SetWorking
from app.worksheets.targets import PortTarget

DIVISION = Length.of(".0001")  # of a gauge that is not named
SEEN = 4  # a quarter of a division: less is not seen on a dial


@dataclass(frozen=True)
class Today:
    """One size as the gauge shows it today; of a bore with its window and depth where known."""

    size: Length
    reading: Length
    least: Length | None
    most: Length | None
    depth: Length | None  # None where it reads as at 20 °C
    at: str  # "at 27 °C", "head at 27 °C, gauge at 22 °C"
    working: tuple[Step, ...]


@dataclass(frozen=True)
class Warmth:
    """Temperatures of a part and its gauge, and what the gauge can show."""

    part_c: float
    gauge_c: float
    division: Length = DIVISION

    def told(self, part: str) -> str:
        """``at 27 °C``; both where they differ."""
        if self.part_c == self.gauge_c:
            return f"at {shown_number(self.part_c)} °C"
        return f"{part} at {shown_number(self.part_c)} °C, gauge at {shown_number(self.gauge_c)} °C"


def bore_today(
    session: Session,
    head: Head,
    bore: Length,
    warmth: Warmth,
    unit: str,
    *,
    window: tuple[Length, Length] | None = None,
    depth: Length | None = None,
) -> Today | None:
    """A bore, and the ends of its window, as the gauge shows them; None where nothing differs."""
    figures = head_figures(session, head)
    if figures is None:
        return None
    found = _today("head", bore, figures, warmth, unit)
    if found is None:
        return None
    # The ends of a window move with their bore, seen or not.
    moved = [_reading("head", end, figures, warmth, unit) for end in window or ()]
    ends = [end.reading for end in moved if end is not None]
    deep = _today("head", depth, figures, warmth, unit) if depth is not None else None
    return Today(
        size=bore,
        reading=found.reading,
        least=ends[0] if ends else None,
        most=ends[1] if ends else None,
        depth=deep.reading if deep else None,
        at=warmth.told("head"),
        working=found.working,
    )


def target_today(session: Session, target: PortTarget, warmth: Warmth) -> Today | None:
    """The bore that a position's ring wants."""
    if target.target is None or target.set_working is None:
        return None
    low, high = target.bore_low, target.bore_high
    return bore_today(
        session,
        target.head,
        target.target.target_bore,
        warmth,
        target.set_working.ring_set.unit.value,
        window=(low, high) if low is not None and high is not None else None,
    )


def rings_today(working: SetWorking, warmth: Warmth) -> tuple[tuple[tuple[str, ...], Today], ...]:
    """What a micrometer reads where that differs and is known: rings that read alike together."""
    unit, told = working.ring_set.unit.value, warmth.told("ring")
    found: dict[str, tuple[list[str], Today]] = {}
    for row in working.good:
        assert row.measured is not None
        today = _today("ring", row.measured.od, working.material, warmth, unit)
        if today is not None:
            shown = Today(row.measured.od, today.reading, None, None, None, told, today.working)
            found.setdefault(today.reading.shown(unit), ([], shown))[0].append(row.tag)
    return tuple((tuple(tags), shown) for tags, shown in found.values())


def _today(
    part: str, size: Length, figures: MaterialFigures, warmth: Warmth, unit: str
) -> GaugeToday | None:
    found = _reading(part, size, figures, warmth, unit)
    seen = found is not None and abs(found.shift) * SEEN >= warmth.division
    return found if seen else None


def _reading(
    part: str, size: Length, figures: MaterialFigures, warmth: Warmth, unit: str
) -> GaugeToday | None:
    if figures.expansion is None:
        return None
    return part_today(
        size=size,
        expansion=figures.expansion,
        part=part,
        material=figures.name,
        part_temperature_c=warmth.part_c,
        gauge_temperature_c=warmth.gauge_c,
        unit=unit,
    )

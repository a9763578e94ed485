"""Guides on paper: what was done to each in plain words, and how a pilot stands in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from app.calc.units import Length
from app.models.crib import Pilot
from app.workflow.guide_outcomes import GuideOutcome
from app.workflow.kinds import Quantity
from app.workflow.shop_rules import ShopRules
from app.workflow.words import listed
from app.worksheets.facts import HeadSheet
from app.worksheets.guides import bores, clearance_of, outcome, rocking_of, shape_of, stems
from app.worksheets.head_rows import PortRows
from app.worksheets.materials import MaterialFigures
from app.worksheets.new_guides import Judged, frozen_grip, grip_of, height_of
from app.worksheets.pilots import fit_in_guide


@dataclass(frozen=True, slots=True)
class GuideLine:
    """One guide of a head record; empty texts were not measured."""

    label: str
    outcome: GuideOutcome
    what: str
    bores: tuple[Length, ...]
    stem: Length | None
    clearance: str
    is_off: bool  # clearance, shape or grip outside the shop's limits
    shape: str
    grip: str
    no_longer: str  # why the grip as it was signed for no longer stands
    height: Length | None
    height_told: str
    by: str
    at: datetime


def guide_lines(
    sheet: HeadSheet,
    figures: MaterialFigures | None,
    rules: ShopRules,
    names: Mapping[int, str],
) -> tuple[GuideLine, ...]:
    """Every guide that something was decided of, in the order of the positions."""
    unit = sheet.rows.job.job.unit.value
    return tuple(
        _line(sheet, rows, said, figures, rules, names, unit)
        for rows in sheet.rows.ports
        if (said := outcome(rows)) is not None
    )


def pilot_lines(
    pilot: Pilot | None, ports: Iterable[PortRows], rules: ShopRules, unit: str
) -> tuple[str, ...]:
    """What whoever puts the pilot in has to know: ``3E, new guide: .0002 clear``."""
    told: dict[str, list[str]] = {}
    for rows in ports:
        parts = []
        said = outcome(rows)
        if said is not None and said is not GuideOutcome.LEFT:
            parts.append(said.screen)
        if pilot is not None and bores(rows) and rows.guides is not None:
            clear, words = fit_in_guide(pilot, rows.guides, unit)
            parts += [f"{pilot.name} {clear} clear"] if clear else []
            parts += [words] if words else []
        shape = shape_of(rows, rules, unit)
        if shape is not None and shape.is_over:
            parts.append(f"{shape.told(unit)}: the pilot leans")
        if parts:
            told.setdefault(", ".join(parts), []).append(rows.label)
    return tuple(f"{listed(labels)}: {words}" for words, labels in told.items())


def _grip(
    sheet: HeadSheet,
    rows: PortRows,
    figures: MaterialFigures | None,
    rules: ShopRules,
    unit: str,
) -> tuple[Judged | None, str]:
    """As it was signed for; before that by the readings as they are."""
    frozen = frozen_grip(sheet.rows.accepted, rows.port.id)
    if frozen is not None:
        return frozen
    grip = grip_of(rows, figures, rules, unit)
    return (grip.judged if grip is not None else None), ""


def _line(
    sheet: HeadSheet,
    rows: PortRows,
    said: GuideOutcome,
    figures: MaterialFigures | None,
    rules: ShopRules,
    names: Mapping[int, str],
    unit: str,
) -> GuideLine:
    work = rows.guide_work
    assert work is not None
    clear = clearance_of(rows, rules, unit)
    rocking = rocking_of(rows, rules)
    shape = shape_of(rows, rules, unit)
    grip, no_longer = _grip(sheet, rows, figures, rules, unit)
    height = height_of(rows, rules)
    is_off = (
        (clear is not None and not clear.is_inside)
        or (clear is None and rocking is not None and rocking.is_over)
        or (shape is not None and shape.is_over)
        or (grip is not None and not grip.is_inside)
    )
    read = rows.guides.of(Quantity.GUIDE_BORE) if rows.guides else ()
    return GuideLine(
        label=rows.label,
        outcome=said,
        what=work.what,
        bores=tuple(kept.value for kept in read),
        stem=stems(rows)[-1] if stems(rows) else None,
        clearance=clear.told(unit) if clear else rocking.told(unit) if rocking else "",
        is_off=is_off,
        shape=shape.told(unit) if shape else "",
        grip=grip.told(unit) if grip is not None else "",
        no_longer=no_longer,
        height=height.after if height else None,
        height_told=height.told(unit) if height else "",
        by=names[work.by_id],
        at=work.at,
    )

"""What fits would do, gathered from rows: in heat, going in, pressed. It explains, never judges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from sqlmodel import Session

from app.calc.units import Length, mean_nm
from app.models.head import Head
from app.workflow.heat_cases import HeldCase, Metal
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind, SeatNow, Work
from app.worksheets.facts import HeadSheet
from app.worksheets.fit_grip import Grip
from app.worksheets.fit_working import Fit, work_fit
from app.worksheets.head_rows import PortRows
from app.worksheets.heat_cases import cases_in_force
from app.worksheets.materials import MaterialFigures, head_figures
from app.worksheets.targets import PortTarget

__all__ = ["Fit", "FitSources", "fit_at", "fits_of", "fits_sources"]

MEASURED = "ring less bore, as measured"


@dataclass
class FitSources:
    """The shop's cases and rules, and what was looked up of materials meanwhile."""

    session: Session
    rules: ShopRules
    cases: Mapping[tuple[Metal, Kind], tuple[HeldCase, ...]]
    heads: dict[int, MaterialFigures | None]

    def of_head(self, head: Head) -> MaterialFigures | None:
        """The figures of a head's metal."""
        if head.id not in self.heads:
            self.heads[head.id] = head_figures(self.session, head)
        return self.heads[head.id]


def fits_sources(session: Session, rules: ShopRules) -> FitSources:
    """What every fit of a page starts from; one statement."""
    return FitSources(session, rules, cases_in_force(session), {})


def fits_of(
    sources: FitSources, sheets: Mapping[int, HeadSheet], targets: Sequence[PortTarget]
) -> tuple[Fit, ...]:
    """The fits that some positions are cut for, by the rule's aim; those alike in one.

    Rings of one part number differ by a few tenths, which no sentence shows: their mean is taken.
    """
    alike: dict[Grip, list[tuple[Grip, str]]] = {}
    for target in targets:
        grip = _grip(sources, sheets[target.head.id], target, _aim(target))
        if grip is not None:
            key = replace(grip, ring_od=Length(0), ring_height=None, others_in=False)
            alike.setdefault(key, []).append((grip, target.name))
    return tuple(
        _worked(sources, _mean_of([grip for grip, _ in own]), [name for _, name in own])
        for own in alike.values()
    )


def fit_at(
    sources: FitSources,
    sheet: HeadSheet,
    rows: PortRows,
    measured: Length | None = None,
    *,
    name: str = "",
) -> Fit | None:
    """The fit of one position: by its readings now, else its verdict, else the aim."""
    target = sheet.targets.get(rows.port.id)
    if target is None:
        return None
    found = measured or _proved(sheet, rows)
    grip = _grip(sources, sheet, target, (found, MEASURED) if found else _aim(target))
    return _worked(sources, grip, [name or rows.label]) if grip is not None else None


def _worked(sources: FitSources, grip: Grip, names: Sequence[str]) -> Fit:
    cases = sources.cases[Metal.of(grip.material), grip.kind]
    return work_fit(grip, cases, sources.rules, names)


def _grip(
    sources: FitSources, sheet: HeadSheet, target: PortTarget, fit: tuple[Length, str] | None
) -> Grip | None:
    head, rows, od, working = target.head, target.rows, _ring_od(target), target.set_working
    of_head = sources.of_head(head)
    if head.material is None or of_head is None or working is None or od is None or fit is None:
        return None
    interference, told = fit
    # Loose cold: that is the verdict's matter, there is no fit to look at.
    if interference.nm <= 0:
        return None
    return Grip(
        unit=sheet.rows.job.job.unit,
        material=head.material,
        kind=rows.port.kind,
        interference=interference,
        told=told,
        is_measured=told == MEASURED,
        ring_od=od,
        ring_id=working.inside,
        ring_height=_ring_height(target),
        ring=working.material,
        head=of_head,
        others_in=others_in(sheet, rows),
        ring_set_id=working.ring_set.id,
    )


def others_in(sheet: HeadSheet, rows: PortRows) -> bool:
    """Whether rings sit in this head that heat would loosen: pressed here, or left as they came."""
    return any(
        other.ring_in is not None
        or (
            other.port.work is not Work.RING
            and other.port.seat_now in (SeatNow.RING, SeatNow.OVERSIZE_RING)
        )
        for other in sheet.rows.ports
        if other.port.id != rows.port.id
    )


def _proved(sheet: HeadSheet, rows: PortRows) -> Length | None:
    """The interference of a verdict that still stands."""
    if rows.verification is None or sheet.facts.port(rows.label).verdict is None:
        return None
    return rows.verification.interference


def _aim(target: PortTarget) -> tuple[Length, str] | None:
    """As frozen when the setting was made, else as the rule has it now."""
    port_pass = target.rows.port_pass
    if port_pass is not None:
        return port_pass.rule_aim, f"the aim: {port_pass.rule_source}"
    window = target.window
    return (window.aim, f"the aim: {window.source}") if window else None


def _mean_of(grips: Sequence[Grip]) -> Grip:
    heights = [grip.ring_height for grip in grips if grip.ring_height is not None]
    return replace(
        grips[0],
        ring_od=Length.nearest(mean_nm([grip.ring_od for grip in grips])),
        ring_height=Length.nearest(mean_nm(heights)) if heights else None,
        others_in=any(grip.others_in for grip in grips),
    )


def _ring_od(target: PortTarget) -> Length | None:
    sizes = [row.measured.od_nm for row in target.rings if row.measured]
    if sizes:
        return Length.nearest(sum(sizes, Fraction(0)) / len(sizes))
    port_pass = target.rows.port_pass
    return port_pass.target_bore + port_pass.rule_aim if port_pass else None


def _ring_height(target: PortTarget) -> Length | None:
    heights = [row.measured.height_nm for row in target.rings if row.measured]
    if not heights:
        return None
    return Length.nearest(sum(heights, Fraction(0)) / len(heights))

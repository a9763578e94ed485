"""How a pilot fits the guides of some positions, and the run-out that its clearance allows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.calc.pilot import PilotRunOut, pilot_run_out, tapered_pilot_run_out
from app.calc.units import Length
from app.models.crib import Pilot
from app.workflow.kinds import Quantity
from app.workflow.shop_rules import ShopRules
from app.workflow.words import listed
from app.worksheets.readings import Readings
from app.worksheets.targets import PortTarget


@dataclass(frozen=True)
class PilotFit:
    """A pilot against the guides of a group: which it enters, how loose, what that does."""

    pilot: Pilot
    too_small: tuple[str, ...]  # guides that it does not enter
    unknown: tuple[str, ...]  # guides whose bore is not measured
    is_known: bool  # at least one guide is measured
    clearances: tuple[Length, ...]  # least and most, over the measured guides
    run_out: PilotRunOut | None  # the worst at a cut, where length and overhang are known
    loose: Length  # by the shop's rule, more clearance than this is another stem's pilot

    @property
    def enters(self) -> bool:
        """No measured guide is too small for it."""
        return not self.too_small

    @property
    def is_close(self) -> bool:
        """It enters, and does not rattle, as far as the guides are measured."""
        return self.enters and (not self.clearances or self.clearances[-1] <= self.loose)

    def told(self, unit: str) -> str:
        """``.0004 clear in these guides, run-out at the cut up to .0008``."""
        if self.too_small:
            return f"does not enter {listed(self.too_small)}"
        parts = []
        if self.pilot.is_tapered:
            parts.append("tapered: no clearance")
        elif self.clearances:
            least, most = (each.shown(unit) for each in self.clearances)
            clear = least if least == most else f"{least} to {most}"
            parts.append(f"{'' if self.is_close else 'loose: '}{clear} clear in the guides")
        if self.run_out is not None and not self.pilot.is_tapered:
            parts.append(f"run-out at the cut up to {self.run_out.run_out.shown(unit)}")
        if self.unknown:
            some = listed(self.unknown) if self.is_known else "these positions"
            parts.append(f"guides of {some} not measured")
        return ", ".join(parts)


def pilot_fit(pilot: Pilot, targets: Iterable[PortTarget], rules: ShopRules, unit: str) -> PilotFit:
    """One pilot in the guides of these positions, as they were measured."""
    too_small, unknown, clear, worst, measured = [], [], [], None, 0
    for target in targets:
        guides = target.rows.guides
        bores = guides.values(Quantity.GUIDE_BORE) if guides else []
        if not bores:
            unknown.append(target.name)
            continue
        measured += 1
        if pilot.is_tapered:
            continue
        if min(bores) < pilot.guide_diameter:
            too_small.append(target.name)
            continue
        clear += [bore - pilot.guide_diameter for bore in bores]
        found = _run_out(pilot, guides, max(bores), unit)
        if found is not None and (worst is None or found.run_out > worst.run_out):
            worst = found
    return PilotFit(
        pilot=pilot,
        too_small=tuple(too_small),
        unknown=tuple(unknown),
        is_known=measured > 0,
        clearances=(min(clear), max(clear)) if clear else (),
        run_out=tapered_pilot_run_out(unit=unit) if pilot.is_tapered else worst,
        loose=rules.length("pilot_loose"),
    )


def enters(pilot: Pilot, guides: Readings) -> bool:
    """Whether a guide's bores, where they were read, let the pilot in; a tapered one seats."""
    bores = guides.values(Quantity.GUIDE_BORE)
    return pilot.is_tapered or not bores or min(bores) >= pilot.guide_diameter


def fit_in_guide(pilot: Pilot, guides: Readings, unit: str) -> tuple[str, str]:
    """A pilot in one measured guide: its clearance, and in words what is to be said of it."""
    if pilot.is_tapered:
        return "", "tapered: no clearance"
    if not enters(pilot, guides):
        return "", f"pilot {pilot.name} does not enter"
    bores = guides.values(Quantity.GUIDE_BORE)
    found = _run_out(pilot, guides, max(bores), unit)
    told = f"run-out at the cut up to {found.run_out.shown(unit)}" if found else ""
    return (max(bores) - pilot.guide_diameter).shown(unit), told


def _run_out(pilot: Pilot, guides: Readings | None, bore: Length, unit: str) -> PilotRunOut | None:
    length = guides.one(Quantity.GUIDE_LENGTH) if guides else None
    overhang = guides.one(Quantity.OVERHANG) if guides else None
    if length is None or overhang is None:
        return None
    return pilot_run_out(
        guide_bore=bore,
        pilot=pilot.guide_diameter,
        guide_length=length,
        overhang=overhang,
        unit=unit,
    )

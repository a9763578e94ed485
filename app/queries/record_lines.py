"""One position of a head record: what was measured, cut, pressed, finished, by whom and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlmodel import Session

from app.calc.shown import shown_sum
from app.calc.units import Length
from app.models.port_pass import RingIn
from app.workflow.facts import Point
from app.workflow.kept import Kept
from app.workflow.kinds import Quantity, ResultKind
from app.workflow.words import Work
from app.worksheets.cutting import setting_name, stale_of
from app.worksheets.facts import HeadSheet, bore_since_cut
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings
from app.worksheets.results import Accepted
from app.worksheets.ring_sets import RingRow
from app.worksheets.settings import SettingRows
from app.worksheets.sinking import sinking
from app.worksheets.verifications import depth_wanted


@dataclass(frozen=True, slots=True)
class ReadLine:
    """Readings of one quantity as they were typed, and who typed them."""

    quantity: str
    values: tuple[Length, ...]
    by: str
    later: Kept | None = None  # one that was read earlier, on paper


@dataclass(frozen=True, slots=True)
class RingLine:
    """The ring that is in, or that is meant to go in."""

    tag: str
    part: str
    supplier: str
    lot: str
    material: str
    owner: str
    own_od: Length | None  # its own mean at 20 °C
    label_od: Length | None
    label_means: str
    readings: tuple[ReadLine, ...]


@dataclass(frozen=True, slots=True)
class FitLine:
    """Ring less counterbore: three texts of one sum, in the job's unit and in the other."""

    od: str
    bore: str
    interference: str
    other_od: str
    other_bore: str
    other_interference: str
    od_told: str  # "mean of the 4 rings of the set"; empty for a ring by itself
    least: Length
    aim: Length
    most: Length
    rule_source: str
    uncertainty: Length
    value: Length
    verdict: str
    proved_at: datetime
    proved_by: str


@dataclass(frozen=True, slots=True)
class CutLine:
    """How the bore was cut."""

    setting: str
    cutter: str
    set_size: Length | None
    stop: Length
    depth_wanted: Length | None
    protrusion: Length | None
    at: datetime
    by: str
    readings: tuple[ReadLine, ...]


@dataclass(frozen=True, slots=True)
class PressLine:
    """How the ring went in."""

    way: str
    known_by: str
    od_check: Length | None
    feeler: str
    note: str
    at: datetime
    by: str
    # "heat 1; ring in dry ice; head at 120 °C"
    done: str = ""
    cool_down: str = ""
    typed_by: str = ""  # where it was typed in later, from paper


@dataclass(frozen=True, slots=True)
class PassLine:
    """One try at the bore."""

    nth: int
    why: str
    outcome: str
    cuts: int


@dataclass(frozen=True, slots=True)
class PositionRecord:
    """Everything on record about one position."""

    label: str
    name: str
    work: Work
    seat_now: str
    guide: Point
    ring: RingLine | None
    fit: FitLine | None
    bore: Point
    depth: Point
    cut: CutLine | None
    pressed: PressLine | None
    width: Point
    run_out: Point
    stem_before: Point
    stem_after: Point
    stem_change: str
    sunk: str  # how much deeper the valve lies, where it was read below the deck both times
    passes: tuple[PassLine, ...]
    stale: tuple[str, ...]
    on_hold: str
    deviation: str
    signed_at: datetime | None
    signed_by: str


def position_record(
    session: Session,
    sheet: HeadSheet,
    rows: PortRows,
    settings: Mapping[int, SettingRows],
    names: Mapping[int, str],
) -> PositionRecord:
    """Gather one position."""
    facts = sheet.facts.port(rows.label)
    gets_ring = rows.port.work is Work.RING
    signature = rows.signature
    return PositionRecord(
        label=rows.label,
        name=rows.position.name,
        work=rows.port.work,
        seat_now=rows.port.seat_now.screen if rows.port.seat_now else "",
        guide=facts.guide_fit,
        ring=_ring(sheet, rows) if gets_ring else None,
        fit=_fit(sheet, rows, names) if facts.verdict is not None else None,
        bore=facts.bore_measured,
        depth=facts.depth_measured,
        cut=_cut(session, rows, settings, names),
        pressed=(
            _pressed(rows.ring_in, rows.pressed, names) if rows.ring_in and rows.pressed else None
        ),
        width=facts.seat_width,
        run_out=facts.seat_run_out,
        stem_before=facts.stem_before,
        stem_after=facts.stem_after,
        stem_change=_stem_change(sheet, rows),
        sunk=_sunk(sheet, rows),
        passes=_passes(rows) if len(rows.passes) > 1 else (),
        stale=tuple(stale.told for stale in stale_of(rows, sheet)),
        on_hold=rows.hold.words if rows.hold else "",
        deviation=facts.deviation,
        signed_at=signature.at if signature else None,
        signed_by=names[signature.by_id] if signature else "",
    )


def _ring(sheet: HeadSheet, rows: PortRows) -> RingLine | None:
    target = sheet.targets.get(rows.port.id)
    working = target.set_working if target else None
    if working is None:
        return None
    wanted = rows.ring_in.ring_id if rows.ring_in else rows.port.ring_id
    found: RingRow | None = next((row for row in working.rows if row.ring.id == wanted), None)
    ring_set = working.ring_set
    return RingLine(
        tag=found.tag if found else "",
        part=ring_set.part,
        supplier=ring_set.supplier,
        lot=ring_set.lot,
        material=working.material.name if ring_set.material else "",
        owner=ring_set.owner.screen,
        own_od=found.measured.od if found and found.measured else None,
        label_od=ring_set.label_od,
        label_means=ring_set.label_means.screen,
        readings=_read(
            found.readings if found else None,
            (Quantity.RING_OD, Quantity.RING_HEIGHT, Quantity.RING_ID),
        ),
    )


def _fit(sheet: HeadSheet, rows: PortRows, names: Mapping[int, str]) -> FitLine | None:
    verification, port_pass = rows.verification, rows.port_pass
    if verification is None or port_pass is None:
        return None
    accepted = sheet.rows.accepted.of_pass(port_pass.id, ResultKind.VERIFICATION)
    if accepted is None:
        return None
    sum_lines = _lines_of_sum(accepted)
    od = verification.interference + verification.bore_mean
    other = "mm" if sheet.rows.job.job.unit.value == "in" else "in"
    shown = shown_sum(
        parts=[(1, od.nm), (-1, verification.bore_mean.nm)],
        unit=other,
        limits=[port_pass.rule_least.nm, port_pass.rule_most.nm],
    )
    return FitLine(
        od=sum_lines["D"][0],
        bore=sum_lines["B"][0],
        interference=sum_lines["I"][0],
        other_od=shown.parts[0],
        other_bore=shown.parts[1],
        other_interference=shown.total,
        od_told=_told_rings(sum_lines["D"][1]),
        least=port_pass.rule_least,
        aim=port_pass.rule_aim,
        most=port_pass.rule_most,
        rule_source=port_pass.rule_source,
        uncertainty=verification.uncertainty,
        value=verification.interference,
        verdict=verification.verdict.screen,
        proved_at=verification.at,
        proved_by=names[verification.by_id],
    )


def _told_rings(text: str) -> str:
    """The frozen working counts rings, not readings: ``ring OD, mean of 4``."""
    rings = text.partition(", mean of ")[2].partition(" ")[0]
    return f"mean of the {rings} rings of the set" if rings else ""


def _lines_of_sum(accepted: Accepted) -> dict[str, tuple[str, str]]:
    """D, B and I exactly as the frozen working shows them, so that the row cannot contradict it."""
    return {step.symbol: (step.value, step.text) for step in accepted.working}


def _cut(
    session: Session,
    rows: PortRows,
    settings: Mapping[int, SettingRows],
    names: Mapping[int, str],
) -> CutLine | None:
    cut = rows.cut
    if cut is None:
        return None
    setting = settings.get(cut.setting_id)
    adjustments = setting.adjustments if setting else ()
    achieved = next((one for one in adjustments if one.id == cut.setting_adjustment_id), None)
    return CutLine(
        setting=setting_name(setting.setting) if setting else f"S-{cut.setting_id}",
        cutter=setting.cutter.name if setting else "",
        set_size=achieved.set_size if achieved else None,
        stop=cut.stop,
        depth_wanted=depth_wanted(session, rows),
        protrusion=rows.port.protrusion,
        at=cut.at,
        by=names[cut.by_id],
        readings=_read(bore_since_cut(rows), (Quantity.BORE, Quantity.DEPTH)),
    )


def _pressed(ring_in: RingIn, pressed: RingIn, names: Mapping[int, str]) -> PressLine:
    """How it went in, and how it was found once the head was cold."""
    done = [
        f"heat {pressed.heat}" if pressed.heat else "",
        pressed.method or "",
        f"head at {pressed.head_c:g} °C" if pressed.head_c is not None else "",
        f"ring at {pressed.ring_c:g} °C" if pressed.ring_c is not None else "",
    ]
    return PressLine(
        way=ring_in.way.screen,
        known_by=ring_in.known_by,
        od_check=ring_in.od_check,
        feeler=ring_in.feeler,
        note=ring_in.note,
        at=pressed.went_in_at,
        by=names[pressed.went_in_by_id],
        typed_by=names[pressed.by_id] if pressed.is_entered_later else "",
        done="; ".join(filter(None, done)),
        cool_down=ring_in.cool_down or "",
    )


def _passes(rows: PortRows) -> tuple[PassLine, ...]:
    return tuple(
        PassLine(
            nth=one.nth,
            why=one.why,
            outcome=one.outcome.screen if one.outcome else "under way",
            cuts=sum(cut.port_pass_id == one.id for cut in rows.cuts),
        )
        for one in rows.passes
    )


def _stem_change(sheet: HeadSheet, rows: PortRows) -> str:
    before = rows.stems.one(Quantity.STEM_HEIGHT) if rows.stems else None
    after = rows.finish.one(Quantity.STEM_AFTER) if rows.finish else None
    if before is None or after is None:
        return ""
    unit = sheet.rows.job.job.unit.value
    # Of the figures as they are printed beside it, so that they subtract.
    change = Decimal(after.shown(unit)) - Decimal(before.shown(unit))
    shown = f"{change:+}".replace("0.", ".", 1) if unit == "in" else f"{change:+}"
    return shown if change else "0"


def _sunk(sheet: HeadSheet, rows: PortRows) -> str:
    unit = sheet.rows.job.job.unit.value
    found = sinking(rows, unit)
    if found is None:
        return ""
    by = found.sunk.sunk
    size = Length(abs(by.nm)).shown(unit)
    return f"{'raised' if by.nm < 0 else 'sunk'} {size}" if by else "as deep as it came in"


def _read(readings: Readings | None, quantities: tuple[Quantity, ...]) -> tuple[ReadLine, ...]:
    if readings is None:
        return ()
    lines = []
    for quantity in quantities:
        kept = readings.of(quantity)
        if kept:
            by = ", ".join(dict.fromkeys(one.typed_by for one in kept))
            later = next((one for one in kept if one.is_entered_later), None)
            lines.append(ReadLine(quantity.screen, tuple(one.value for one in kept), by, later))
    return tuple(lines)

"""Set-up sheets: what is read from the machine while a head is bored, a page for each setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from app.calc.depth import Datum
from app.calc.units import Length
from app.models.crib import Machine
from app.models.head import Head
from app.queries.record_guides import pilot_lines
from app.queries.seat_plans import planned_lines
from app.queries.sheets import HeadLine, Letterhead
from app.workflow.cautions import Caution
from app.workflow.shop_rules import ShopRules
from app.workflow.words import FixtureMode
from app.worksheets.cutting import clamped_up, setting_name, settings_of_job, stop_for
from app.worksheets.decks import deck_cuts, removed
from app.worksheets.facts import HeadSheet
from app.worksheets.settings import SettingRows, size_of
from app.worksheets.shop_rules import current_rules
from app.worksheets.spindle import SpindleHint, spindle_hint

# What stands beside a turning spindle; beryllium copper only where a ring is made of it.
_CAUTIONS = ("turning_cutter", "dust")
_BERYLLIUM = "beryllium_copper"


@dataclass(frozen=True, slots=True)
class ClampLine:
    """How the head stands on the machine."""

    machine: str
    datum: str
    level: str
    touch_off: Length
    deck_stock: Length | None
    deck_removed: Length | None = None  # off the deck so far


@dataclass(frozen=True, slots=True)
class StopLine:
    """One depth stop with the positions that have it; without a clamp-up only the depth."""

    labels: tuple[str, ...]
    depth: Length
    stop: Length | None
    refused: str


@dataclass(frozen=True, slots=True)
class PositionLine:
    """One position of the setting: the bore aimed at and its window."""

    label: str
    ring: str
    target: Length | None
    low: Length | None
    high: Length | None
    open: str


@dataclass(frozen=True, slots=True)
class CutterLine:
    """What to set, and where each figure comes from."""

    name: str
    state: str
    cutter: str
    is_fixed: bool
    fixture: str
    mode: str
    pilot: str
    across: Length | None
    reading: Length | None
    set_size: Length
    other_readings: tuple[tuple[str, str], ...]
    per_division: Length | None
    division: Length | None
    aimed_at: Length
    under_by: Length
    overcut: Length
    overcut_source: str
    achieved: Length | None
    expected: Length | None


@dataclass(frozen=True, slots=True)
class SetUpPage:
    """One head with one setting, or a head that has none yet."""

    head: HeadLine
    setting: CutterLine | None
    also: tuple[str, ...]  # the setting's positions on other heads
    positions: tuple[PositionLine, ...]
    stops: tuple[StopLine, ...]
    clamp: ClampLine | None
    spindle: SpindleHint | None
    seats: tuple[str, ...]  # what was said of them for this head
    guides: tuple[str, ...]  # what the pilot stands in


@dataclass(frozen=True, slots=True)
class SetUpSheet:
    """The pages of a job, or of one of its heads or settings."""

    letterhead: Letterhead
    pages: tuple[SetUpPage, ...]
    cautions: tuple[Caution, ...]


def set_up_sheet(
    session: Session,
    heading: Letterhead,
    sheets: Sequence[HeadSheet],
    *,
    setting_id: int | None = None,
) -> SetUpSheet:
    """Gather the pages of these heads; `setting_id` leaves only that setting's."""
    rules = current_rules(session)
    job_id = sheets[0].head.job_id if sheets else 0
    settings = list(settings_of_job(session, job_id).values())
    if setting_id is not None:
        settings = [one for one in settings if one.setting.id == setting_id]
    pages = []
    for sheet in sheets:
        own = [one for one in settings if _open_ports(one, sheet.head)]
        found: list[SettingRows | None] = [*own]
        if not own and setting_id is None:
            found = [None]
        pages += [_page(session, heading, sheet, setting, rules) for setting in found]
    materials = " ".join(
        f"{target.set_working.material.name} {target.set_working.material.family}"
        for sheet in sheets
        for target in sheet.targets.values()
        if target.set_working is not None
    )
    keys = [*_CAUTIONS, *([_BERYLLIUM] if "beryllium" in materials.lower() else [])]
    return SetUpSheet(heading, tuple(pages), tuple(rules.caution(key) for key in keys))


def _open_ports(setting: SettingRows, head: Head) -> list[int]:
    return [
        named.port.id
        for named in setting.ports
        if named.head.id == head.id and named.port_pass.closed_at is None
    ]


def _page(
    session: Session,
    heading: Letterhead,
    sheet: HeadSheet,
    setting: SettingRows | None,
    rules: ShopRules,
) -> SetUpPage:
    unit = heading.unit.value
    if setting is None:
        wanted = [port_id for port_id, target in sheet.targets.items() if not target.rows.ring_in]
    else:
        wanted = _open_ports(setting, sheet.head)
    positions = tuple(_position(sheet, port_id, setting) for port_id in wanted)
    bore = setting.setting.target_bore if setting else None
    material = sheet.head.material
    return SetUpPage(
        head=heading.head(sheet.head.id),
        setting=_cutter(setting, unit) if setting else None,
        also=_elsewhere(setting, heading, sheet.head) if setting else (),
        positions=positions,
        stops=_stops(session, sheet, wanted, rules, unit),
        clamp=_clamp(session, sheet.head),
        spindle=spindle_hint(material, bore, rules, unit) if material and bore else None,
        seats=planned_lines(session, sheet.head.id, heading.unit),
        guides=pilot_lines(
            setting.pilot if setting else None,
            [sheet.rows.port(port_id) for port_id in wanted],
            rules,
            unit,
        ),
    )


def _position(sheet: HeadSheet, port_id: int, setting: SettingRows | None) -> PositionLine:
    rows = sheet.rows.port(port_id)
    target = sheet.targets.get(port_id)
    named = setting.named(port_id) if setting else None
    port_pass = rows.port_pass
    tags = [ring.tag for ring in target.rings] if target else []
    worked = target.target.target_bore if target and target.target else None
    return PositionLine(
        label=rows.label,
        ring=f"ring {tags[0]}" if len(tags) == 1 else ("any ring of its set" if tags else ""),
        target=port_pass.target_bore if port_pass else worked,
        low=named.setting_port.bore_low if named else (target.bore_low if target else None),
        high=named.setting_port.bore_high if named else (target.bore_high if target else None),
        open="; ".join(target.open) if target else "",
    )


def _stops(
    session: Session, sheet: HeadSheet, port_ids: Sequence[int], rules: ShopRules, unit: str
) -> tuple[StopLine, ...]:
    now = clamped_up(session, sheet.head.id)
    lines = []
    for port_id in port_ids:
        rows, target = sheet.rows.port(port_id), sheet.targets.get(port_id)
        worked = target.depth.depth if target and target.depth else None
        depth = rows.port_pass.depth if rows.port_pass else worked
        if depth is None:
            continue
        if now is None or rows.port_pass is None:
            lines.append(StopLine((rows.label,), depth, None, ""))
            continue
        found = stop_for(rows, now.clamp_up, rules, unit)
        stop = found.stop.stop if found.stop and not found.refused else None
        lines.append(StopLine((rows.label,), found.depth or depth, stop, found.refused))

    groups: dict[tuple[Length, Length | None, str], list[str]] = {}
    for line in lines:
        groups.setdefault((line.depth, line.stop, line.refused), []).extend(line.labels)
    return tuple(
        StopLine(tuple(labels), depth, stop, refused)
        for (depth, stop, refused), labels in groups.items()
    )


def _clamp(session: Session, head: Head) -> ClampLine | None:
    now = clamped_up(session, head.id)
    if now is None:
        return None
    return ClampLine(
        machine=session.get_one(Machine, now.clamp_up.machine_id).name,
        datum=Datum(now.clamp_up.datum).words,
        level=now.clamp_up.level,
        touch_off=now.clamp_up.touch_off,
        deck_stock=now.clamp_up.deck_stock,
        deck_removed=removed(deck_cuts(session, head.id)) or None,
    )


def _cutter(rows: SettingRows, unit: str) -> CutterLine:
    setting = rows.setting
    size = size_of(setting, unit)
    return CutterLine(
        name=setting_name(setting),
        state=setting.state.screen,
        cutter=rows.cutter.name,
        is_fixed=setting.mode is None,
        fixture=rows.fixture.name if rows.fixture else "",
        mode=setting.mode.screen if setting.mode else "",
        pilot=rows.pilot.name if rows.pilot else "",
        across=setting.across,
        reading=setting.reading,
        set_size=setting.set_size,
        other_readings=tuple(
            (FixtureMode(one.mode.value).screen, one.shown(unit))
            for one in (size.by_mode if size else ())
            if one.mode.value != setting.mode
        ),
        per_division=size.bore_per_division if size else None,
        division=setting.division,
        aimed_at=setting.target_bore - setting.under_by,
        under_by=setting.under_by,
        overcut=setting.overcut,
        overcut_source=setting.overcut_source,
        achieved=rows.adjustment.achieved if rows.adjustment else None,
        expected=rows.expected_bore,
    )


def _elsewhere(setting: SettingRows, heading: Letterhead, head: Head) -> tuple[str, ...]:
    return tuple(
        f"{heading.head(named.head.id).name} {named.label}"
        for named in setting.ports
        if named.head.id != head.id and named.port_pass.closed_at is None
    )

"""Cutters that are set, or are to be set, for positions that are not bored yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from app.models.setting import ClampUp
from app.queries.settings import LEFT, state_of
from app.workflow.kinds import SettingState
from app.workflow.settings import PortName, SettingStanding
from app.worksheets.cutting import port_name, setting_name, standing_now
from app.worksheets.facts import HeadSheet
from app.worksheets.settings import NamedPort, SettingRows


@dataclass(frozen=True)
class SetCutter:
    """A cutter that is set, or is to be set, for positions that are not bored yet."""

    rows: SettingRows
    name: str
    number: str
    left: tuple[PortName, ...]
    is_live: bool
    standing: SettingStanding | None


def set_cutters(
    settings: Mapping[int, SettingRows],
    standing: Mapping[int, SettingStanding | None],
    sheets: Mapping[int, HeadSheet],
    numbers: Mapping[int, str],
    heads_of: Mapping[int, int],
) -> tuple[SetCutter, ...]:
    """Those with something left to cut, live ones first."""
    found = []
    for setting in settings.values():
        left = tuple(
            port_name(named.head, named.label, heads_of[named.head.job_id])
            for named in setting.ports
            if _is_left(setting, named, sheets)
        )
        if not left:
            continue
        now = standing[setting.setting.id]
        found.append(
            SetCutter(
                rows=setting,
                name=setting_name(setting.setting),
                number=numbers[setting.setting.job_id],
                left=left,
                is_live=setting.setting.state is SettingState.LIVE
                and not setting.made_again_because
                and (now is None or now.is_live),
                standing=now,
            )
        )
    return tuple(sorted(found, key=lambda each: not each.is_live))


def _is_left(setting: SettingRows, named: NamedPort, sheets: Mapping[int, HeadSheet]) -> bool:
    sheet = sheets[named.head.id]
    rows = next((one for one in sheet.rows.ports if one.port.id == named.port.id), None)
    if rows is None or rows.port_pass is None or rows.port_pass.id != named.port_pass.id:
        return False
    return state_of(setting, sheet, rows) in LEFT


def standing_at_bench(
    session: Session,
    setting: SettingRows,
    clamped: Mapping[int, ClampUp],
    person_id: int,
    at: datetime,
    zone: ZoneInfo,
) -> SettingStanding | None:
    """For the head of its positions that stands on the machine, if one does."""
    on = next((clamped[n.head.id] for n in setting.ports if n.head.id in clamped), None)
    return standing_now(
        session,
        setting,
        person_id=person_id,
        clamp_up_id=on.id if on else None,
        at=at,
        zone=zone,
    )

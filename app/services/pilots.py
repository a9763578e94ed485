"""Pilots of the crib: two diameters, measured again as they wear."""

from __future__ import annotations

import json
from typing import Any

from sqlmodel import col, select

from app.forms.crib import PilotForm, PilotKindForm, PilotSizesForm
from app.models.crib import Pilot
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortPass
from app.models.result import Result
from app.models.setting import Setting
from app.services.crib import (
    CHANGED_MEANWHILE,
    load_tool,
    opened_tool,
    refuse_taken_name,
    unsettle_settings_of,
)
from app.services.stages import refresh_stages
from app.services.stale import unsettle_results
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import PassOutcome, ResultKind
from app.workflow.stale import Change


@use_case
def create_pilot(tx: Write, form: PilotForm) -> Pilot:
    """A pilot comes into the crib, measured."""
    assert form.guide_diameter
    assert form.shank_diameter
    assert form.measured_on
    refuse_taken_name(tx, Pilot, form.name)
    pilot = tx.add(
        Pilot(
            name=form.name,
            guide_diameter=form.guide_diameter,
            shank_diameter=form.shank_diameter,
            is_tapered=form.is_tapered,
            unit=form.unit,
            measured_on=form.measured_on,
        )
    )
    tx.log("added a pilot", pilot, **_sizes(pilot))
    return pilot


@use_case
def update_pilot(tx: Write, pilot_id: int, form: PilotKindForm) -> Pilot:
    """Its name, unit or kind; diameters are measured again by `measure_pilot`."""
    pilot = opened_tool(tx, Pilot, pilot_id, form)
    was = pilot.is_tapered
    pilot.name, pilot.unit, pilot.is_tapered = form.name, form.unit, form.is_tapered
    tx.log("changed a pilot", pilot, tapered=form.is_tapered, tapered_was=was)
    return pilot


@use_case
def measure_pilot(tx: Write, pilot_id: int, form: PilotSizesForm) -> Pilot:
    """Both diameters as they read now; the log keeps what they were."""
    assert form.guide_diameter
    assert form.shank_diameter
    assert form.measured_on
    pilot = load_tool(tx, Pilot, pilot_id)
    if form.row_version is not None and form.row_version != pilot.row_version:
        raise Refused(CHANGED_MEANWHILE)
    if form.measured_on < pilot.measured_on:
        raise Refused(
            f"is before the last measuring, {pilot.measured_on.isoformat()}", "measured_on"
        )
    was = {f"{name}_was": size for name, size in _sizes(pilot).items()}
    pilot.guide_diameter = form.guide_diameter
    pilot.shank_diameter = form.shank_diameter
    pilot.measured_on = form.measured_on
    moved = was["guide_was"] != pilot.guide_diameter or was["shank_was"] != pilot.shank_diameter
    settings = (
        unsettle_settings_of(
            tx,
            Setting.pilot_id,
            pilot.id,
            f"pilot {pilot.name} was re-measured",
            Change.PILOT_RE_MEASURED,
        )
        if moved
        else []
    )
    fits = _unsettle_fits(tx, pilot) if was["guide_was"] != pilot.guide_diameter else []
    tx.log("measured a pilot", pilot, settings=settings, fits=fits, **_sizes(pilot), **was)
    return pilot


def _unsettle_fits(tx: Write, pilot: Pilot) -> list[int]:
    """Fits on jobs under way were tried with another guide end; what is signed stays as signed."""
    signed = select(PortPass.port_id).where(PortPass.outcome == PassOutcome.SIGNED)
    under_way = tx.session.exec(
        select(Result, Head)
        .join(Port, col(Port.id) == col(Result.port_id))
        .join(Head, col(Head.id) == col(Port.head_id))
        .join(Job, col(Job.id) == col(Head.job_id))
        .where(
            Result.kind == ResultKind.PILOT_FIT,
            col(Job.ended_at).is_(None),
            col(Job.voided_at).is_(None),
            col(Port.id).not_in(signed),
        )
        .order_by(col(Result.id))
    ).all()
    newest = {result.port_id: (result, head) for result, head in under_way}
    mine = [
        (result, head)
        for result, head in newest.values()
        if json.loads(result.record)["pilot"] == pilot.id
    ]
    because = f"pilot {pilot.name} was re-measured"
    marked = unsettle_results(tx, [result for result, _ in mine], because, Change.PILOT_RE_MEASURED)
    for head in {head.id: head for _, head in mine}.values():
        refresh_stages(tx, head)
    return marked


def _sizes(pilot: Pilot) -> dict[str, Any]:
    return {
        "guide": pilot.guide_diameter,
        "shank": pilot.shank_diameter,
        "measured_on": pilot.measured_on.isoformat(),
    }

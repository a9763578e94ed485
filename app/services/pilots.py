"""Pilots of the crib: two diameters, measured again as they wear."""

from __future__ import annotations

from typing import Any

from app.forms.crib import PilotForm, PilotKindForm, PilotSizesForm
from app.models.crib import Pilot
from app.models.setting import Setting
from app.services.crib import (
    CHANGED_MEANWHILE,
    load_tool,
    opened_tool,
    refuse_taken_name,
    unsettle_settings_of,
)
from app.services.write import Refused, Write, use_case
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
    tx.log("measured a pilot", pilot, settings=settings, **_sizes(pilot), **was)
    return pilot


def _sizes(pilot: Pilot) -> dict[str, Any]:
    return {
        "guide": pilot.guide_diameter,
        "shank": pilot.shank_diameter,
        "measured_on": pilot.measured_on.isoformat(),
    }

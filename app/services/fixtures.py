"""Setting fixtures of the crib."""

from __future__ import annotations

from typing import Any

from app.forms.crib import FixtureForm
from app.models.crib import Fixture
from app.models.setting import Setting
from app.services.crib import (
    opened_tool,
    refuse_taken_name,
    unsettle_settings_of,
)
from app.services.write import Write, use_case
from app.workflow.stale import Change


@use_case
def create_fixture(tx: Write, form: FixtureForm) -> Fixture:
    """A fixture comes into the crib."""
    assert form.mode is not None
    assert form.division is not None
    refuse_taken_name(tx, Fixture, form.name)
    fixture = tx.add(
        Fixture(
            name=form.name,
            mode=form.mode,
            division=form.division,
            unit=form.unit,
            repeatability=form.repeatability,
        )
    )
    tx.log("added a fixture", fixture, **_figures(fixture))
    return fixture


@use_case
def update_fixture(tx: Write, fixture_id: int, form: FixtureForm) -> Fixture:
    """Its figures; sizes worked out with another mode or division no longer stand."""
    assert form.mode is not None
    assert form.division is not None
    fixture = opened_tool(tx, Fixture, fixture_id, form)
    was = {f"{name}_was": value for name, value in _figures(fixture).items()}
    fixture.name, fixture.unit = form.name, form.unit
    fixture.mode, fixture.division = form.mode, form.division
    fixture.repeatability = form.repeatability
    settings = (
        unsettle_settings_of(
            tx,
            Setting.fixture_id,
            fixture.id,
            f"what fixture {fixture.name} reads was changed",
            Change.FIXTURE_STRUCK,
        )
        if (was["mode_was"], was["division_was"]) != (fixture.mode, fixture.division)
        else []
    )
    tx.log("changed a fixture", fixture, settings=settings, **_figures(fixture), **was)
    return fixture


def _figures(fixture: Fixture) -> dict[str, Any]:
    return {
        "mode": fixture.mode,
        "division": fixture.division,
        "unit": fixture.unit,
        "repeatability": fixture.repeatability,
    }

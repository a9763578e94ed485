"""Instruments of the crib and their checks on a master."""

from __future__ import annotations

from typing import Any

from app.forms.crib import CheckForm, InstrumentForm
from app.models.crib import Instrument, InstrumentCheck
from app.services.crib import (
    load_tool,
    opened_tool,
    refuse_taken_name,
)
from app.services.write import Write, use_case
from app.workflow.instruments import check_holds


@use_case
def create_instrument(tx: Write, form: InstrumentForm) -> Instrument:
    """An instrument comes into the crib."""
    assert form.kind is not None
    assert form.division is not None
    refuse_taken_name(tx, Instrument, form.name)
    instrument = tx.add(
        Instrument(
            name=form.name,
            kind=form.kind,
            unit=form.unit,
            division=form.division,
            greatest_error=form.greatest_error,
            is_comparator=form.is_comparator,
            check_every_days=form.check_every_days,
        )
    )
    tx.log("added an instrument", instrument, **_figures(instrument))
    return instrument


@use_case
def update_instrument(tx: Write, instrument_id: int, form: InstrumentForm) -> Instrument:
    """Its figures; readings taken earlier keep what they were taken as."""
    assert form.kind is not None
    assert form.division is not None
    instrument = opened_tool(tx, Instrument, instrument_id, form)
    was = {f"{name}_was": value for name, value in _figures(instrument).items()}
    instrument.name, instrument.kind, instrument.unit = form.name, form.kind, form.unit
    instrument.division, instrument.greatest_error = form.division, form.greatest_error
    instrument.is_comparator = form.is_comparator
    instrument.check_every_days = form.check_every_days
    tx.log("changed an instrument", instrument, **_figures(instrument), **was)
    return instrument


@use_case
def check_instrument(tx: Write, instrument_id: int, form: CheckForm) -> InstrumentCheck:
    """What the instrument read on a master; whether that holds is judged here, once."""
    assert form.master is not None
    assert form.read is not None
    instrument = load_tool(tx, Instrument, instrument_id)
    check = tx.add(
        InstrumentCheck(
            by_id=tx.by_id,
            at=tx.at,
            instrument_id=instrument.id,
            master=form.master,
            read=form.read,
            is_within=check_holds(
                form.master, form.read, instrument.division, instrument.greatest_error
            ),
            master_name=form.master_name,
            note=form.note,
        )
    )
    tx.log(
        "checked an instrument",
        check,
        instrument=instrument.id,
        master=form.master,
        read=form.read,
        held=check.is_within,
    )
    return check


def _figures(instrument: Instrument) -> dict[str, Any]:
    return {
        "kind": instrument.kind,
        "unit": instrument.unit,
        "division": instrument.division,
        "greatest_error": instrument.greatest_error,
        "comparator": instrument.is_comparator,
        "check_every_days": instrument.check_every_days,
    }

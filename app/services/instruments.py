"""Instruments of the crib and their checks on a master."""

from __future__ import annotations

from typing import Any

from app.calc.units import Length
from app.forms.crib import CheckForm, InstrumentForm, RepeatabilityForm
from app.models.crib import Instrument, InstrumentCheck
from app.queries.instruments import heads_of_results, read_since_it_held
from app.services.crib import (
    CHANGED_MEANWHILE,
    load_tool,
    opened_tool,
    refuse_taken_name,
)
from app.services.stages import stages_due
from app.services.stale import unsettle_readings
from app.services.write import Refused, Write, use_case
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
            repeatability=form.repeatability,
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
    instrument.repeatability = form.repeatability
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
            master_uncertainty=form.master_uncertainty,
        )
    )
    unsettled = [] if check.is_within else _find_out(tx, instrument, check.read - check.master)
    tx.log(
        "checked an instrument",
        check,
        instrument=instrument.id,
        master=form.master,
        read=form.read,
        held=check.is_within,
        unsettled=unsettled,
    )
    return check


@use_case
def keep_repeatability(
    tx: Write, instrument_id: int, form: RepeatabilityForm, *, seen: int | None
) -> Instrument:
    """How well it repeats, as worked from readings of one size; `seen` is the version shown."""
    assert form.found is not None
    instrument = load_tool(tx, Instrument, instrument_id)
    if seen is not None and seen != instrument.row_version:
        raise Refused(CHANGED_MEANWHILE)
    was, instrument.repeatability = instrument.repeatability, form.found.repeatability
    tx.log(
        "measured how an instrument repeats",
        instrument,
        readings=[one.nm for one in form.readings],
        repeatability=instrument.repeatability,
        repeatability_was=was,
    )
    return instrument


def _find_out(tx: Write, instrument: Instrument, off: Length) -> list[int]:
    """What was accepted on its readings since its last check that held no longer stands.

    Kept readings stay: until they are read again, the error found counts as the instrument's.
    """
    unit = instrument.unit.value
    because = f"{instrument.name} was found {abs(off).shown(unit)} {unit} off at its check"
    readings = read_since_it_held(tx.session, instrument.id)
    unsettled = unsettle_readings(tx, readings, because)
    if unsettled:
        stages_due(tx, heads_of_results(tx.session, unsettled))
    return unsettled


def _figures(instrument: Instrument) -> dict[str, Any]:
    return {
        "kind": instrument.kind,
        "unit": instrument.unit,
        "division": instrument.division,
        "greatest_error": instrument.greatest_error,
        "comparator": instrument.is_comparator,
        "check_every_days": instrument.check_every_days,
        "repeatability": instrument.repeatability,
    }

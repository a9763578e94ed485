"""Machines of the crib."""

from __future__ import annotations

from app.forms.crib import MachineForm
from app.models.crib import Machine
from app.services.crib import (
    opened_tool,
    refuse_taken_name,
)
from app.services.write import Write, use_case


@use_case
def create_machine(tx: Write, form: MachineForm) -> Machine:
    """A machine comes into the crib."""
    refuse_taken_name(tx, Machine, form.name)
    machine = tx.add(Machine(name=form.name, travel=form.travel, note=form.note))
    tx.log("added a machine", machine, travel=form.travel)
    return machine


@use_case
def update_machine(tx: Write, machine_id: int, form: MachineForm) -> Machine:
    """Its name, quill travel or note."""
    machine = opened_tool(tx, Machine, machine_id, form)
    was = machine.travel
    machine.name, machine.travel, machine.note = form.name, form.travel, form.note
    tx.log("changed a machine", machine, travel=form.travel, travel_was=was)
    return machine

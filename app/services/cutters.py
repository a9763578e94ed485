"""Cutters of the crib and their tips."""

from __future__ import annotations

from app.forms.crib import CutterForm
from app.models.crib import Cutter, TipChange
from app.models.setting import Setting
from app.services.crib import (
    load_tool,
    opened_tool,
    refuse_taken_name,
    refuse_while_set,
    unsettle_settings_of,
)
from app.services.write import Refused, Write, use_case
from app.workflow.stale import Change


@use_case
def create_cutter(tx: Write, form: CutterForm) -> Cutter:
    """A cutter comes into the crib."""
    assert form.kind is not None
    refuse_taken_name(tx, Cutter, form.name)
    cutter = tx.add(
        Cutter(
            name=form.name,
            kind=form.kind,
            fixed_size=form.fixed_size,
            corner_radius=form.corner_radius,
            note=form.note,
        )
    )
    tx.log("added a cutter", cutter, kind=form.kind, fixed_size=form.fixed_size)
    return cutter


@use_case
def update_cutter(tx: Write, cutter_id: int, form: CutterForm) -> Cutter:
    """Its name, kind, size, corner radius or note; not while it is set."""
    assert form.kind is not None
    cutter = opened_tool(tx, Cutter, cutter_id, form)
    figures = (form.kind, form.fixed_size, form.corner_radius)
    was = (cutter.kind, cutter.fixed_size, cutter.corner_radius)
    if figures != was:
        refuse_while_set(tx, cutter, "change its figures")
    cutter.name, cutter.note = form.name, form.note
    cutter.kind, cutter.fixed_size, cutter.corner_radius = figures
    tx.log(
        "changed a cutter",
        cutter,
        kind=form.kind,
        fixed_size=form.fixed_size,
        fixed_size_was=was[1],
        corner_radius=form.corner_radius,
        corner_radius_was=was[2],
    )
    return cutter


@use_case
def change_tip(tx: Write, cutter_id: int, what: str) -> TipChange:
    """A new or ground tip: its overcut starts afresh, and what it was set to lapses."""
    cutter = load_tool(tx, Cutter, cutter_id)
    if cutter.retired_at is not None:
        raise Refused("This cutter is retired; bring it back into use first.")
    change = tx.add(TipChange(by_id=tx.by_id, at=tx.at, cutter_id=cutter.id, what=what))
    settings = unsettle_settings_of(
        tx,
        Setting.cutter_id,
        cutter.id,
        f"the cutter's tip was seen to: {what}",
        Change.TIP_CHANGED,
    )
    tx.log("changed a cutter's tip", change, cutter=cutter.id, settings=settings)
    return change

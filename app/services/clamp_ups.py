"""Clamp-ups: one head fixed on the machine, with where its depth starts."""

from __future__ import annotations

from app.forms.cuts import TURNS, ClampUpForm
from app.models.crib import Machine
from app.models.head import Head
from app.models.setting import ClampUp, ClampUpTurn
from app.services.stages import refresh_stages
from app.services.stale import unsettle_port
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import ResultKind
from app.worksheets.cutting import clamped_up


@use_case
def clamp_up(tx: Write, head: Head, form: ClampUpForm) -> ClampUp:
    """Fix a head on a machine; depth stops of positions that are not gauged yet start from here."""
    machine = tx.session.get(Machine, form.machine_id) if form.machine_id else None
    if machine is None or machine.retired_at is not None:
        raise Refused("Choose the machine from the crib.", "machine")
    if form.datum is None or form.touch_off is None:
        raise Refused("Choose the surface that depth is measured from.", "datum")
    made = tx.add(
        ClampUp(
            head_id=head.id,
            machine_id=machine.id,
            row=form.row,
            datum=form.datum.value,
            touch_off=form.touch_off,
            scale_rises=form.scale_rises,
            level=form.level,
            travel=form.travel,
            deck_stock=form.deck_stock,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    tx.add(ClampUpTurn(clamp_up_id=made.id, turned=form.turned, by_id=tx.by_id, at=tx.at))
    sheet = refresh_stages(tx, head)
    for rows in sheet.rows.ports:
        if rows.cut is None:
            unsettle_port(
                tx, rows.port.id, (ResultKind.DEPTH_STOP,), "the head was clamped up anew"
            )
    tx.log(
        "clamped up a head",
        made,
        job=head.job_id,
        head=head,
        datum=form.datum,
        touch_off=form.touch_off,
        level=form.level,
    )
    return made


@use_case
def turn_map(tx: Write, head: Head, turned: int) -> ClampUpTurn:
    """Turn the head map as the head lies on the machine; kept for this clamp-up."""
    now = clamped_up(tx.session, head.id)
    if now is None:
        raise Refused("Clamp the head up first; the turn is kept with the clamp-up.")
    if turned not in TURNS:
        raise Refused("The map turns by quarters.")
    made = tx.add(ClampUpTurn(clamp_up_id=now.clamp_up.id, turned=turned, by_id=tx.by_id, at=tx.at))
    tx.log("turned the head map", made, job=head.job_id, head=head, turned=turned)
    return made

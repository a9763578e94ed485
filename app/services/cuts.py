"""Cutting: a position is opened, cut, gauged with the spindle still centred, and judged."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import col, select

from app.forms.readings import Entry
from app.models.head import Head, Port
from app.models.port_pass import Cut, CutOpening, PortPass
from app.models.reading import ReadingSet
from app.queries.shop_rules import current_rules
from app.services.passes import open_pass_of
from app.services.pocket_findings import accept_pocket
from app.services.readings import AT_ONCE, ReadWith, not_kept_yet, record_readings
from app.services.results import accept
from app.services.settings import get_setting
from app.services.stages import refresh_stages
from app.services.write import Refused, Write, use_case
from app.workflow.gates import Gate, GateShut, pass_gate
from app.workflow.kinds import ReadingKind, ResultKind
from app.worksheets.cutting import (
    clamped_up,
    confirm_needed,
    is_open,
    refusal_for,
    standing_now,
    stop_for,
)
from app.worksheets.facts import HeadSheet, load_sheet, shop_zone
from app.worksheets.head_rows import PortRows
from app.worksheets.heats import warm_words
from app.worksheets.settings import SettingRows


@use_case
def open_cut(tx: Write, port: Port, setting_id: int, was_touched: bool) -> CutOpening:
    """This is the position under the cutter: every hard stop before metal comes off is here.

    Refused for another position than the setting names, for a setting that is not live, while the
    gate is shut, when the quill would run out, and when the position has to be touched first.
    """
    rules = current_rules(tx.session)
    head = tx.session.get_one(Head, port.head_id)
    sheet = load_sheet(tx.session, head)
    rows = sheet.rows.port(port.id)
    setting = get_setting(tx, setting_id)
    now = clamped_up(tx.session, head.id)
    if now is None:
        raise Refused("Clamp the head up first: machine, level, depth datum and touch-off.")
    _refuse_warm(tx, sheet)
    _refuse(tx, sheet, rows, setting, now.turned)
    _refuse_bored(rows)
    _pass_metal_gate(sheet, port)
    _refuse_lapsed(tx, setting, now.clamp_up.id)
    port_pass = rows.port_pass
    if port_pass is None:
        raise Refused(f"{port.label}: its counterbore is not worked out yet.")
    stop = stop_for(rows, now.clamp_up, rules, sheet.rows.job.job.unit.value)
    if stop.stop is None or stop.refused:
        raise Refused(f"{port.label}: {stop.refused}.")
    why = confirm_needed(
        tx.session,
        clamp_up=now.clamp_up,
        setting_id=setting_id,
        person_id=tx.by_id,
        row=port.row,
        at=tx.at,
        after_minutes=rules.whole("touch_again_minutes"),
    )
    if why is not None and not was_touched:
        raise Refused(
            f"Touch {port.label} on the head map first: {why.screen}. Nothing was recorded."
        )
    accept(tx, ResultKind.DEPTH_STOP, stop.stop, port_pass_id=port_pass.id)
    accept_pocket(tx, sheet, rows, port_pass, rules)
    opening = tx.add(
        CutOpening(
            port_pass_id=port_pass.id,
            setting_id=setting_id,
            clamp_up_id=now.clamp_up.id,
            was_touched=was_touched,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    tx.log(
        "opened a position to cut",
        opening,
        job=head.job_id,
        head=head,
        port=port,
        setting=setting_id,
        touched=was_touched,
    )
    return opening


def _refuse_warm(tx: Write, sheet: HeadSheet) -> None:
    warm = warm_words(tx.session, sheet)
    if warm:
        raise Refused(f"{warm}. What is cut now is of another size once it is cold.")


@use_case
def say_not_cut(tx: Write, port: Port) -> CutOpening:
    """It was opened, and no metal came off."""
    port_pass = _pass_of(tx, port)
    last = _last_opening(tx, port_pass)
    if last is None or last.was_not_cut:
        raise Refused(f"{port.label} was not opened to be cut; nothing was changed.")
    said = tx.add(
        CutOpening(
            port_pass_id=port_pass.id,
            setting_id=last.setting_id,
            clamp_up_id=last.clamp_up_id,
            was_touched=False,
            was_not_cut=True,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    head = tx.session.get_one(Head, port.head_id)
    refresh_stages(tx, head)
    tx.log("said that a position was not cut", said, job=head.job_id, head=head, port=port)
    return said


@use_case
def gauge(tx: Write, port: Port, entries: Sequence[Entry], read_with: ReadWith) -> PortPass:
    """Keep what the gauge reads; the first reading after an opening records the cut itself."""
    port_pass = _pass_of(tx, port)
    opening = _last_opening(tx, port_pass)
    if opening is None or opening.was_not_cut:
        raise Refused(
            f"{port.label} was not opened with a setting: choose it on the cut page first. "
            "Nothing was stored."
        )
    entries = not_kept_yet(tx, entries)
    _refuse_read_before(tx, port, entries, opening)
    cut = None
    if any(entry.value is not None for entry in entries):
        cut = _record_cut(tx, port_pass, opening)
    before = tx.logged
    record_readings(tx, port_pass, entries, read_with)
    if cut is None and tx.logged == before:
        return tx.leave(port_pass)
    head = tx.session.get_one(Head, port.head_id)
    tx.log("gauged a bore", port_pass, job=head.job_id, head=head, port=port)
    return port_pass


def _refuse_read_before(
    tx: Write, port: Port, entries: Sequence[Entry], opening: CutOpening
) -> None:
    """What waited on a tablet while the position was opened again is of the bore before."""
    for entry in entries:
        if entry.waited > AT_ONCE and tx.at - entry.waited < opening.at:
            raise Refused(
                f"{entry.cell.label}: {entry.typed} was read before {port.label} was opened again "
                "and says nothing of the bore as it is now. It was not stored: gauge it again.",
                entry.cell.name,
            )


def _record_cut(tx: Write, port_pass: PortPass, opening: CutOpening) -> Cut | None:
    last = tx.session.exec(
        select(Cut).where(Cut.port_pass_id == port_pass.id).order_by(col(Cut.id).desc()).limit(1)
    ).first()
    if last is not None and last.at >= opening.at:
        return None
    setting = get_setting(tx, opening.setting_id)
    if setting.adjustment is None:
        raise Refused("The cutter was not read back for this setting; nothing was stored.")
    named = setting.named(port_pass.port_id)
    bore = setting.adjustment.expected_bore
    sheet = load_sheet(
        tx.session, tx.session.get_one(Head, tx.session.get_one(Port, port_pass.port_id).head_id)
    )
    now = clamped_up(tx.session, sheet.head.id)
    rules = current_rules(tx.session)
    stop = (
        stop_for(
            sheet.rows.port(port_pass.port_id),
            now.clamp_up,
            rules,
            sheet.rows.job.job.unit.value,
        ).stop
        if now
        else None
    )
    if stop is None:
        raise Refused(
            "Another head was clamped up on this machine since the position was opened. Clamp "
            "this head up again first; nothing was stored."
        )
    # What was read before this cut says nothing about the bore as it is now.
    tx.add(
        ReadingSet(
            kind=ReadingKind.BORE,
            port_pass_id=port_pass.id,
            is_afresh=True,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    return tx.add(
        Cut(
            port_pass_id=port_pass.id,
            setting_id=setting.setting.id,
            setting_adjustment_id=setting.adjustment.id,
            clamp_up_id=opening.clamp_up_id,
            stop=stop.stop,
            is_first_pass=named is not None and setting.is_first_pass and named.is_under(bore),
            by_id=tx.by_id,
            at=tx.at,
        )
    )


def refuse_position(tx: Write, port: Port, setting_id: int) -> None:
    """Raise when a setting is not for this position, in words with what it needs instead."""
    sheet = load_sheet(tx.session, tx.session.get_one(Head, port.head_id))
    now = clamped_up(tx.session, port.head_id)
    turned = now.turned if now else 0
    _refuse(tx, sheet, sheet.rows.port(port.id), get_setting(tx, setting_id), turned)


def _refuse(tx: Write, sheet: HeadSheet, rows: PortRows, setting: SettingRows, turned: int) -> None:
    heads = len(tx.session.exec(select(Head.id).where(Head.job_id == sheet.head.job_id)).all())
    refusal = refusal_for(tx.session, sheet, rows, setting, heads=heads, turned=turned)
    if refusal is not None:
        raise Refused(f"{refusal.message} Nothing was recorded.")
    accepted = sheet.rows.accepted.of_pass(
        rows.port_pass.id if rows.port_pass else None, ResultKind.TARGET
    )
    if accepted is not None and accepted.no_longer is not None:
        raise Refused(
            f"Cannot be recorded for {rows.label}: its counterbore no longer stands, "
            f"{accepted.no_longer.because}. {accepted.no_longer.redo}".rstrip()
        )


def _refuse_bored(rows: PortRows) -> None:
    """A bore that is cut, or is being cut, is not opened a second time."""
    if is_open(rows):
        raise Refused(
            f"{rows.label} is open already, and nothing was recorded since: gauge it, or say that "
            "it was not cut. Nothing was recorded twice."
        )
    if rows.cut is not None and not rows.cut.is_first_pass:
        raise Refused(
            f"{rows.label} is cut to size already. To cut it again, prove its bore or stop it, and "
            "take the way out. Nothing was recorded."
        )


def _pass_metal_gate(sheet: HeadSheet, port: Port) -> None:
    try:
        pass_gate(Gate.METAL_OFF, sheet.facts, [port.label])
    except GateShut as shut:
        raise Refused(shut.message) from shut


def _refuse_lapsed(tx: Write, setting: SettingRows, clamp_up_id: int) -> None:
    standing = standing_now(
        tx.session,
        setting,
        person_id=tx.by_id,
        clamp_up_id=clamp_up_id,
        at=tx.at,
        zone=shop_zone(tx.session),
    )
    if standing is not None and not standing.is_live:
        raise Refused(f"{standing.told} Nothing was recorded.")


def _pass_of(tx: Write, port: Port) -> PortPass:
    found = open_pass_of(tx, port.id)
    if found is None:
        raise Refused(f"{port.label} has no setting yet; nothing was stored.")
    return found


def _last_opening(tx: Write, port_pass: PortPass) -> CutOpening | None:
    return tx.session.exec(
        select(CutOpening)
        .where(CutOpening.port_pass_id == port_pass.id)
        .order_by(col(CutOpening.id).desc())
        .limit(1)
    ).first()

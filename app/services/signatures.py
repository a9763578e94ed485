"""Signing: one signature for a batch of finished positions; the record learns from it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlmodel import col, select

from app.models.head import Head
from app.models.job import Job
from app.models.port_pass import OvercutSample, PortFact
from app.models.ring import RingSet
from app.models.setting import Setting, SettingAdjustment
from app.models.sheet import Signature, SignaturePort
from app.queries.shop_rules import current_rules
from app.services.guide_grips import accept_grip
from app.services.passes import close_pass
from app.services.stage_times import keep_times
from app.services.stages import refresh_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.gates import Gate, open_points
from app.workflow.kinds import PassOutcome, SignedWhat
from app.workflow.requirements import AskedPoint, told_together
from app.workflow.words import Way, Work, listed
from app.worksheets.facts import HeadSheet, load_sheets
from app.worksheets.head_rows import PortRows


@use_case
def sign_positions(tx: Write, job: Job, port_ids: Sequence[int]) -> Signature:
    """Sign finished positions together; every figure under them is closed or said not done.

    Signing ends a position's pass, and its bore teaches the cutter's overcut.
    """
    sheets = sheets_of(tx, job)
    chosen = _chosen(sheets, port_ids)
    if not chosen:
        raise Refused("Choose the positions to sign; nothing was signed.")
    open_words = [
        words
        for sheet, rows in chosen
        for words in told_together((*open_before_metal(sheet, rows), *open_of(sheet, rows)))
    ]
    if open_words:
        raise Refused(f"Not signed yet. Still open: {'; '.join(dict.fromkeys(open_words))}.")
    again = [rows.label for _, rows in chosen if rows.signature is not None]
    if again:
        raise Refused(f"{listed(again)} {'is' if len(again) == 1 else 'are'} signed already.")
    names = listed([rows.label for _, rows in chosen])
    signature = tx.add(
        Signature(
            job_id=job.id,
            head_id=chosen[0][0].head.id
            if len({sheet.head.id for sheet, _ in chosen}) == 1
            else None,
            what=SignedWhat.POSITIONS,
            words=f"Finished by these readings: {names}"[:400],
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    rules = current_rules(tx.session)
    for sheet, rows in chosen:
        accept_grip(tx, sheet, rows, rules)
        tx.session.add(
            SignaturePort(
                signature_id=signature.id,
                port_id=rows.port.id,
                port_pass_id=rows.port_pass.id if rows.port_pass else None,
            )
        )
        if rows.port_pass is not None:
            _learn(tx, sheet, rows)
            close_pass(tx, rows.port_pass, PassOutcome.SIGNED)
    for sheet in sheets.values():
        keep_times(tx, signature, sheet, [rows for own, rows in chosen if own is sheet])
        refresh_stages(tx, sheet.head)
    tx.log("signed positions", signature, job=job, ports=[rows.port.id for _, rows in chosen])
    return signature


def open_before_metal(sheet: HeadSheet, rows: PortRows) -> tuple[AskedPoint, ...]:
    """What was to be closed before metal came off: a seat that is only recut shows no cut of its
    own, so its signature is the last place to ask."""
    if rows.port.work is not Work.SEAT_ONLY:
        return ()
    return open_points(Gate.METAL_OFF, sheet.facts, [rows.label])


def open_of(sheet: HeadSheet, rows: PortRows) -> Iterable[AskedPoint]:
    """What keeps one position from being signed: its own points before hand-over."""
    return [
        point
        for point in open_points(Gate.HAND_OVER, sheet.facts, [rows.label])
        if point.label == rows.label and point.requirement.key != "signed"
    ] + _unsettled(sheet, rows)


def _unsettled(sheet: HeadSheet, rows: PortRows) -> list[AskedPoint]:
    """On hold, or resting on something that changed: the ring gate's points hold here too."""
    if rows.port.work is not Work.RING:
        return []
    return [
        point
        for point in open_points(Gate.RING_IN, sheet.facts, [rows.label])
        if point.label == rows.label and point.requirement.key in ("no_hold", "standing", "verdict")
    ]


def sheets_of(tx: Write, job: Job) -> dict[int, HeadSheet]:
    """The heads of a job with their facts, in order."""
    heads = tx.session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    return load_sheets(tx.session, heads)


def _chosen(
    sheets: dict[int, HeadSheet], port_ids: Sequence[int]
) -> list[tuple[HeadSheet, PortRows]]:
    every = {rows.port.id: (sheet, rows) for sheet in sheets.values() for rows in sheet.rows.ports}
    found = []
    for port_id in dict.fromkeys(port_ids):
        if port_id not in every:
            raise NotFound("One of these positions is not in this job.")
        sheet, rows = every[port_id]
        if rows.port.work in (Work.LEAVE, Work.UNDECIDED):
            raise Refused(f"{rows.label}: nothing was done there to sign for.")
        found.append((sheet, rows))
    return found


def _learn(tx: Write, sheet: HeadSheet, rows: PortRows) -> None:
    """The bore teaches the tip's overcut; the office gets one row of figures."""
    port_pass, cut, verification = rows.port_pass, rows.cut, rows.verification
    material = sheet.head.material
    if port_pass is None or cut is None or verification is None or material is None:
        return
    setting = tx.session.get_one(Setting, cut.setting_id)
    adjustment = tx.session.get_one(SettingAdjustment, cut.setting_adjustment_id)
    tx.session.add(
        OvercutSample(
            cut_id=cut.id,
            port_pass_id=port_pass.id,
            cutter_id=setting.cutter_id,
            tip_change_id=setting.tip_change_id,
            material=material,
            set_size=adjustment.set_size,
            measured=verification.bore_mean,
            at=tx.at,
        )
    )
    target = sheet.targets.get(rows.port.id)
    label_od = target.set_working.ring_set.label_od if target and target.set_working else None
    rings = tx.session.get_one(RingSet, port_pass.ring_set_id)
    tx.session.add(
        PortFact(
            port_pass_id=port_pass.id,
            port_id=rows.port.id,
            job_id=sheet.head.job_id,
            signed_at=tx.at,
            material=material,
            ring_od=verification.interference + verification.bore_mean,
            label_od=label_od,
            bore=verification.bore_mean,
            interference=verification.interference,
            aim=port_pass.rule_aim,
            least=port_pass.rule_least,
            most=port_pass.rule_most,
            passes=port_pass.nth,
            was_held=bool(rows.releases),
            was_deviation=any(release.is_deviation for release in rows.releases),
            right_first_time=port_pass.nth == 1
            and all(release.way is Way.READ_AGAIN for release in rows.releases),
            supplier=rings.supplier,
            lot=rings.lot,
        )
    )

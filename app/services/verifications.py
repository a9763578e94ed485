"""Proving a bore: the verdict is frozen; out of limits the position goes on hold."""

from __future__ import annotations

from collections.abc import Container

from sqlmodel import col, select

from app.models.head import Head, Port
from app.models.port_pass import Hold, PortPass, Verification
from app.models.reading import Reading, ReadingSet
from app.queries.shop_rules import current_rules
from app.services.passes import accept_target
from app.services.results import accept
from app.services.stages import refresh_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import HoldReason, ResultKind, Verdict
from app.workflow.verdicts import Decision
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.verifications import prove

EDGE = "edge"


@use_case
def prove_bore(
    tx: Write, port: Port, *, edge_is_known: bool, confirmed: Container[str] | None = None
) -> Verification:
    """Accept the verdict by the readings that count.

    Near an edge it asks once to read again (`edge_is_known` is the one-touch answer); outside the
    window, or outside a limit of depth or shape, the position stops and its ways out are shown.
    `confirmed` holds the odd figures that a person said are so; None: nobody can be asked.
    """
    head = tx.session.get_one(Head, port.head_id)
    sheet = load_sheet(tx.session, head)
    rows = sheet.rows.port(port.id)
    port_pass = rows.port_pass
    if port_pass is None or rows.cut is None:
        raise Refused(f"{port.label} is not cut yet; nothing was recorded.")
    if rows.hold is not None:
        raise Refused(f"{port.label} is on hold: {rows.hold.words} Choose a way out first.")
    if _has_another_ring(sheet, rows):
        # The bore stays as gauged; it is judged with the ring that is to go in, by its window.
        accept_target(tx, sheet.targets[port.id])
        sheet = load_sheet(tx.session, head)
        rows = sheet.rows.port(port.id)
    proof = prove(tx.session, sheet, rows, current_rules(tx.session))
    if proof.verification is None or proof.judgement is None:
        raise Refused(f"{port.label} is not proved yet. Still open: {'; '.join(proof.open)}.")
    for odd in proof.odd:
        if confirmed is not None and odd.key not in confirmed:
            raise Refused(odd.told, f"confirm_{odd.key}")
    if proof.asks and not edge_is_known:
        raise Refused(proof.judgement.told, f"confirm_{EDGE}")
    result = accept(
        tx,
        ResultKind.VERIFICATION,
        proof.verification,
        readings=proof.reading_ids,
        port_pass_id=port_pass.id,
    )
    made = tx.add(
        Verification(
            port_pass_id=port_pass.id,
            result_id=result.id,
            verdict=Verdict(proof.verification.verdict.value),
            interference=proof.verification.interference,
            uncertainty=proof.verification.uncertainty,
            bore_mean=proof.verification.bore_mean,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    if proof.judgement.decision is Decision.HOLD:
        tx.add(
            Hold(
                port_id=port.id,
                port_pass_id=port_pass.id,
                reason=proof.judgement.reason or HoldReason.STOPPED,
                words=proof.judgement.told[:400],
                result_id=result.id,
                by_id=tx.by_id,
                at=tx.at,
            )
        )
    refresh_stages(tx, head)
    tx.log(
        "judged a bore",
        made,
        job=head.job_id,
        head=head,
        port=port,
        verdict=made.verdict,
        interference=made.interference,
        decision=proof.judgement.decision,
        edge_is_known=edge_is_known,
    )
    return made


def _has_another_ring(sheet: HeadSheet, rows: PortRows) -> bool:
    """What the bore was cut for changed since, and what it is for now is worked out."""
    if rows.port_pass is None or rows.ring_in is not None:
        return False
    accepted = sheet.rows.accepted.of_pass(rows.port_pass.id, ResultKind.TARGET)
    target = sheet.targets.get(rows.port.id)
    return accepted is not None and not accepted.stands and target is not None and target.is_ready


def bore_pass_of(tx: Write, port_id: int, reading_id: int) -> PortPass:
    """The pass that a bore reading of this position belongs to."""
    found = tx.session.exec(
        select(PortPass)
        .join(ReadingSet, col(ReadingSet.port_pass_id) == col(PortPass.id))
        .join(Reading, col(Reading.reading_set_id) == col(ReadingSet.id))
        .where(Reading.id == reading_id, PortPass.port_id == port_id)
    ).first()
    if found is None:
        raise NotFound("There is no such reading at this position.")
    return found

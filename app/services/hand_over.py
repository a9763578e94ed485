"""The job leaves the shop: the gate, the last looks, and who took it."""

from __future__ import annotations

from collections.abc import Iterable

from app.forms.signatures import HandOverForm
from app.models.inspection import Inspection
from app.models.job import Job
from app.models.sheet import Signature
from app.queries.received import counted
from app.services.signatures import sheets_of
from app.services.write import Refused, Write, use_case
from app.workflow.gates import Gate, GateShut, pass_gate
from app.workflow.kinds import SignedWhat
from app.workflow.parts import differences
from app.workflow.words import Ended, InspectionKind, Outcome
from app.worksheets.facts import HeadSheet


@use_case
def hand_over(tx: Write, job: Job, form: HandOverForm) -> Signature:
    """The job leaves the shop: the gate asks for what the record must hold.

    The final clean is asked here, and what became of parts that differ: after this nobody can look.
    """
    if job.ended_as is not None:
        raise Refused(f"This job is over already: {job.ended_as.screen}.")
    sheets = leaving(sheets_of(tx, job).values())
    for sheet in sheets:
        try:
            pass_gate(Gate.HAND_OVER, sheet.facts)
        except GateShut as shut:
            raise Refused(f"{shut.message} Nothing was changed.") from shut
    _final_clean(tx, [sheet for sheet in sheets if not is_cleaned(sheet)], form)
    differ = differences(
        counted(tx.session, job.id, is_out=False), counted(tx.session, job.id, is_out=True)
    )
    if differ and not form.parts_because:
        raise Refused(
            f"{'; '.join(differ)}. Write what became of them, or count out again", "parts_because"
        )
    signature = tx.add(
        Signature(
            job_id=job.id,
            what=SignedWhat.HAND_OVER,
            words=f"Handed over to {form.collected_by}"[:400],
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    job.ended_as = Ended.HANDED_OVER
    job.ended_at = tx.at
    job.collected_by = form.collected_by
    job.ended_note = form.parts_because if differ else ""
    job.waiting, job.waiting_for = None, ""
    job.waiting_since = job.waiting_until = None
    tx.session.add(job)
    tx.log("handed over", signature, job=job, parts_differ=len(differ))
    return signature


def leaving(sheets: Iterable[HeadSheet]) -> list[HeadSheet]:
    """The heads that are asked about: one that was scrapped holds up no other of its job."""
    every = list(sheets)
    return [sheet for sheet in every if not sheet.facts.is_scrap] or every


def is_cleaned(sheet: HeadSheet) -> bool:
    """Whether the final clean was done, or was left out with a reason."""
    found = sheet.rows.inspections.get(InspectionKind.FINAL_CLEAN)
    return found is not None and found.outcome is not Outcome.NOT_OK


def _final_clean(tx: Write, sheets: list[HeadSheet], form: HandOverForm) -> None:
    if not sheets:
        return
    if form.clean is None:
        raise Refused("Say whether the final clean was done, or why not", "clean")
    for sheet in sheets:
        row = tx.add(
            Inspection(
                head_id=sheet.head.id,
                kind=InspectionKind.FINAL_CLEAN,
                outcome=form.clean,
                because=form.clean_because if form.clean is Outcome.NOT_DONE else "",
                taken_at=tx.at,
                by_id=tx.by_id,
                at=tx.at,
            )
        )
        tx.log(
            "recorded an inspection",
            row,
            job=sheet.head.job_id,
            head=sheet.head,
            kind=row.kind,
            outcome=row.outcome,
        )

"""Issuing sheets: what a sheet says is frozen as it is drawn, byte for byte, for ever."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.calc.trace import sha256
from app.forms.signatures import HandOverForm
from app.models.head import Head
from app.models.job import Job
from app.models.sheet import Sheet
from app.queries.head_records import unsigned
from app.queries.sheets import Issue
from app.services.hand_over import hand_over
from app.services.write import NotFound, Refused, Write, log_head, use_case
from app.workflow.kinds import SheetKind
from app.workflow.words import listed
from app.worksheets.facts import load_sheet


@dataclass(frozen=True, slots=True)
class Drawn:
    """A sheet as it was drawn: its whole text, its figures as canonical text, its style's hash."""

    html: str
    data: str
    style_sha256: str


AT_HAND_OVER = "the job was handed over"

# Drawing is the web's: a service is handed what draws, and keeps what comes of it.
Draw = Callable[[Session, SheetKind, Job, Head | None, Issue], Drawn]


@use_case
def issue_sheet(
    tx: Write, kind: SheetKind, job: Job, head: Head | None, draw: Draw, because: str = ""
) -> Sheet:
    """Issue the next revision of a tag, a set-up sheet or a head record.

    A record waits until every position with work is signed, or the job ended in another way; a
    draft can be printed at any time. A later revision says why it is issued: the one before
    it is marked with that, on a page of its own. Called inside another use case, the log's head on
    the sheet covers what that one did so far: log the row that it returns after this.
    """
    if job.voided_at is not None:
        raise Refused(f"{job.number} was voided; nothing is issued for it.")
    if head is not None and head.job_id != job.id:
        raise NotFound("There is no such head in this job.")
    if kind in (SheetKind.RECORD, SheetKind.CUSTOMER):
        _refuse_unsigned(tx, job, head)
    rev = _revisions_so_far(tx, kind, job, head) + 1
    if rev > 1 and not because:
        raise Refused(
            f"Revision {rev - 1} was issued already: say why it is issued again. Nothing was "
            "issued.",
            "because",
        )
    tx.seal(is_last=False)
    at_head = log_head(tx.session)
    by = tx.by.name if tx.by else ""
    drawn = draw(tx.session, kind, job, head, Issue(tx.at, by, rev, at_head))
    sheet = tx.add(
        Sheet(
            kind=kind,
            job_id=job.id,
            head_id=head.id if head else None,
            rev=rev,
            html=drawn.html,
            data=drawn.data,
            sha256=sha256(drawn.html),
            style_sha256=drawn.style_sha256,
            log_head=at_head,
            by_id=tx.by_id,
            at=tx.at,
            because=because if rev > 1 else None,
        )
    )
    tx.log(
        f"issued the {kind.screen}",
        sheet,
        job=job,
        head=head,
        rev=rev,
        sha256=sheet.sha256,
        data_sha256=sha256(drawn.data),
    )
    return sheet


@use_case
def hand_over_and_issue(tx: Write, job: Job, form: HandOverForm, draw: Draw) -> Sheet:
    """The job leaves the shop, and each head's two records are issued with it: the shop's, and the
    customer's in plain words. Returns the last one for the customer."""
    hand_over(tx, job, form)
    heads = tx.session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    if not heads:
        raise Refused(f"{job.number} has no head whose record could be issued.")
    for head in heads:
        issue_sheet(tx, SheetKind.RECORD, job, head, draw, AT_HAND_OVER)
    return [issue_sheet(tx, SheetKind.CUSTOMER, job, head, draw, AT_HAND_OVER) for head in heads][
        -1
    ]


def _refuse_unsigned(tx: Write, job: Job, head: Head | None) -> None:
    if head is None:
        raise Refused("Choose the head whose record is to be issued; nothing was issued.")
    sheet = load_sheet(tx.session, head)
    left = unsigned(sheet)
    if job.ended_as is not None or (sheet.rows.ports and not left):
        return
    told = f"Not signed yet: {listed(left)}." if left else "No position is laid out yet."
    raise Refused(
        f"{told} Sign the finished positions first, or print the record as a draft; nothing was "
        "issued."
    )


def _revisions_so_far(tx: Write, kind: SheetKind, job: Job, head: Head | None) -> int:
    same = select(func.max(col(Sheet.rev))).where(
        Sheet.kind == kind,
        Sheet.job_id == job.id,
        col(Sheet.head_id).is_(None) if head is None else col(Sheet.head_id) == head.id,
    )
    return tx.session.exec(same).one() or 0

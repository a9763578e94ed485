"""Stored stages: recomputed from facts after each change that they depend on."""

from __future__ import annotations

from collections.abc import Iterable

from sqlmodel import col, select, update

from app.models.head import Head
from app.models.job import Job
from app.services.write import Write
from app.workflow.stages import stages_of
from app.worksheets.facts import HeadSheet, load_sheet, load_sheets


def refresh_stages(tx: Write, head: Head) -> HeadSheet:
    """Store how far each position of a head is now; the facts are handed on."""
    tx.session.flush()
    sheet = load_sheet(tx.session, head)
    _store(tx, sheet)
    tx.session.flush()
    return sheet


def refresh_all_stages(tx: Write, job: Job) -> None:
    """The same for every head of a job: consent, prices and parts speak for all of them."""
    tx.session.flush()
    heads = tx.session.exec(select(Head).where(Head.job_id == job.id)).all()
    for sheet in load_sheets(tx.session, heads).values():
        _store(tx, sheet)
    tx.session.flush()


def stages_due(tx: Write, head_ids: Iterable[int]) -> None:
    """Leave the storing of stages to the next change that needs them.

    Gathering the facts of a head takes dozens of statements, one reading ten: pages work stages
    from the facts, so only the stored ones wait. The heads' own forms do not grow stale by it.
    """
    tx.session.execute(
        update(Head)
        .where(col(Head.id).in_(list(head_ids)), col(Head.stages_due).is_(False))
        .values(stages_due=True)
        .execution_options(synchronize_session=False)
    )


def _store(tx: Write, sheet: HeadSheet) -> None:
    stages = stages_of(sheet.facts)
    tx.session.execute(
        update(Head)
        .where(col(Head.id) == sheet.head.id, col(Head.stages_due).is_(True))
        .values(stages_due=False)
        .execution_options(synchronize_session=False)
    )
    for rows in sheet.rows.ports:
        stage = stages[rows.label].stage
        if rows.port.stage is not stage:
            rows.port.stage = stage
            tx.session.add(rows.port)

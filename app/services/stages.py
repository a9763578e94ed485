"""Stored stages: recomputed from facts after each change that they depend on."""

from __future__ import annotations

from sqlmodel import select

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


def _store(tx: Write, sheet: HeadSheet) -> None:
    stages = stages_of(sheet.facts)
    for rows in sheet.rows.ports:
        stage = stages[rows.label].stage
        if rows.port.stage is not stage:
            rows.port.stage = stage
            tx.session.add(rows.port)

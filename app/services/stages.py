"""Stored stages: recomputed from facts after each change that they depend on."""

from __future__ import annotations

from app.models.head import Head
from app.services.write import Write
from app.workflow.stages import stages_of
from app.worksheets.facts import HeadSheet, load_sheet


def refresh_stages(tx: Write, head: Head) -> HeadSheet:
    """Store how far each position of a head is now; the facts are handed on."""
    tx.session.flush()
    sheet = load_sheet(tx.session, head)
    stages = stages_of(sheet.facts)
    for rows in sheet.rows.ports:
        stage = stages[rows.label].stage
        if rows.port.stage is not stage:
            rows.port.stage = stage
            tx.session.add(rows.port)
    tx.session.flush()
    return sheet

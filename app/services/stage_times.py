"""How long signed work took, kept with the signature: promises are worked from it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from app.models.port_pass import StageTime
from app.models.sheet import Signature
from app.queries.shop_rules import current_rules
from app.services.write import Write
from app.workflow.planning import Moment, seconds_by_stage
from app.workflow.words import WorkStage
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings


def keep_times(
    tx: Write, signature: Signature, sheet: HeadSheet, signed: Sequence[PortRows]
) -> None:
    """Keep what each stage took on these positions; it says nothing of who did it."""
    if not signed:
        return
    own = {rows.port.id for rows in signed}
    moments = [
        Moment(at, stage, rows.port.id in own)
        for rows in sheet.rows.ports
        for stage, at in _moments(sheet, rows)
    ]
    moments.append(Moment(tx.at, WorkStage.FINISH))
    pause = timedelta(minutes=current_rules(tx.session).whole("longest_pause"))
    took = seconds_by_stage(moments, pause)
    for stage, positions in (
        (WorkStage.MEASURE, len(signed)),
        (WorkStage.CUT, sum(rows.cut is not None for rows in signed)),
        (WorkStage.FINISH, len(signed)),
    ):
        # A stage that left no time on record, typed in later from paper, teaches nothing.
        if positions and took.get(stage):
            tx.session.add(
                StageTime(
                    signature_id=signature.id,
                    head_id=sheet.head.id,
                    stage=stage,
                    positions=positions,
                    seconds=took[stage],
                    at=tx.at,
                )
            )


def _moments(sheet: HeadSheet, rows: PortRows) -> Iterator[tuple[WorkStage, datetime]]:
    for readings in (rows.stems, rows.guides, rows.pockets, *_rings(sheet, rows)):
        yield from ((WorkStage.MEASURE, at) for at in _taken(readings))
    if rows.opening is not None:
        yield WorkStage.CUT, rows.opening.at
    yield from ((WorkStage.CUT, at) for at in _taken(rows.bore))
    if rows.verification is not None:
        yield WorkStage.CUT, rows.verification.at
    if rows.ring_in is not None:
        yield WorkStage.FINISH, rows.ring_in.at
    yield from ((WorkStage.FINISH, at) for at in _taken(rows.finish))


def _rings(sheet: HeadSheet, rows: PortRows) -> Iterable[Readings | None]:
    target = sheet.targets.get(rows.port.id)
    working = target.set_working if target else None
    return [row.readings for row in working.rows] if working else []


def _taken(readings: Readings | None) -> Iterator[datetime]:
    """When each was typed at the bench; what was read on paper has no such time."""
    for each in readings.counting if readings else ():
        if not each.is_entered_later:
            yield each.taken_at

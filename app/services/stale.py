"""What rests on a changed fact no longer stands: marked, never recomputed silently."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlmodel import col, select

from app.models.port_pass import Cut, OvercutSample, OvercutStrike, PortPass, RingIn
from app.models.reading import Reading
from app.models.result import NoLongerStands, Result, ResultReading
from app.services.write import Write
from app.workflow.kinds import PassOutcome, Quantity, ResultKind
from app.workflow.stale import Change, Phase, change_of, what_no_longer_stands

# What usually lies behind a result of a kind, for a change that no reading tells.
_USUALLY: Mapping[ResultKind, Change] = {
    ResultKind.RING_SET: Change.RING_OD_STRUCK,
    ResultKind.TARGET: Change.RINGS_SWAPPED,
    ResultKind.DEPTH_STOP: Change.TOUCH_OFF_CHANGED,
    ResultKind.CLEAN_UP: Change.OLD_POCKET_STRUCK,
    ResultKind.WALL_WEB: Change.WALL_STRUCK,
    ResultKind.PILOT_FIT: Change.PILOT_RE_MEASURED,
    ResultKind.PLAN: Change.RULE_CHANGED,
    ResultKind.SETTING: Change.FIXTURE_STRUCK,
    ResultKind.VERIFICATION: Change.BORE_STRUCK,
    ResultKind.RING_IN: Change.OD_CHECK_STRUCK,
    ResultKind.FINISH: Change.SEAT_STRUCK,
    ResultKind.OVERCUT: Change.TIP_CHANGED,
    ResultKind.GUIDE_GRIP: Change.NEW_GUIDE_STRUCK,
}


def unsettle_readings(tx: Write, reading_ids: Iterable[int], because: str) -> list[int]:
    """Mark what rests on these readings; bores taught to the overcut are taken out of it too."""
    ids = list(reading_ids)
    if not ids:
        return []
    rows = tx.session.exec(
        select(Result, Reading.quantity)
        .join(ResultReading, col(ResultReading.result_id) == col(Result.id))
        .join(Reading, col(Reading.id) == col(ResultReading.reading_id))
        .where(col(ResultReading.reading_id).in_(ids))
        .order_by(col(Result.id), col(Reading.id))
    ).all()
    changes = {result.id: change_of(Quantity(quantity)) for result, quantity in reversed(rows)}
    return _mark(tx, [result for result, _ in rows], because, changes)


def unsettle_results(
    tx: Write, results: Iterable[Result], because: str, change: Change | None = None
) -> list[int]:
    """Mark results that still stand; each once."""
    rows = list(results)
    if not rows:
        return []
    order = list(ResultKind)
    usual = _USUALLY[min((result.kind for result in rows), key=order.index)]
    return _mark(tx, rows, because, {result.id: change or usual for result in rows})


def unsettle_port(
    tx: Write,
    port_id: int,
    kinds: Iterable[ResultKind],
    because: str,
    change: Change | None = None,
) -> list[int]:
    """Mark the accepted results of these kinds on a position and its passes."""
    passes = select(PortPass.id).where(PortPass.port_id == port_id)
    results = tx.session.exec(
        select(Result).where(
            col(Result.kind).in_(list(kinds)),
            (col(Result.port_id) == port_id) | col(Result.port_pass_id).in_(passes),
        )
    ).all()
    return unsettle_results(tx, results, because, change)


def unsettle_settings(
    tx: Write, setting_ids: Iterable[int], because: str, change: Change | None = None
) -> list[int]:
    """Mark the accepted sizes of settings."""
    results = tx.session.exec(
        select(Result).where(
            col(Result.setting_id).in_(list(setting_ids)), Result.kind == ResultKind.SETTING
        )
    ).all()
    return unsettle_results(tx, results, because, change)


def _mark(
    tx: Write, results: Iterable[Result], because: str, changes: Mapping[int, Change]
) -> list[int]:
    by_id = {result.id: result for result in results}
    if not by_id:
        return []
    marked = set(
        tx.session.exec(
            select(NoLongerStands.result_id).where(col(NoLongerStands.result_id).in_(list(by_id)))
        ).all()
    )
    fresh = [result for result in by_id.values() if result.id not in marked]
    phases = _phases(tx, fresh)
    for result in fresh:
        table = what_no_longer_stands(changes[result.id], phases[result.id])
        tx.session.add(
            NoLongerStands(
                result_id=result.id,
                because=because[:300],
                redo=table.redo[:300],
                still_good=table.still_good[:300],
                by_id=tx.by_id,
                at=tx.at,
            )
        )
    _forget_overcut(tx, fresh, because)
    tx.session.flush()
    return [result.id for result in fresh]


def _phases(tx: Write, results: Iterable[Result]) -> dict[int, Phase]:
    """How far the position of each result is: it decides what can still be redone."""
    rows = list(results)
    of_port = _newest_passes(tx, {result.port_id for result in rows if result.port_id})
    passes = {result.id: result.port_pass_id or of_port.get(result.port_id or 0) for result in rows}
    wanted = {pass_id for pass_id in passes.values() if pass_id is not None}
    if not wanted:
        return {result.id: Phase.BEFORE_CUT for result in rows}
    far: dict[int | None, Phase] = {}
    for pass_id in tx.session.exec(
        select(Cut.port_pass_id).where(col(Cut.port_pass_id).in_(wanted))
    ):
        far[pass_id] = Phase.CUT
    for ring_in in tx.session.exec(
        select(RingIn).where(col(RingIn.port_pass_id).in_(wanted)).order_by(col(RingIn.id))
    ):
        far[ring_in.port_pass_id] = Phase.CUT if ring_in.withdrawn else Phase.RING_IN
    for pass_id in tx.session.exec(
        select(PortPass.id).where(
            col(PortPass.id).in_(wanted), PortPass.outcome == PassOutcome.SIGNED
        )
    ):
        far[pass_id] = Phase.SIGNED
    return {result.id: far.get(passes[result.id], Phase.BEFORE_CUT) for result in rows}


def _newest_passes(tx: Write, port_ids: Iterable[int]) -> dict[int, int]:
    rows = tx.session.exec(
        select(PortPass.port_id, PortPass.id)
        .where(col(PortPass.port_id).in_(list(port_ids)))
        .order_by(col(PortPass.nth))
    ).all()
    return dict(rows)


def _forget_overcut(tx: Write, results: Iterable[Result], because: str) -> None:
    pass_ids = [result.port_pass_id for result in results if result.kind is ResultKind.VERIFICATION]
    if not pass_ids:
        return
    samples = tx.session.exec(
        select(OvercutSample)
        .outerjoin(OvercutStrike, col(OvercutStrike.overcut_sample_id) == col(OvercutSample.id))
        .where(col(OvercutSample.port_pass_id).in_(pass_ids), col(OvercutStrike.id).is_(None))
    ).all()
    for sample in samples:
        tx.session.add(
            OvercutStrike(
                overcut_sample_id=sample.id, reason=because[:200], by_id=tx.by_id, at=tx.at
            )
        )

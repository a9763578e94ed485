"""What rests on a changed fact no longer stands: marked, never recomputed silently."""

from __future__ import annotations

from collections.abc import Iterable

from sqlmodel import col, select

from app.models.port_pass import OvercutSample, OvercutStrike, PortPass
from app.models.result import NoLongerStands, Result, ResultReading
from app.services.write import Write
from app.workflow.kinds import ResultKind

REDO: dict[ResultKind, str] = {
    ResultKind.RING_SET: "look at the ring set again",
    ResultKind.TARGET: "work the counterbore out again: make the setting again",
    ResultKind.DEPTH_STOP: "clamp up again, or touch off again",
    ResultKind.CLEAN_UP: "check the clean-up again",
    ResultKind.WALL_WEB: "check wall and web again",
    ResultKind.PILOT_FIT: "check the pilot's fit again",
    ResultKind.PLAN: "plan the settings again",
    ResultKind.SETTING: "set the cutter again and read it back",
    ResultKind.VERIFICATION: "gauge the bore again, or prove it again with the readings that count",
    ResultKind.RING_IN: "look at the ring that went in, and decide",
    ResultKind.FINISH: "measure the finished seat again",
    ResultKind.OVERCUT: "nothing: this bore no longer teaches the overcut",
}


def unsettle_readings(tx: Write, reading_ids: Iterable[int], because: str) -> list[int]:
    """Mark what rests on these readings; bores taught to the overcut are taken out of it too."""
    ids = list(reading_ids)
    if not ids:
        return []
    results = tx.session.exec(
        select(Result)
        .join(ResultReading, col(ResultReading.result_id) == col(Result.id))
        .where(col(ResultReading.reading_id).in_(ids))
        .order_by(col(Result.id))
    ).all()
    return unsettle_results(tx, results, because)


def unsettle_results(tx: Write, results: Iterable[Result], because: str) -> list[int]:
    """Mark results that still stand; each once."""
    by_id = {result.id: result for result in results}
    if not by_id:
        return []
    marked = set(
        tx.session.exec(
            select(NoLongerStands.result_id).where(col(NoLongerStands.result_id).in_(list(by_id)))
        ).all()
    )
    fresh = [result for result in by_id.values() if result.id not in marked]
    for result in fresh:
        tx.session.add(
            NoLongerStands(
                result_id=result.id,
                because=because[:300],
                redo=REDO[result.kind],
                by_id=tx.by_id,
                at=tx.at,
            )
        )
    _forget_overcut(tx, fresh, because)
    tx.session.flush()
    return [result.id for result in fresh]


def unsettle_port(tx: Write, port_id: int, kinds: Iterable[ResultKind], because: str) -> list[int]:
    """Mark the accepted results of these kinds on a position and its open pass."""
    passes = select(PortPass.id).where(PortPass.port_id == port_id)
    results = tx.session.exec(
        select(Result).where(
            col(Result.kind).in_(list(kinds)),
            (col(Result.port_id) == port_id) | col(Result.port_pass_id).in_(passes),
        )
    ).all()
    return unsettle_results(tx, results, because)


def unsettle_settings(tx: Write, setting_ids: Iterable[int], because: str) -> list[int]:
    """Mark the accepted sizes of settings."""
    results = tx.session.exec(
        select(Result).where(
            col(Result.setting_id).in_(list(setting_ids)), Result.kind == ResultKind.SETTING
        )
    ).all()
    return unsettle_results(tx, results, because)


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

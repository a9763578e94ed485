"""Accepting a result: frozen with its inputs, working and the readings that it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from app.calc.trace import Result as Calculated
from app.calc.trace import canonical, plain, sha256
from app.models.result import Result, ResultReading
from app.services.write import Write
from app.workflow.kinds import ResultKind


def accept(
    tx: Write,
    kind: ResultKind,
    calculated: Calculated | Mapping[str, Any],
    *,
    readings: Iterable[int] = (),
    port_id: int | None = None,
    port_pass_id: int | None = None,
    setting_id: int | None = None,
) -> Result:
    """Freeze a result; a record without a calculation (a ring in) gives a plain mapping."""
    if isinstance(calculated, Calculated):
        record = plain(calculated)
        name, version = calculated.calculation.name, calculated.calculation.version
    else:
        record = {"working": [], **plain(calculated)}
        name, version = kind.value, 1
    text = canonical(record)
    result = tx.add(
        Result(
            kind=kind,
            port_id=port_id,
            port_pass_id=port_pass_id,
            setting_id=setting_id,
            calculation=name,
            version=version,
            record=text,
            sha256=sha256(text),
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    for reading_id in sorted(set(readings)):
        tx.session.add(ResultReading(result_id=result.id, reading_id=reading_id))
    tx.session.flush()
    return result

"""Accepted results, and whether they still stand."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import bindparam
from sqlmodel import Session, col, or_, select

from app.calc.trace import Step
from app.models.result import NoLongerStands, Result
from app.workflow.kinds import ResultKind


@dataclass(frozen=True, slots=True)
class Accepted:
    """The newest accepted result of a kind, and what unsettled it, if anything did."""

    result: Result
    no_longer: NoLongerStands | None

    @property
    def stands(self) -> bool:
        """Nothing under it changed."""
        return self.no_longer is None

    @property
    def record(self) -> dict[str, Any]:
        """Inputs, outputs and working as they were frozen."""
        found: dict[str, Any] = json.loads(self.result.record)
        return found

    @property
    def working(self) -> tuple[Step, ...]:
        """The frozen working, for showing."""
        return tuple(Step(**step) for step in self.record["working"])


@dataclass(frozen=True)
class AcceptedOf:
    """The accepted results of some passes and ports, the newest of each kind."""

    by_pass: dict[tuple[int, ResultKind], Accepted]
    by_port: dict[tuple[int, ResultKind], Accepted]
    by_setting: dict[tuple[int, ResultKind], Accepted]

    def of_pass(self, port_pass_id: int | None, kind: ResultKind) -> Accepted | None:
        """The newest of a kind for a pass."""
        return None if port_pass_id is None else self.by_pass.get((port_pass_id, kind))

    def of_setting(self, setting_id: int) -> Accepted | None:
        """The size of a setting, as it was accepted last."""
        return self.by_setting.get((setting_id, ResultKind.SETTING))

    def of_port(self, port_id: int, kind: ResultKind) -> Accepted | None:
        """The newest of a kind for a position, outside any pass."""
        return self.by_port.get((port_id, kind))


def load_accepted(
    session: Session,
    *,
    port_pass_ids: Iterable[int] = (),
    port_ids: Iterable[int] = (),
    setting_ids: Iterable[int] = (),
) -> AcceptedOf:
    """The newest accepted results of passes, ports and settings, in one statement."""
    rows = session.exec(
        _accepted_of(),
        params={
            "passes": list(port_pass_ids),
            "ports": list(port_ids),
            "settings": list(setting_ids),
        },
    ).all()
    by_pass: dict[tuple[int, ResultKind], Accepted] = {}
    by_port: dict[tuple[int, ResultKind], Accepted] = {}
    by_setting: dict[tuple[int, ResultKind], Accepted] = {}
    for result, no_longer in rows:
        accepted = Accepted(result, no_longer)
        if result.port_pass_id is not None:
            by_pass[result.port_pass_id, result.kind] = accepted
        elif result.port_id is not None:
            by_port[result.port_id, result.kind] = accepted
        elif result.setting_id is not None:
            by_setting[result.setting_id, result.kind] = accepted
    return AcceptedOf(by_pass, by_port, by_setting)


@cache
def _accepted_of() -> Any:
    # Built once: every page and write asks for it.
    return (
        select(Result, NoLongerStands)
        .outerjoin(NoLongerStands, col(NoLongerStands.result_id) == col(Result.id))
        .where(
            or_(
                col(Result.port_pass_id).in_(bindparam("passes", expanding=True)),
                col(Result.port_id).in_(bindparam("ports", expanding=True)),
                col(Result.setting_id).in_(bindparam("settings", expanding=True)),
            )
        )
        .order_by(col(Result.id), col(NoLongerStands.id))
    )

"""Not done, because …: an open point closed by a reason, and taken back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from app.forms.not_done import NotDoneForm
from app.models.head import Head, NotDone
from app.services.owned import open_head, port_of
from app.services.stages import refresh_stages
from app.services.write import Refused, Write, use_case
from app.workflow.gates import GATES, accepts_reason
from app.workflow.permissions import may, refusal
from app.workflow.requirements import OfPort, Requirement


@use_case
def say_not_done(tx: Write, head_id: int, form: NotDoneForm) -> Head:
    """The reason for each point, at each position that was ticked."""
    return _say(tx, head_id, form.keys, form.port_ids, form.because, is_withdrawn=False)


@use_case
def withdraw_not_done(tx: Write, head_id: int, key: str, port_ids: Sequence[int]) -> Head:
    """It will be done after all: the point is open again until a value closes it."""
    return _say(tx, head_id, [key], port_ids, "taken back", is_withdrawn=True)


def _say(
    tx: Write,
    head_id: int,
    keys: Sequence[str],
    port_ids: Sequence[int],
    because: str,
    *,
    is_withdrawn: bool,
) -> Head:
    job, head = open_head(tx, head_id)
    ports = [port_of(tx.session, head, port_id) for port_id in dict.fromkeys(port_ids)]
    for key in keys:
        lines = _lines(head, key)
        _refuse_role(tx, lines)
        of_ports = any(isinstance(line, OfPort) for line in lines)
        if of_ports and not ports:
            raise Refused("Tick the positions that this is said of.", "port")
        for port_id in [port.id for port in ports] if of_ports else [None]:
            tx.session.add(
                NotDone(
                    head_id=head.id,
                    port_id=port_id,
                    requirement=key,
                    because=because,
                    is_withdrawn=is_withdrawn,
                    by_id=tx.by_id,
                    at=tx.at,
                )
            )
    refresh_stages(tx, head)
    tx.log(
        "took back a not done" if is_withdrawn else "said why it was not done",
        head,
        job=job,
        head=head,
        points=list(keys),
        ports=[port.id for port in ports],
        because=because,
    )
    return head


def _lines(head: Head, key: str) -> list[Requirement]:
    if not accepts_reason(key, head.gate_version):
        raise Refused("A reason does not close this; nothing was changed.", "key")
    return [line for line in GATES[head.gate_version] if line.key == key]


def _refuse_role(tx: Write, lines: Iterable[Requirement]) -> None:
    """Who may close a point by a value may close it by a reason, and nobody else."""
    for line in lines:
        if not may(tx.by.role if tx.by else None, line.closing.by):
            raise Refused(refusal(line.closing.by))

"""Valves and springs of a head: what becomes of each valve, and what was read of it."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session, col, select

from app.forms.readings import Entry
from app.forms.valves import ValvesForm
from app.models.head import Head
from app.models.inspection import ValveFate
from app.models.person import Person
from app.services.owned import open_head, port_of
from app.services.readings import PLAIN, ReadWith, record_readings
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import ValveState


@use_case
def measure_valves(
    tx: Write,
    head_id: int,
    form: ValvesForm,
    entries: Sequence[Entry] = (),
    read_with: ReadWith = PLAIN,
) -> Head:
    """A page of valves: what was said of them, and what was read."""
    _, head = open_head(tx, head_id)
    before = tx.logged
    judge_valves(tx, head_id, form)
    if entries:
        record_readings(tx, head, entries, read_with)
    if tx.logged == before:
        return tx.leave(head)
    tx.log("measured valves", head, job=head.job_id, head=head)
    return head


@use_case
def judge_valves(tx: Write, head_id: int, form: ValvesForm) -> Head:
    """Kept, refaced, new or missing; what stands already is not written twice."""
    job, head = open_head(tx, head_id)
    ports = {port_id: port_of(tx.session, head, port_id) for port_id in form.said}
    newest = _newest(tx.session, list(ports))
    changed: dict[int, ValveState] = {}
    for port_id, said in form.said.items():
        there = newest.get(port_id)
        if there is not None and there.state is said:
            continue
        if there is not None and there.state is not form.had.get(port_id):
            name = tx.session.get_one(Person, there.by_id).name
            raise Refused(
                f"{ports[port_id].label}: {name} said “{there.state.screen}” after this page was "
                f"opened, and “{said.screen}” was chosen now. Nothing of this page was stored "
                "yet: choose one of the two and send it again.",
                f"valve_{port_id}",
            )
        changed[port_id] = said
    if not changed:
        return tx.leave(head)
    for port_id, said in changed.items():
        tx.add(ValveFate(port_id=port_id, state=said, by_id=tx.by_id, at=tx.at))
    tx.log(
        "said what becomes of valves",
        head,
        job=job,
        head=head,
        valves=[[ports[port_id].label, said] for port_id, said in changed.items()],
    )
    return head


def _newest(session: Session, port_ids: list[int]) -> dict[int, ValveFate]:
    rows = session.exec(
        select(ValveFate).where(col(ValveFate.port_id).in_(port_ids)).order_by(col(ValveFate.id))
    )
    return {row.port_id: row for row in rows}

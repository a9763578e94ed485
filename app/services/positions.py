"""Work and present seat of every position of a head, in one run."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session, col, select

from app.forms.positions import PositionsForm, had
from app.models.head import Head, Port
from app.models.port_pass import PortPass
from app.services.layouts import cut_positions
from app.services.owned import open_head
from app.services.stages import refresh_stages
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import PassOutcome
from app.workflow.words import SeatNow, Work, listed


def is_as_kept(session: Session, head: Head, form: PositionsForm) -> bool:
    """Whether a Keep would change nothing: then nothing is done, and nothing is logged."""
    ports = _ports(session, head)
    return bool(ports) and all((each.work, each.seat_now) == _wanted(each, form) for each in ports)


def kept_work(session: Session, head: Head) -> dict[int, tuple[Work, SeatNow | None]]:
    """Work and present seat of each position, by its id."""
    return {port.id: (port.work, port.seat_now) for port in _ports(session, head)}


@use_case
def decide_positions(tx: Write, head_id: int, form: PositionsForm) -> Head:
    """Keep what was chosen; of two pages open at once, only a clash on one position is refused."""
    job, head = open_head(tx, head_id)
    ports = _ports(tx.session, head)
    if not ports:
        raise Refused("This head has no valve layout yet; describe it first. Nothing was changed.")
    wanted = {port.id: _wanted(port, form) for port in ports}
    changed = [port for port in ports if (port.work, port.seat_now) != wanted[port.id]]
    _refuse_clashes(changed, form)
    other_work = [port for port in changed if port.work is not wanted[port.id][0]]
    _refuse_cut(tx, head, other_work)
    for port in changed:
        port.work, port.seat_now = wanted[port.id]
        tx.session.add(port)
    _close_passes(tx, other_work)
    refresh_stages(tx, head)
    tx.log(
        "decided the work of positions",
        head,
        job=job,
        head=head,
        positions=[[port.label, port.work, port.seat_now] for port in changed],
    )
    return head


def _ports(session: Session, head: Head) -> Sequence[Port]:
    return session.exec(
        select(Port)
        .where(Port.head_id == head.id, col(Port.is_void).is_(False))
        .order_by(col(Port.place))
    ).all()


def _wanted(port: Port, form: PositionsForm) -> tuple[Work, SeatNow | None]:
    decided = form.decided.get(port.id)
    work, seat_now = port.work, port.seat_now
    if decided is not None and had(decided.work or work, decided.seat_now) != decided.had:
        # Only what was touched on this page: the rest may have been decided elsewhere since.
        was_work, _, was_seat = decided.had.partition("|")
        if decided.work is not None and decided.work != was_work:
            work = decided.work
        if (decided.seat_now or "") != was_seat:
            seat_now = decided.seat_now
    quick = form.quick
    if quick is not None and quick.speaks_of(port.kind, work, seat_now):
        work, seat_now = quick.work or work, quick.seat_now or seat_now
    return work, seat_now


def _refuse_clashes(changed: list[Port], form: PositionsForm) -> None:
    clashing = [
        port.label
        for port in changed
        if (decided := form.decided.get(port.id)) is not None
        and decided.had
        and decided.had != had(port.work, port.seat_now)
    ]
    if clashing:
        raise Refused(
            f"{listed(clashing)} changed on another page meanwhile. Nothing of this was kept; "
            "open the page again and decide with what stands there now."
        )


def _refuse_cut(tx: Write, head: Head, ports: list[Port]) -> None:
    changing = {port.id for port in ports}
    cut = [port.label for port in cut_positions(tx.session, head) if port.id in changing]
    if cut:
        raise Refused(
            f"Metal is off at {listed(cut)}: its work is no longer decided here. "
            "Nothing was changed; a hold has the ways out."
        )


def _close_passes(tx: Write, ports: list[Port]) -> None:
    """A bore worked out for other work is not waited for any more."""
    for port_pass in tx.session.exec(
        select(PortPass).where(
            col(PortPass.port_id).in_([port.id for port in ports if port.work is not Work.RING]),
            col(PortPass.closed_at).is_(None),
        )
    ):
        port_pass.outcome, port_pass.closed_at = PassOutcome.PLAN_CHANGED, tx.at
        tx.session.add(port_pass)

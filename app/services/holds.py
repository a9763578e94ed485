"""Holds: a position stops, and goes on only by a way out that someone signs for."""

from __future__ import annotations

from collections.abc import Callable

from sqlmodel import select

from app.forms.holds import WayForm
from app.models.head import Head, Port
from app.models.job import Job, Note
from app.models.port_pass import Hold, HoldRelease, PortPass
from app.models.reading import ReadingSet
from app.models.ring import Ring
from app.queries.shop_rules import current_rules
from app.services.passes import accept_target, close_pass
from app.services.stages import refresh_stages
from app.services.stale import unsettle_port
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import HoldReason, NoteKind, PassOutcome, ReadingKind, ResultKind
from app.workflow.permissions import may
from app.workflow.stale import Change
from app.workflow.ways_out import HoldSituation, WayOut, deviation_verb, way_out
from app.workflow.words import SeatNow, Waiting, Way, Work
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.holds import deviation_limit, deviation_value, situation


@use_case
def stop_position(tx: Write, port: Port, words: str) -> Hold:
    """Something is wrong: the position stops until a way out is chosen."""
    head = tx.session.get_one(Head, port.head_id)
    rows = load_sheet(tx.session, head).rows.port(port.id)
    if rows.hold is not None:
        raise Refused(f"{port.label} is on hold already: {rows.hold.words}")
    hold = tx.add(
        Hold(
            port_id=port.id,
            port_pass_id=rows.port_pass.id if rows.port_pass else None,
            reason=HoldReason.STOPPED,
            words=words,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    refresh_stages(tx, head)
    tx.log("stopped a position", hold, job=head.job_id, head=head, port=port, words=words)
    return hold


@use_case
def take_way_out(tx: Write, port: Port, form: WayForm) -> Port:
    """Take one of the ways out that are open; "stop and ask" keeps the hold and notes the asking.

    A deviation past a limit is the owner's to sign, with value, limit, reason and who decided.
    """
    head = tx.session.get_one(Head, port.head_id)
    sheet = load_sheet(tx.session, head)
    rows = sheet.rows.port(port.id)
    if rows.hold is None or form.way is None:
        raise Refused(f"{port.label} is not on hold any more; nothing was changed.")
    ground = situation(tx.session, sheet, rows, current_rules(tx.session))
    way = way_out(ground, form.way)
    if not way.is_open:
        raise Refused(f"{form.way.screen.capitalize()}: {way.told} Nothing was changed.", "way")
    if form.way is Way.STOP_AND_ASK:
        _note_asking(tx, head, port, form)
    else:
        if form.way is Way.DEVIATION:
            _refuse_deviation(tx, ground)
        tx.add(_release(tx, rows, ground, form))
        _FOLLOW[form.way](tx, sheet, rows, way, form)
    refresh_stages(tx, head)
    tx.log(
        "took a way out of a hold",
        port,
        job=head.job_id,
        head=head,
        port=port,
        way=form.way,
        reason=form.reason,
        hold=rows.hold.id,
    )
    return port


def _release(tx: Write, rows: PortRows, ground: HoldSituation, form: WayForm) -> HoldRelease:
    assert rows.hold is not None
    assert form.way is not None
    is_deviation = form.way is Way.DEVIATION
    return HoldRelease(
        hold_id=rows.hold.id,
        way=form.way,
        is_deviation=is_deviation,
        value=(form.value or deviation_value(ground)) if is_deviation else "",
        limit=(form.limit or deviation_limit(ground)) if is_deviation else "",
        reason=form.reason,
        decided_by=form.decided_by or (tx.by.name if tx.by else ""),
        customer_told=form.customer_told,
        by_id=tx.by_id,
        at=tx.at,
    )


def _refuse_deviation(tx: Write, ground: HoldSituation) -> None:
    limit = current_rules(tx.session).length("deviation_limit")
    verb = deviation_verb(ground, limit)
    if tx.by is None or not may(tx.by.role, verb):
        raise Refused(
            f"This is further out than {limit.shown(ground.unit.value)}, or not measured: only the "
            "owner signs such a deviation. Nothing was changed; the position stays on hold.",
            "way",
        )


def _note_asking(tx: Write, head: Head, port: Port, form: WayForm) -> None:
    job = tx.session.get_one(Job, head.job_id)
    tx.session.add(
        Note(
            job_id=job.id,
            head_id=head.id,
            port_id=port.id,
            kind=NoteKind.CALL_OUT,
            text=f"{port.label} on hold, asked: {form.reason}",
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    if job.waiting is None:
        job.waiting = Waiting.CUSTOMER
        job.waiting_for = f"an answer about {port.label}"
        job.waiting_since = tx.at
        tx.session.add(job)


def _cut_again(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    """The next pass has the same ring; its setting is planned anew, for this position."""
    _next_pass(tx, rows)
    again = load_sheet(tx.session, sheet.head)
    target = again.targets.get(rows.port.id)
    if target is not None and target.is_ready:
        accept_target(tx, target, why="cut again")


def _another_ring(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    """The bore stays as gauged; it is judged again with the ring that is to go in."""
    port_pass = _pass(rows)
    ring = tx.session.exec(
        select(Ring).where(Ring.ring_set_id == port_pass.ring_set_id, Ring.tag == form.ring_tag)
    ).first()
    if ring is None or ring.tag not in way.rings:
        raise Refused(f"Ring {form.ring_tag} is not one of those named.", "ring")
    rows.port.ring_id = ring.id
    tx.session.add(rows.port)
    tx.session.flush()
    unsettle_port(
        tx,
        rows.port.id,
        (ResultKind.TARGET, ResultKind.VERIFICATION),
        f"ring {ring.tag} is to go in instead",
    )
    target = load_sheet(tx.session, sheet.head).targets[rows.port.id]
    if not target.is_ready:
        raise Refused(f"Ring {ring.tag} is not ready: {'; '.join(target.open)}.", "ring")
    accept_target(tx, target)


def _larger_ring(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    """The position wants another set: measured first, then planned and cut."""
    _next_pass(tx, rows)
    rows.port.ring_set_id = rows.port.ring_id = None
    tx.session.add(rows.port)
    tx.session.flush()


def _read_again(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    """What was gauged stays on record and no longer counts."""
    port_pass = _pass(rows)
    tx.add(
        ReadingSet(
            kind=ReadingKind.BORE,
            port_pass_id=port_pass.id,
            is_afresh=True,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    again = Change.BORE_READ_AGAIN
    unsettle_port(tx, rows.port.id, (ResultKind.VERIFICATION,), again.screen, again)


def _weld(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    _give_up(tx, rows)
    rows.port.seat_now = SeatNow.WELDED
    rows.port.ring_set_id = rows.port.ring_id = None
    tx.session.add(rows.port)
    job = tx.session.get_one(Job, sheet.head.job_id)
    job.waiting = Waiting.WELDER
    job.waiting_for = f"{rows.label} to be welded"
    job.waiting_since = tx.at
    tx.session.add(job)
    tx.session.flush()


def _scrap(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    """The position is given up; ending the job is for the counter, who tells the customer."""
    _give_up(tx, rows)
    rows.port.work = Work.UNDECIDED
    tx.session.add(rows.port)
    tx.session.flush()


def _keep(tx: Write, sheet: HeadSheet, rows: PortRows, way: WayOut, form: WayForm) -> None:
    """Signed for as it is: the verdict stays what it was, with the deviation beside it."""


def _next_pass(tx: Write, rows: PortRows) -> None:
    close_pass(tx, _pass(rows), PassOutcome.NEXT_PASS)


def _give_up(tx: Write, rows: PortRows) -> None:
    if rows.port_pass is not None:
        close_pass(tx, rows.port_pass, PassOutcome.GIVEN_UP)


def _pass(rows: PortRows) -> PortPass:
    if rows.port_pass is None:
        raise Refused(f"{rows.label} has no counterbore worked out; nothing was changed.")
    return rows.port_pass


_FOLLOW: dict[Way, Callable[[Write, HeadSheet, PortRows, WayOut, WayForm], None]] = {
    Way.CUT_AGAIN: _cut_again,
    Way.ANOTHER_RING: _another_ring,
    Way.LARGER_RING: _larger_ring,
    Way.READ_AGAIN: _read_again,
    Way.WELD: _weld,
    Way.SCRAP: _scrap,
    Way.DEVIATION: _keep,
}

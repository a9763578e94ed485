"""Rings in: the gate before the ring, and which ring it was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from sqlmodel import col, select

from app.forms.earlier import ReadEarlier
from app.forms.readings import Entry
from app.forms.rings_in import OF_A_POSITION, RingInForm
from app.models.head import Head, Port
from app.models.port_pass import PortPass, RingIn
from app.models.ring import Ring
from app.queries.shop_rules import current_rules
from app.services.earlier import taken
from app.services.heats import ask_above_the_cap, heat_for
from app.services.owned import open_port
from app.services.readings import ReadWith, record_readings
from app.services.results import accept
from app.services.stages import refresh_stages
from app.services.write import Refused, Write, use_case
from app.workflow.facts import HeadFacts, Point
from app.workflow.gates import Gate, GateShut, pass_gate
from app.workflow.kinds import PassOutcome, ResultKind
from app.workflow.shop_rules import ShopRules
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.ring_sets import RingRow


@use_case
def press_ring(
    tx: Write, port: Port, form: RingInForm, earlier: ReadEarlier | None = None
) -> RingIn:
    """Record a ring in: the gate is shut while anything that cannot be undone is open.

    The ring in hand must be a ring that was measured: its outside diameter read again within the
    shop's limit, or a ring of a set whose rings may be mixed.
    """
    rules = current_rules(tx.session)
    head = tx.session.get_one(Head, port.head_id)
    by = taken(tx, earlier, port) if earlier else None
    sheet = load_sheet(tx.session, head)
    rows = sheet.rows.port(port.id)
    if rows.ring_in is not None:
        raise Refused(f"{port.label} has its ring in already; nothing was recorded twice.")
    if rows.port_pass is None or form.way is None:
        raise Refused(f"{port.label} has no bore yet; nothing was recorded.")
    ring = _ring_in_hand(sheet, rows, form)
    _refuse_ring_elsewhere(tx, ring, rows.port_pass)
    known_by = _known_by(sheet, rows, ring, form, rules)
    _pass_gate(sheet, rows, known_by)
    _ask_temperatures(form, head, rules)
    heat = heat_for(tx, sheet, rows, form)
    result = accept(
        tx,
        ResultKind.RING_IN,
        {"ring": ring.ring.id, "tag": ring.tag, "known_by": known_by, "od_check": form.od_check},
        port_pass_id=rows.port_pass.id,
    )
    made = tx.add(
        RingIn(
            port_pass_id=rows.port_pass.id,
            ring_id=ring.ring.id,
            od_check=form.od_check,
            known_by=known_by,
            way=form.way,
            head_c=form.head_c,
            ring_c=form.ring_c,
            method=form.method,
            heat=heat,
            feeler=form.feeler,
            note=form.note,
            pressed_at=by.at if by else None,
            pressed_by_id=by.by_id if by else None,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    refresh_stages(tx, head)
    tx.log(
        "pressed a ring in",
        made,
        job=head.job_id,
        head=head,
        port=port,
        ring=ring.ring.id,
        result=result.id,
        known_by=known_by,
        way=form.way,
        heat=heat,
    )
    return made


@use_case
def press_rings(
    tx: Write,
    pressed: Mapping[int, RingInForm],
    heights: Mapping[int, Sequence[Entry]],
    earlier: ReadEarlier | None = None,
) -> RingIn:
    """Rings of one heat, by position; all are recorded, or none. `earlier`: as a card tells it."""
    made: RingIn | None = None
    for port_id, form in pressed.items():
        port = open_port(tx, port_id)
        found = tx.session.exec(
            select(PortPass).where(PortPass.port_id == port_id, col(PortPass.closed_at).is_(None))
        ).first()
        try:
            if found is not None and heights.get(port_id):
                record_readings(tx, found, heights[port_id], ReadWith(earlier=earlier))
            made = press_ring(tx, port, form, earlier)
        except Refused as no:
            field = f"{no.field}.{port_id}" if no.field in OF_A_POSITION else no.field
            raise Refused(no.message, field) from no
    if made is None:
        raise Refused("Choose the rings that went in; nothing was recorded.")
    return made


@use_case
def take_ring_out(tx: Write, port: Port, because: str) -> RingIn:
    """The ring came out again, or was never in: what is recorded is taken back, not removed."""
    head = tx.session.get_one(Head, port.head_id)
    rows = load_sheet(tx.session, head).rows.port(port.id)
    if rows.ring_in is None or rows.port_pass is None:
        raise Refused(f"{port.label} has no ring in; nothing was changed.")
    if rows.port_pass.outcome is PassOutcome.SIGNED:
        raise Refused(
            f"{port.label} is signed. Put it on hold and choose a way out; nothing was changed."
        )
    was = rows.ring_in
    made = tx.add(
        RingIn(
            port_pass_id=was.port_pass_id,
            ring_id=was.ring_id,
            od_check=was.od_check,
            known_by=was.known_by,
            way=was.way,
            note=because,
            pressed_at=was.pressed_at,
            pressed_by_id=was.pressed_by_id,
            withdrawn=True,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    refresh_stages(tx, head)
    tx.log(
        "took a ring out",
        made,
        job=head.job_id,
        head=head,
        port=port,
        ring=was.ring_id,
        why=because,
    )
    return made


def _ask_temperatures(form: RingInForm, head: Head, rules: ShopRules) -> None:
    """What is beyond the shop's limits may have been so; it is asked about once."""
    if form.way is None:
        return
    if form.way.heats:
        ask_above_the_cap(form.head_c, head, rules, form.confirmed("hot"))
    coldest = rules.number("ring_c_coldest")
    if form.way.chills and form.ring_c is not None and form.ring_c < coldest:
        if form.confirmed("cold"):
            return
        raise Refused(
            f"{form.ring_c:g} °C is colder than rings are made here, {coldest:g} °C "
            f"({rules.source('ring_c_coldest')}). Is it so? Nothing was recorded yet.",
            "confirm_cold",
        )


def _ring_in_hand(sheet: HeadSheet, rows: PortRows, form: RingInForm) -> RingRow:
    target = sheet.targets.get(rows.port.id)
    working = target.set_working if target else None
    found = [row for row in working.rows if row.ring.id == form.ring_id] if working else []
    if not found:
        raise Refused("This ring is not of the set that was measured for it.", "ring")
    if not found[0].is_good:
        raise Refused(f"{found[0].open_words.capitalize()}: read it first.", "ring")
    return found[0]


def _known_by(
    sheet: HeadSheet, rows: PortRows, ring: RingRow, form: RingInForm, rules: ShopRules
) -> str:
    unit = sheet.rows.job.job.unit.value
    port_pass = rows.port_pass
    assert port_pass is not None
    if port_pass.ring_id is not None and port_pass.ring_id != ring.ring.id:
        raise Refused(
            f"{rows.label} was judged with another ring. Choose ring {ring.tag} for it on the "
            "ring set's page, and prove the bore with it; nothing was recorded.",
            "ring",
        )
    if form.od_check is not None and ring.measured is not None:
        off = abs(form.od_check - ring.measured.od)
        limit = rules.length("od_re_read_within")
        if off > limit:
            raise Refused(
                f"Read {form.od_check.shown(unit)}, ring {ring.tag} was read "
                f"{ring.measured.od.shown(unit, 5, 4)}: {off.shown(unit, 5, 4)} apart, allowed "
                f"{limit.shown(unit)}. Is it the ring that was measured? Nothing was recorded.",
                "od_check",
            )
        return f"ring {ring.tag}, read again {form.od_check.shown(unit)}"
    target = sheet.targets[rows.port.id]
    if port_pass.ring_id is None and target.set_working and not target.set_working.open_words:
        return f"ring {ring.tag} of a set whose rings may be mixed"
    raise Refused(
        f"Read the outside of ring {ring.tag} once more before it goes in: its set may not be "
        "mixed.",
        "od_check",
    )


def _pass_gate(sheet: HeadSheet, rows: PortRows, known_by: str) -> None:
    facts = _with_ring_in_hand(sheet.facts, rows.label, known_by)
    try:
        pass_gate(Gate.RING_IN, facts, [rows.label])
    except GateShut as shut:
        raise Refused(f"{shut.message} Nothing was recorded.") from shut


def _with_ring_in_hand(facts: HeadFacts, label: str, known_by: str) -> HeadFacts:
    return replace(
        facts,
        ports=tuple(
            replace(port, ring_in_hand=Point.closed(known_by)) if port.label == label else port
            for port in facts.ports
        ),
    )


def _refuse_ring_elsewhere(tx: Write, ring: RingRow, own: PortPass) -> None:
    rows = tx.session.exec(
        select(RingIn, PortPass)
        .join(PortPass, col(PortPass.id) == col(RingIn.port_pass_id))
        .where(RingIn.ring_id == ring.ring.id)
        .order_by(col(RingIn.id))
    ).all()
    is_in = {port_pass.id: not ring_in.withdrawn for ring_in, port_pass in rows}
    elsewhere = [
        port_pass for _, port_pass in rows if is_in[port_pass.id] and port_pass.id != own.id
    ]
    if elsewhere:
        port = tx.session.get_one(Port, elsewhere[-1].port_id)
        tag = tx.session.get_one(Ring, ring.ring.id).tag
        raise Refused(f"Ring {tag} went into {port.label} already. Choose another.", "ring")

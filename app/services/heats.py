"""Heats of a head: begun for all its rings at once, over, and cold before anything goes on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlmodel import col, func, select

from app.forms.heats import CoolDownForm, HeatCloseForm, HeatForm
from app.forms.readings import Entry
from app.forms.rings_in import RingInForm
from app.models.head import Head
from app.models.heat import Heat, HeatClose, HeatPort
from app.models.port_pass import PortPass, RingIn
from app.queries.shop_rules import current_rules
from app.services.owned import open_head
from app.services.readings import read_afresh, record_readings
from app.services.stages import refresh_stages
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import ReadingKind
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material, listed
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.head_rows import PortRows
from app.worksheets.heats import heats_of, loosened_by, open_heat, warm_rings
from app.worksheets.readings import Subject

_CARRIED = (
    "port_pass_id",
    "ring_id",
    "od_check",
    "known_by",
    "way",
    "head_c",
    "ring_c",
    "method",
    "feeler",
    "note",
    "heat",
    "pressed_at",
    "pressed_by_id",
)


@use_case
def begin_heat(tx: Write, head_id: int, form: HeatForm) -> Heat:
    """Heat a head for some rings; asked once more above the cap, and where rings would loosen."""
    job, head = open_head(tx, head_id)
    sheet = load_sheet(tx.session, head)
    running = open_heat(tx.session, head.id)
    if running is not None:
        raise Refused(
            f"Heat {running.nth} of this head is not over. Say that it is before another; nothing "
            "was recorded."
        )
    ask_above_the_cap(form.wanted_c, head, current_rules(tx.session), form.confirmed("hot"))
    if not form.confirmed("other_heat"):
        ask_another_heat(sheet)
    for port_id in form.port_ids:
        rows = sheet.rows.port(port_id)
        if rows.ring_in is not None:
            raise Refused(f"{rows.label} has its ring in already; nothing was recorded.", "port")
    heat = _new_heat(tx, sheet, form.port_ids, form.heated_by, form.wanted_c)
    tx.log(
        "began a heat",
        heat,
        job=job,
        head=head,
        ports=form.port_ids,
        nth=heat.nth,
        wanted_c=form.wanted_c,
    )
    return heat


@use_case
def close_heat(tx: Write, head_id: int, form: HeatCloseForm) -> HeatClose:
    """Every ring of the heat is in, or why one is not: from here the head cools."""
    job, head = open_head(tx, head_id)
    heat = open_heat(tx.session, head.id)
    if heat is None:
        raise Refused("No heat of this head is running; nothing was recorded.")
    found = heats_of(tx.session, load_sheet(tx.session, head))[-1]
    if found.waiting and not form.left_out:
        raise Refused(
            f"{listed([rows.label for rows in found.waiting])}: no ring went in in this heat. Say "
            "why, or record the ring first: heating again loosens the others.",
            "left_out",
        )
    made = tx.add(
        HeatClose(
            heat_id=heat.id,
            left_out=form.left_out if found.waiting else "",
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    tx.log("closed a heat", made, job=job, head=head, heat=heat.id, nth=heat.nth)
    return made


@use_case
def prove_cold(
    tx: Write, head_id: int, form: CoolDownForm, heights: Mapping[int, Sequence[Entry]]
) -> Head:
    """The head is cold and each ring of it down: what was pressed hot is said once more, cold."""
    job, head = open_head(tx, head_id)
    sheet = load_sheet(tx.session, head)
    running = open_heat(tx.session, head.id)
    if running is not None:
        raise Refused(
            f"Heat {running.nth} is not over: say so first, then let it cool. Nothing was recorded."
        )
    warm = warm_rings(sheet)
    if not warm:
        raise Refused("No ring of this head waits for its cool-down; nothing was recorded.")
    _ask_still_warm(form, current_rules(tx.session))
    for rows in warm:
        _read_cold(tx, rows, heights.get(rows.port.id, ()))
    made = [
        _written_again(tx, rows, feeler=form.felt[rows.port.id], cool_down=form.told[:120])
        for rows in warm
    ]
    refresh_stages(tx, head)
    tx.log(
        "proved rings down, cold",
        head,
        job=job,
        head=head,
        rings=[[row.port_pass_id, row.ring_id] for row in made],
        head_c=form.head_c,
        minutes=form.minutes,
    )
    return head


def heat_for(tx: Write, sheet: HeadSheet, rows: PortRows, form: RingInForm) -> int | None:
    """Which heat a ring goes in in: the one that runs, else one begun by this ring.

    A ring that goes in cold is of no heat.
    """
    if form.way is None or not form.way.heats:
        return None
    running = open_heat(tx.session, sheet.head.id)
    if running is not None:
        _name_in(tx, running, [rows.port.id])
        return running.nth
    if not form.confirmed("other_heat"):
        ask_another_heat(sheet)
    return _new_heat(tx, sheet, [rows.port.id], form.heated_by, None).nth


def _new_heat(
    tx: Write,
    sheet: HeadSheet,
    port_ids: Iterable[int],
    heated_by: str,
    wanted_c: float | None,
) -> Heat:
    """The next heat of a head, with the positions named for it; what is in goes through it too."""
    head = sheet.head
    last = tx.session.exec(select(func.max(Heat.nth)).where(Heat.head_id == head.id)).one()
    heat = tx.add(
        Heat(
            head_id=head.id,
            nth=(last or 0) + 1,
            heated_by=heated_by,
            wanted_c=wanted_c,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    _name_in(tx, heat, port_ids)
    for rows in loosened_by(sheet):
        _written_again(tx, rows, heat=heat.nth)
    return heat


def ask_above_the_cap(
    head_c: float | None, head: Head, rules: ShopRules, is_confirmed: bool
) -> None:
    """A head hotter than the shop's cap is asked about: it may have been so, and is no advice."""
    key = "head_c_cap" if head.material is Material.ALUMINIUM else "head_c_cap_iron"
    cap = rules.number(key)
    if head_c is None or head_c <= cap or is_confirmed:
        return
    raise Refused(
        f"{head_c:g} °C is above the shop's cap of {cap:g} °C for this head ({rules.source(key)}). "
        "Is it so? Nothing was recorded yet.",
        "confirm_hot",
    )


def ask_another_heat(sheet: HeadSheet) -> None:
    """Rings that are in already would be loosened: asked before a head is heated again."""
    loosened = loosened_by(sheet)
    if loosened:
        labels = listed([rows.label for rows in loosened])
        raise Refused(
            f"{labels}: ring in already, and heat would loosen it. Rings of one head go in in one "
            "heat. Is it heated again all the same? Nothing was recorded yet.",
            "confirm_other_heat",
        )


def _ask_still_warm(form: CoolDownForm, rules: ShopRules) -> None:
    shop, within = rules.number("temperature_c"), rules.number("cold_within")
    if form.head_c is None or abs(form.head_c - shop) <= within or form.confirmed("warm"):
        return
    raise Refused(
        f"{form.head_c:g} °C is not within {within:g} °C of the shop's {shop:g} °C: what is "
        "measured or cut now is of a head of another size. Let it stand on, or is it cold all the "
        "same? Nothing was recorded yet.",
        "confirm_warm",
    )


def _name_in(tx: Write, heat: Heat, port_ids: Iterable[int]) -> None:
    named = set(
        tx.session.exec(select(col(HeatPort.port_id)).where(HeatPort.heat_id == heat.id)).all()
    )
    for port_id in port_ids:
        if port_id not in named:
            tx.session.add(HeatPort(heat_id=heat.id, port_id=port_id))
    tx.session.flush()


def _read_cold(tx: Write, rows: PortRows, entries: Sequence[Entry]) -> None:
    """Heights that were read hot no longer count once they are read cold."""
    if not entries or rows.port_pass is None:
        return
    port_pass: PortPass = rows.port_pass
    read_afresh(tx, port_pass, Subject("port_pass", port_pass.id), ReadingKind.RING_DOWN)
    record_readings(tx, port_pass, entries)


def _written_again(tx: Write, rows: PortRows, **changed: Any) -> RingIn:
    """The ring as it stands, once more with what is new: rows of a ring in never change."""
    was = rows.ring_in
    assert was is not None
    known = {name: getattr(was, name) for name in _CARRIED} | changed
    return tx.add(RingIn(**known, by_id=tx.by_id, at=tx.at))

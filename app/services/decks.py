"""Stock off a deck: recorded, and what was gauged from the deck as it was no longer counts."""

from __future__ import annotations

from app.forms.decks import DeckCutForm
from app.models.head import Head
from app.models.inspection import DeckCut
from app.queries.shop_rules import current_rules
from app.services.owned import open_head
from app.services.readings import strike_reading
from app.services.stages import refresh_stages
from app.services.stale import unsettle_port
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import DeckOrder, Quantity, ResultKind
from app.workflow.stale import Change
from app.worksheets.decks import (
    deck_cuts,
    deck_ports,
    removed,
    touched_off_on_the_deck,
)
from app.worksheets.facts import load_sheet

DECK_CUT = "the deck was cut since: depth counts from it as it is now"


@use_case
def record_deck_cut(tx: Write, head_id: int, form: DeckCutForm) -> DeckCut:
    """Stock came off; asked once where all that came off passes the shop's limit."""
    job, head = open_head(tx, head_id)
    assert form.stock is not None
    _ask_much(tx, head, form)
    made = tx.add(
        DeckCut(
            head_id=head.id,
            stock=form.stock,
            stamped=form.stamped,
            note=form.note,
            method=form.method,
            still_to_come=form.still_to_come,
            after_seats=form.order is DeckOrder.AFTER,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    unsettled = _unsettle(tx, head)
    refresh_stages(tx, head)
    tx.log(
        "cut a deck",
        made,
        job=job,
        head=head,
        stock=form.stock.nm,
        still_to_come=form.still_to_come.nm if form.still_to_come else None,
        gauge_again=unsettled,
    )
    return made


@use_case
def take_back_deck_cut(tx: Write, head_id: int, deck_cut_id: int, because: str) -> DeckCut:
    """It was recorded by mistake: it stays on record and no longer counts."""
    job, head = open_head(tx, head_id)
    if not any(cut.id == deck_cut_id for cut in deck_cuts(tx.session, head.id)):
        raise NotFound("There is no such cut of this deck, or it was taken back already.")
    was = tx.session.get_one(DeckCut, deck_cut_id)
    made = tx.add(
        DeckCut(
            head_id=head.id,
            stock=was.stock,
            note=because,
            takes_back_id=was.id,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    unsettled = _unsettle(tx, head, always=True)
    refresh_stages(tx, head)
    tx.log("took a deck cut back", made, job=job, head=head, cut=was.id, gauge_again=unsettled)
    return made


def _ask_much(tx: Write, head: Head, form: DeckCutForm) -> None:
    assert form.stock is not None
    rules = current_rules(tx.session)
    most, unit = rules.length("deck_most"), form.unit.value
    total = removed(deck_cuts(tx.session, head.id)) + form.stock
    if total <= most or form.confirmed("much"):
        return
    earlier = total - form.stock
    so_far = f" with the {earlier.shown(unit)} that came off before" if earlier else ""
    raise Refused(
        f"{total.shown(unit)} off this deck{so_far}: the shop takes {most.shown(unit)} at most "
        f"({rules.source('deck_most')}); the engine maker's figure wins. Is it so? Nothing was "
        "recorded yet.",
        "confirm_much",
    )


def _unsettle(tx: Write, head: Head, *, always: bool = False) -> list[str]:
    """What was gauged or touched off from the deck as it was; a ring that is in stays judged.

    A bore that was cut for the stock that came off stands: its depth was cut deeper on purpose.
    """
    sheet = load_sheet(tx.session, head)
    if touched_off_on_the_deck(tx.session, head.id):
        for rows in sheet.rows.ports:
            if rows.cut is None and rows.port_pass is not None:
                stops = (ResultKind.DEPTH_STOP,)
                unsettle_port(tx, rows.port.id, stops, DECK_CUT, Change.TOUCH_OFF_CHANGED)
    again: list[str] = []
    for port in deck_ports(tx.session, sheet, deck_cuts(tx.session, head.id)):
        rows = port.rows
        if rows.ring_in is not None or rows.bore is None or rows.port_pass is None:
            continue
        if port.is_over or always:
            for kept in rows.bore.of(Quantity.DEPTH):
                strike_reading(tx, kept.id, DECK_CUT, rows.port_pass)
            again.append(rows.label)
    return again

"""The price list, and its proposals put on an estimate."""

from __future__ import annotations

from sqlmodel import col, func, select

from app.forms.price_items import EstimateForm, PriceItemForm
from app.models.head import Head
from app.models.job import PriceLine
from app.models.price_item import PriceItem
from app.queries.price_items import Proposed, newest_items, price_history, proposed
from app.services.owned import open_job
from app.services.price_lines import void_price_line
from app.services.stages import refresh_all_stages
from app.services.write import NotFound, Refused, Write, use_case
from app.worksheets.facts import load_sheets

MOVED_ON = (
    "What was found on this job changed while the page was open. The page below shows what holds "
    "now; nothing was added."
)


@use_case
def add_price_item(tx: Write, form: PriceItemForm) -> PriceItem:
    """Put a price on the list."""
    _refuse_taken(tx, form.words, "")
    nth = (tx.session.exec(select(func.max(PriceItem.id))).one() or 0) + 1
    return _write(tx, f"p{nth}", form, "put a price on the list")


@use_case
def set_price_item(tx: Write, key: str, seen: int, form: PriceItemForm) -> PriceItem:
    """Change a price from now on; `seen` is the version that the person saw."""
    _refuse_stale(tx, key, seen)
    _refuse_taken(tx, form.words, key)
    return _write(tx, key, form, "changed a price")


@use_case
def retire_price_item(tx: Write, key: str, seen: int) -> PriceItem:
    """Take a price off the list; estimates keep it."""
    held = _refuse_stale(tx, key, seen)
    if held.is_retired:
        raise Refused("This price is off the list already.")
    row = tx.add(
        PriceItem(
            by_id=tx.by_id,
            at=tx.at,
            key=key,
            text=held.text,
            amount=held.amount,
            priced_by=held.priced_by,
            proposed_by=held.proposed_by,
            is_retired=True,
        )
    )
    tx.log("took a price off the list", row, key=key)
    return row


@use_case
def put_on_estimate(tx: Write, number: str, form: EstimateForm) -> PriceLine:
    """Add the proposed lines that were ticked; one that was there with another count is struck."""
    job = open_job(tx, number)
    lines = tx.session.exec(select(PriceLine).where(col(PriceLine.job_id) == job.id)).all()
    heads = tx.session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    sheets = list(load_sheets(tx.session, heads).values())
    stand = {each.item.id: each for each in proposed(tx.session, sheets, lines)}
    for item_id, pieces in form.chosen.items():
        if item_id not in stand or stand[item_id].pieces != pieces:
            raise Refused(MOVED_ON)
    for item_id in form.chosen:
        line = _add(tx, number, job.id, stand[item_id])
    refresh_all_stages(tx, job)
    tx.log("put proposed lines on the estimate", line, job=job, lines=len(form.chosen))
    return line


def _add(tx: Write, number: str, job_id: int, one: Proposed) -> PriceLine:
    line = tx.add(
        PriceLine(
            job_id=job_id,
            text=one.item.text,
            amount=one.amount,
            price_item_id=one.item.id,
            pieces=one.pieces,
            because=one.because[:200],
        )
    )
    if one.instead_of is not None:
        # After the new line stands: between the two the total is never short of it.
        void_price_line(tx, number, one.instead_of.id)
    tx.log("added a price line", line, job=job_id, amount=line.amount, pieces=one.pieces)
    return line


def _write(tx: Write, key: str, form: PriceItemForm, verb: str) -> PriceItem:
    row = tx.add(
        PriceItem(
            by_id=tx.by_id,
            at=tx.at,
            key=key,
            text=form.words,
            amount=form.minor,
            priced_by=form.priced_by,
            proposed_by=form.proposed_by.value if form.proposed_by else "",
        )
    )
    tx.log(verb, row, key=key, amount=row.amount, priced_by=row.priced_by)
    return row


def _refuse_stale(tx: Write, key: str, seen: int) -> PriceItem:
    versions = price_history(tx.session, key)
    if not versions:
        raise NotFound("There is no such price on the list.")
    if versions[0].row.id != seen:
        raise Refused(
            "This price was changed while the page was open; what you typed is still here. Look "
            "at what holds now, and send it again if yours should replace it."
        )
    return versions[0].row


def _refuse_taken(tx: Write, words: str, key: str) -> None:
    for row in newest_items(tx.session):
        if row.key != key and not row.is_retired and row.text.casefold() == words.casefold():
            raise Refused("stands on the list already; change that one", "text")

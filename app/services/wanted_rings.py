"""Seat rings that are wanted for a position: ordered, arrived, dropped."""

from __future__ import annotations

from app.forms.shelf import OrderForm, WantedRingForm
from app.models.head import Head, Port
from app.models.job import Job, WantedRing
from app.models.ring_size import RingSize
from app.services.owned import open_head, still_open
from app.services.write import NotFound, Refused, Write, use_case


@use_case
def want_ring(tx: Write, port_id: int, form: WantedRingForm) -> WantedRing:
    """A ring is wanted for a position."""
    port = tx.session.get(Port, port_id)
    if port is None or port.is_void:
        raise NotFound("There is no such position.")
    job, head = open_head(tx, port.head_id)
    size = tx.session.get(RingSize, form.ring_size_id) if form.ring_size_id else None
    wanted = tx.add(
        WantedRing(
            job_id=job.id,
            port_id=port.id,
            od_from=form.od_from,
            od_to=form.od_to,
            height=form.height,
            inside=form.inside,
            note=form.note,
            supplier=form.supplier or None,
            ring_size_id=size.id if size else None,
        )
    )
    tx.log(
        "wanted a ring",
        wanted,
        job=job,
        head=head,
        port=port,
        od_from=form.od_from,
        od_to=form.od_to,
        height=form.height,
        inside=form.inside,
        ring_size=wanted.ring_size_id,
    )
    return wanted


@use_case
def order_ring(tx: Write, wanted_id: int, form: OrderForm) -> WantedRing:
    """It was ordered; said again, it moves the day it is expected."""
    wanted, job, head, port = _open(tx, wanted_id)
    was = wanted.expected_on
    wanted.ordered_at = wanted.ordered_at or tx.at
    wanted.expected_on = form.expected_on
    wanted.note = _noted(wanted.note, form.note)
    tx.log(
        "ordered a ring",
        wanted,
        job=job,
        head=head,
        port=port,
        expected_on=form.expected_on.isoformat() if form.expected_on else None,
        expected_on_was=was.isoformat() if was else None,
    )
    return wanted


@use_case
def arrive_ring(tx: Write, wanted_id: int) -> WantedRing:
    """It is here, to be measured."""
    wanted, job, head, port = _open(tx, wanted_id)
    wanted.arrived_at = tx.at
    tx.log("a wanted ring arrived", wanted, job=job, head=head, port=port)
    return wanted


@use_case
def drop_ring(tx: Write, wanted_id: int, because: str) -> WantedRing:
    """It is not wanted any more."""
    wanted, job, head, port = _open(tx, wanted_id)
    wanted.dropped_at = tx.at
    wanted.note = _noted(wanted.note, f"dropped: {because}")
    tx.log("dropped a wanted ring", wanted, job=job, head=head, port=port, because=because)
    return wanted


def _open(tx: Write, wanted_id: int) -> tuple[WantedRing, Job, Head, Port]:
    wanted = tx.session.get(WantedRing, wanted_id)
    if wanted is None:
        raise NotFound("There is no such wanted ring.")
    job = tx.session.get_one(Job, wanted.job_id)
    if wanted.arrived_at is not None:
        raise Refused("This ring has arrived already; nothing was changed.")
    if wanted.dropped_at is not None:
        raise Refused("This ring is not wanted any more; nothing was changed.")
    port = tx.session.get_one(Port, wanted.port_id)
    return wanted, still_open(job), tx.session.get_one(Head, port.head_id), port


def _noted(note: str, more: str) -> str:
    return " · ".join(part for part in (note, more) if part)[:200]

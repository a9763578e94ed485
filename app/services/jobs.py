"""Jobs: taken in with a number of the shop's year, then what is said of the whole job."""

from __future__ import annotations

from datetime import date

from sqlmodel import select

from app.forms.jobs import NewJobForm, PlaceForm, PromiseForm, WantedForm
from app.models.head import Head
from app.models.job import Job
from app.models.shop import NumberSeries
from app.queries.jobs import job_numbered
from app.services.comebacks import say_which_heads
from app.services.customers import choose_customer
from app.services.owned import open_job, zone_of
from app.services.write import Refused, Write, use_case
from app.workflow.gates import GATE_VERSION

SERIES = "job"


@use_case
def take_in_job(tx: Write, form: NewJobForm) -> Job:
    """Open a job with its heads under the next number of the year."""
    comeback_of = None
    if form.comeback_of:
        comeback_of = job_numbered(tx.session, form.comeback_of)
        if comeback_of is None or comeback_of.voided_at is not None:
            raise Refused(f"There is no job {form.comeback_of} to come back from.", "comeback_of")
    customer = choose_customer(tx, form)
    year, seq = next_number(tx)
    job = tx.add(
        Job(
            number=number_of(year, seq),
            year=year,
            seq=seq,
            customer_kind=form.kind,
            customer_id=customer.id if customer else None,
            unit=form.unit,
            wanted=form.wanted,
            promised_on=form.promised_on,
            place=form.place,
            taken_in_by_id=tx.by_id,
            taken_in_at=tx.at,
            comeback_of_id=comeback_of.id if comeback_of else None,
            comeback_cause=form.comeback_cause,
        )
    )
    heads = [
        tx.add(Head(job_id=job.id, nth=nth, name=name, gate_version=GATE_VERSION))
        for nth, name in enumerate(form.heads, 1)
    ]
    if comeback_of is not None:
        say_which_heads(tx, heads, comeback_of, form.comeback_head)
    tx.log(
        "took in the job",
        job,
        job=job,
        number=job.number,
        kind=job.customer_kind,
        customer=job.customer_id,
        heads=len(form.heads),
        promised=_iso(job.promised_on),
        place=job.place,
        comeback_of=job.comeback_of_id,
    )
    return job


def next_number(tx: Write) -> tuple[int, int]:
    """The next number of the shop's year; writers go one at a time, so none doubles or is lost."""
    year = tx.at.astimezone(zone_of(tx.session)).year
    series = tx.session.exec(
        select(NumberSeries).where(NumberSeries.series == SERIES, NumberSeries.year == year)
    ).first()
    if series is None:
        series = tx.add(NumberSeries(series=SERIES, year=year, last=0))
    series.last += 1
    tx.session.add(series)
    return year, series.last


def number_of(year: int, seq: int) -> str:
    """``26-0001``: the first job of 2026."""
    return f"{year % 100:02d}-{seq:04d}"


@use_case
def set_place(tx: Write, number: str, form: PlaceForm) -> Job:
    """Say where the heads stand."""
    job = open_job(tx, number)
    before, job.place = job.place, form.place
    tx.session.add(job)
    tx.log("moved it", job, job=job, place=job.place, before=before)
    return job


@use_case
def set_promise(tx: Write, number: str, form: PromiseForm) -> Job:
    """Promise a day, another day, or no day any more."""
    job = open_job(tx, number)
    before, job.promised_on = job.promised_on, form.promised_on
    tx.session.add(job)
    tx.log("changed the promise", job, job=job, promised=_iso(job.promised_on), before=_iso(before))
    return job


@use_case
def set_wanted(tx: Write, number: str, form: WantedForm) -> Job:
    """Write down again what is wanted."""
    job = open_job(tx, number)
    job.wanted = form.wanted
    tx.session.add(job)
    # The words may name people, so the log says only that they changed.
    tx.log("changed what is wanted", job, job=job)
    return job


def _iso(day: date | None) -> str:
    return day.isoformat() if day else ""

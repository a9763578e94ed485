"""Heads: what they are, and what the same casting told before."""

from __future__ import annotations

from sqlmodel import col, func, select

from app.forms.heads import AddHeadForm, HeadForm, TakeOverForm
from app.models.head import Head, Port
from app.models.job import Job
from app.services.expansions import unsettle_family, unsettle_heads
from app.services.layouts import set_layout
from app.services.materials import the_alloy
from app.services.owned import open_head, open_job, the_head
from app.services.stages import refresh_all_stages
from app.services.write import Refused, Write, use_case
from app.workflow.gates import GATE_VERSION
from app.workflow.layout import LayoutError, lay_out, other_bank
from app.worksheets.materials import head_figures

MOST_HEADS = 8


@use_case
def add_head(tx: Write, number: str, form: AddHeadForm) -> Head:
    """One more head that came with the job."""
    job = open_job(tx, number)
    names = tx.session.exec(select(Head.name).where(Head.job_id == job.id)).all()
    if form.name.casefold() in {name.casefold() for name in names}:
        raise Refused("This job has a head of that name; tell them apart", "name")
    if len(names) >= MOST_HEADS:
        raise Refused(f"A job has at most {MOST_HEADS} heads; open another job", "name")
    last = tx.session.exec(select(func.max(col(Head.nth))).where(Head.job_id == job.id)).one()
    head = tx.add(
        Head(job_id=job.id, nth=(last or 0) + 1, name=form.name, gate_version=GATE_VERSION)
    )
    tx.log("added a head", head, job=job, head=head, nth=head.nth)
    return head


@use_case
def describe_head(tx: Write, head_id: int, form: HeadForm) -> Head:
    """Write down what a head is; with a layout its positions are made."""
    job, head = open_head(tx, head_id)
    others = tx.session.exec(
        select(Head.name).where(Head.job_id == job.id, Head.id != head.id)
    ).all()
    if form.name and form.name.casefold() in {name.casefold() for name in others}:
        raise Refused("Another head of this job has that name; tell them apart", "name")
    if others and not form.name:
        raise Refused("This job has more than one head; each needs a name", "name")
    head.name = form.name
    head.casting, head.casting_none_found = form.casting, form.casting_none_found
    head.serial, head.engine, head.fuel = form.serial, form.engine, form.fuel
    was = head_figures(tx.session, head)
    if form.alloy is not None and form.material is not None:
        the_alloy(tx, form.alloy, form.material.value, chosen=head.alloy)
    head.material, head.alloy, head.heat_history = form.material, form.alloy, form.heat_history
    head.numbered_from = form.numbered_from
    job.unit = form.unit
    tx.session.add(head)
    tx.session.add(job)
    if form.take_over:
        _fill_from(tx, head, form.take_over)
    if form.order:
        set_layout(
            tx,
            head,
            form.positions,
            order=form.order,
            valves=form.valves,
            cylinders=form.cylinders,
            confirmed=form.confirmed("layout"),
        )
    figures = head_figures(tx.session, head)
    if was is not None and figures is not None and was.family != figures.family:
        unsettle_family(tx, head, "the head's material was changed")
    if was is not None and was != figures:
        unsettle_heads(tx, [head], "the head's material was changed")
    _keep(tx, job)
    tx.log(
        "described the head",
        head,
        job=job,
        head=head,
        casting=head.casting,
        none_found=head.casting_none_found,
        material=head.material,
        alloy=head.alloy,
        heat_history=head.heat_history,
        layout=head.layout,
        cylinders=head.cylinders,
        numbered_from=head.numbered_from,
        unit=job.unit,
    )
    return head


@use_case
def take_over(tx: Write, head_id: int, form: TakeOverForm) -> Head:
    """Take over what the same casting was described as before; never what was measured."""
    job, head = open_head(tx, head_id)
    _fill_from(tx, head, form.from_head)
    _keep(tx, job)
    tx.log(
        "took over the description of an earlier head",
        head,
        job=job,
        head=head,
        from_head=form.from_head,
        material=head.material,
        layout=head.layout,
    )
    return head


def _keep(tx: Write, job: Job) -> None:
    tx.session.flush()
    refresh_all_stages(tx, job)


def _fill_from(tx: Write, head: Head, other_id: int) -> None:
    """Fill what is not known yet; what was typed on this head stays."""
    _, other = the_head(tx.session, other_id)
    head.casting = head.casting or ("" if head.casting_none_found else other.casting)
    head.engine = head.engine or other.engine
    head.fuel = head.fuel or other.fuel
    if head.material is None:
        head.material, head.alloy = other.material, other.alloy
    head.numbered_from = head.numbered_from or other.numbered_from
    tx.session.add(head)
    if head.layout or not other.layout or other.valves_per_cylinder is None:
        return
    valves = other.valves_per_cylinder
    cylinders = other.cylinders
    if other.job_id == head.job_id:
        cylinders = other_bank(cylinders, _valves(other) // valves)
    try:
        positions = lay_out(other.layout, valves, cylinders)
    except LayoutError as unfit:
        raise Refused(f"The earlier layout cannot be read ({unfit.message}); type it.") from unfit
    set_layout(
        tx,
        head,
        positions,
        order=other.layout,
        valves=valves,
        cylinders=cylinders,
        confirmed=False,
    )
    _take_rules(tx, head, other)


def _valves(head: Head) -> int:
    return sum(letter in "EI" for letter in head.layout)


def _take_rules(tx: Write, head: Head, other: Head) -> None:
    """A rule that was chosen for a position of this casting is proposed for the same position."""
    chosen = {
        port.label: port
        for port in tx.session.exec(
            select(Port).where(
                Port.head_id == other.id,
                col(Port.is_void).is_(False),
                col(Port.rule_aim).is_not(None),
            )
        )
    }
    if not chosen:
        return
    for port in tx.session.exec(select(Port).where(Port.head_id == head.id)):
        earlier = chosen.get(port.label)
        if earlier is not None and not port.is_void:
            port.rule_least, port.rule_aim = earlier.rule_least, earlier.rule_aim
            port.rule_most, port.rule_source = earlier.rule_most, earlier.rule_source
            tx.session.add(port)

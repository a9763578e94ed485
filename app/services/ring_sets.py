"""Ring sets: opened for positions, asked about once, rings chosen or swapped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlmodel import col, select

from app.calc.units import Length
from app.forms.ring_sets import RingSetForm, WindowForm
from app.models.head import Head, Port
from app.models.job import Job
from app.models.ring import Ring, RingSet
from app.services.expansions import ring_sizes, unsettle_rings
from app.services.owned import still_open
from app.services.stages import refresh_stages
from app.services.stale import unsettle_port
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import ResultKind, Unit
from app.workflow.words import LabelMeans, Work

WRITTEN = (
    "name",
    "part",
    "supplier",
    "lot",
    "material",
    "alpha_per_k",
    "owner",
    "label_od",
    "label_height",
    "label_inside",
    "lead_chamfer",
    "place",
)
_RESTS_ON_RING = (
    ResultKind.TARGET,
    ResultKind.DEPTH_STOP,
    ResultKind.CLEAN_UP,
    ResultKind.WALL_WEB,
    ResultKind.VERIFICATION,
)


@use_case
def open_set(tx: Write, job: Job | None, unit: Unit, form: RingSetForm) -> RingSet:
    """Rings of one part number, numbered 1, 2, 3 …; for positions of a job or for the shelf."""
    ring_set = tx.add(
        RingSet(
            job_id=job.id if job else None,
            name=form.name,
            part=form.part,
            supplier=form.supplier,
            lot=form.lot,
            material=form.material,
            alpha_per_k=form.alpha_per_k,
            owner=form.owner,
            unit=unit,
            label_od=form.label_od,
            label_height=form.label_height,
            label_inside=form.label_inside,
            label_means=LabelMeans.UNKNOWN,
            lead_chamfer=form.lead_chamfer,
            place=form.place,
        )
    )
    for n in range(1, (form.count or 0) + 1):
        tx.session.add(Ring(ring_set_id=ring_set.id, tag=str(n)))
    tx.session.flush()
    if job is not None and form.port_ids:
        _use_for(tx, ring_set, job, form.port_ids)
    tx.log("opened a ring set", ring_set, job=job, rings=form.count, ports=form.port_ids)
    return ring_set


@use_case
def edit_set(tx: Write, ring_set: RingSet, form: RingSetForm) -> RingSet:
    """What is written on the box or known of the metal; readings are not touched."""
    sizes = ring_sizes(tx, [ring_set])
    for name in WRITTEN:
        setattr(ring_set, name, getattr(form, name))
    tx.session.add(ring_set)
    tx.session.flush()
    unsettle_rings(tx, [ring_set], sizes, "the ring's expansion was changed")
    _refresh(tx, ring_set)
    tx.log("changed what is written of a ring set", ring_set, job=ring_set.job_id)
    return ring_set


@use_case
def add_ring(tx: Write, ring_set: RingSet) -> RingSet:
    """One more ring of the same part number."""
    tags = tx.session.exec(select(Ring.tag).where(Ring.ring_set_id == ring_set.id)).all()
    numbers = [int(tag) for tag in tags if tag.isdigit()]
    ring = tx.add(Ring(ring_set_id=ring_set.id, tag=str(max(numbers, default=0) + 1)))
    _refresh(tx, ring_set)
    tx.log("added a ring to a set", ring_set, job=ring_set.job_id, ring=ring.id)
    return ring_set


@use_case
def retire_ring(tx: Write, ring: Ring, because: str) -> RingSet:
    """A ring that is not to be used; positions that it was chosen for are open again."""
    ring_set = get_set(tx, ring.ring_set_id)
    ring.retired_at = tx.at
    ring.retired_because = because
    tx.session.add(ring)
    for port in _ports_of(tx, ring_set):
        if port.ring_id == ring.id:
            port.ring_id = None
            tx.session.add(port)
        if port.ring_id is None:
            unsettle_port(tx, port.id, _RESTS_ON_RING, f"ring {ring.tag} of its set was put away")
    _refresh(tx, ring_set)
    tx.log("put a ring away", ring_set, job=ring_set.job_id, ring=ring.id, because=because)
    return ring_set


@use_case
def bring_ring_back(tx: Write, ring: Ring) -> RingSet:
    """A ring that was put away by mistake counts again; for which position is chosen anew."""
    ring_set = get_set(tx, ring.ring_set_id)
    if ring.retired_at is None:
        raise Refused(f"Ring {ring.tag} is in its set; nothing was changed.")
    ring.retired_at, ring.retired_because = None, ""
    tx.session.add(ring)
    for port in _ports_of(tx, ring_set):
        if port.ring_id is None:
            unsettle_port(tx, port.id, _RESTS_ON_RING, f"ring {ring.tag} came back to its set")
    _refresh(tx, ring_set)
    tx.log("brought a ring back", ring_set, job=ring_set.job_id, ring=ring.id)
    return ring_set


@use_case
def use_set_for(tx: Write, ring_set: RingSet, job: Job, port_ids: Sequence[int]) -> RingSet:
    """Say which positions a set is for; a position takes rings from one set."""
    ring_set.job_id = job.id
    tx.session.add(ring_set)
    _use_for(tx, ring_set, job, port_ids)
    tx.log("chose positions for a ring set", ring_set, job=job, ports=list(port_ids))
    return ring_set


@use_case
def say_label_means(tx: Write, ring_set: RingSet, means: LabelMeans) -> RingSet:
    """What the box's size stands for; the counterbore is worked from the readings all the same."""
    before = ring_set.label_means
    ring_set.label_means = means
    tx.session.add(ring_set)
    tx.log("said what the label means", ring_set, job=ring_set.job_id, before=before, means=means)
    return ring_set


@use_case
def choose_ring(tx: Write, port: Port, ring: Ring | None) -> Port:
    """One ring for this position, or any of its set; a swap unsettles what rested on the other."""
    if ring is not None and ring.ring_set_id != port.ring_set_id:
        raise Refused(
            f"Ring {ring.tag} belongs to another set. Choose that set for {port.label} first."
        )
    if ring is not None:
        taken = tx.session.exec(
            select(Port).where(Port.ring_id == ring.id, Port.id != port.id)
        ).first()
        if taken is not None:
            raise Refused(
                f"Ring {ring.tag} is chosen for {taken.label}. Free it there first; nothing was "
                "changed."
            )
    if port.ring_id != (ring.id if ring else None):
        sharing = tx.session.exec(
            select(Port).where(Port.ring_set_id == port.ring_set_id, Port.id != port.id)
        ).all()
        if port.ring_id is not None:
            # The freed ring may now go into every position for which none is chosen.
            for other in sharing:
                if other.ring_id is None:
                    unsettle_port(tx, other.id, _RESTS_ON_RING, "another ring may go in here now")
        port.ring_id = ring.id if ring else None
        tx.session.add(port)
        unsettle_port(tx, port.id, _RESTS_ON_RING, "another ring was chosen for this position")
        tx.session.flush()
        for head_id in {each.head_id for each in (port, *sharing)}:
            refresh_stages(tx, tx.session.get_one(Head, head_id))
    head = head_of(tx, port)
    tx.log("chose a ring", port, job=head.job_id, head=head, port=port, ring=port.ring_id)
    return port


@use_case
def choose_window(tx: Write, ports: Sequence[Port], form: WindowForm | None) -> Head:
    """An interference window for positions over the shop's rule, or the shop's rule again."""
    if not ports:
        raise Refused("Choose the positions first; nothing was changed.")
    for port in ports:
        port.rule_least = form.least if form else None
        port.rule_aim = form.aim if form else None
        port.rule_most = form.most if form else None
        port.rule_source = form.source if form else ""
        tx.session.add(port)
        unsettle_port(tx, port.id, _RESTS_ON_RING, "its interference window was changed")
    head = head_of(tx, ports[0])
    for head_id in {port.head_id for port in ports}:
        refresh_stages(tx, tx.session.get_one(Head, head_id))
    tx.log(
        "chose an interference window",
        head,
        job=head.job_id,
        head=head,
        ports=[port.id for port in ports],
        window=[form.least, form.aim, form.most] if form else None,
        source=form.source if form else "shop rule",
    )
    return head


@use_case
def choose_protrusion(tx: Write, ports: Sequence[Port], protrusion: Length) -> Head:
    """How far the rings are to stand proud of, or below, the surface."""
    if not ports:
        raise Refused("Choose the positions first; nothing was changed.")
    for port in ports:
        if (port.protrusion or Length(0)) != protrusion:
            port.protrusion = protrusion
            tx.session.add(port)
            unsettle_port(
                tx,
                port.id,
                (ResultKind.TARGET, ResultKind.DEPTH_STOP),
                "how far its ring stands proud was changed",
            )
    head = head_of(tx, ports[0])
    for head_id in {port.head_id for port in ports}:
        refresh_stages(tx, tx.session.get_one(Head, head_id))
    tx.log(
        "chose how far rings stand proud",
        head,
        job=head.job_id,
        head=head,
        ports=[port.id for port in ports],
        protrusion=protrusion,
    )
    return head


def get_set(tx: Write, ring_set_id: int) -> RingSet:
    """The set, or a plain refusal."""
    found = tx.session.get(RingSet, ring_set_id)
    if found is None:
        raise NotFound("There is no such ring set.")
    return found


def open_ring_set(tx: Write, ring_set_id: int) -> RingSet:
    """A set whose job, when it has one, may still be changed."""
    ring_set = get_set(tx, ring_set_id)
    if ring_set.job_id is not None:
        still_open(tx.session.get_one(Job, ring_set.job_id))
    return ring_set


def head_of(tx: Write, port: Port) -> Head:
    """The head that a position is of."""
    return tx.session.get_one(Head, port.head_id)


def _use_for(tx: Write, ring_set: RingSet, job: Job, port_ids: Sequence[int]) -> None:
    ports = tx.session.exec(
        select(Port)
        .join(Head, col(Head.id) == col(Port.head_id))
        .where(Head.job_id == job.id, col(Port.id).in_(list(port_ids)))
    ).all()
    if len(ports) != len(set(port_ids)):
        raise NotFound("One of these positions is not in this job.")
    wrong = [port.label for port in ports if port.work is not Work.RING]
    if wrong:
        raise Refused(f"{', '.join(wrong)}: no seat ring is wanted there. Decide its work first.")
    before = {port.id for port in _ports_of(tx, ring_set)}
    for port in ports:
        if port.ring_set_id != ring_set.id:
            if port.ring_set_id is not None:
                unsettle_port(tx, port.id, _RESTS_ON_RING, "its rings come from another set now")
            port.ring_set_id = ring_set.id
            port.ring_id = None
            tx.session.add(port)
    for port_id in before - {port.id for port in ports}:
        port = tx.session.get_one(Port, port_id)
        port.ring_set_id = port.ring_id = None
        tx.session.add(port)
        unsettle_port(tx, port.id, _RESTS_ON_RING, "it was taken out of its ring set")
    tx.session.flush()
    _refresh(tx, ring_set, extra=before)


def _ports_of(tx: Write, ring_set: RingSet) -> Sequence[Port]:
    return tx.session.exec(select(Port).where(Port.ring_set_id == ring_set.id)).all()


def _refresh(tx: Write, ring_set: RingSet, extra: Iterable[int] = ()) -> None:
    heads = {port.head_id for port in _ports_of(tx, ring_set)}
    heads |= {tx.session.get_one(Port, port_id).head_id for port_id in extra}
    for head_id in heads:
        refresh_stages(tx, tx.session.get_one(Head, head_id))

"""The shelf: seat rings without a job, and their way to a job and back."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import col, select

from app.calc.units import Length
from app.forms.shelf import NewShelfSetForm, ShelfSetForm
from app.models.head import Port
from app.models.job import Job
from app.models.port_pass import PortPass, RingIn
from app.models.ring import Ring, RingSet
from app.services.owned import open_job
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.words import LabelMeans, listed

_OF_THE_BOX = (
    "name",
    "part",
    "supplier",
    "lot",
    "material",
    "alpha_per_k",
    "owner",
    "unit",
    "label_od",
    "label_height",
    "label_inside",
    "lead_chamfer",
    "place",
)
CHANGED_MEANWHILE = (
    "Someone changed this set while your page was open. What you typed is still here; open the "
    "page again to see what stands now."
)


@use_case
def create_shelf_set(tx: Write, form: NewShelfSetForm) -> RingSet:
    """A box of rings comes on the shelf; its rings are numbered from 1."""
    ring_set = shelf_rows(tx, form)
    tx.log("put rings on the shelf", ring_set, pieces=form.pieces, label_od=form.label_od)
    return ring_set


def shelf_rows(tx: Write, form: NewShelfSetForm) -> RingSet:
    """A box with its rings, for whoever logs it."""
    assert form.owner is not None
    assert form.pieces is not None
    ring_set = tx.add(
        RingSet(
            job_id=None,
            label_means=LabelMeans.UNKNOWN,
            **{name: getattr(form, name) for name in _OF_THE_BOX},
        )
    )
    rings = [Ring(ring_set_id=ring_set.id, tag=str(nth)) for nth in range(1, form.pieces + 1)]
    tx.session.add_all(rings)
    return ring_set


@use_case
def update_shelf_set(tx: Write, ring_set_id: int, form: ShelfSetForm) -> RingSet:
    """What the box says, or where it stands."""
    ring_set = shelf_set(tx, ring_set_id)
    if form.row_version is not None and form.row_version != ring_set.row_version:
        raise Refused(CHANGED_MEANWHILE)
    was = _figures(ring_set)
    for name in _OF_THE_BOX:
        setattr(ring_set, name, getattr(form, name))
    tx.log("changed rings on the shelf", ring_set, was=was, now=_figures(ring_set))
    return ring_set


@use_case
def add_rings(tx: Write, ring_set_id: int, pieces: int) -> RingSet:
    """More rings of the same part number and lot."""
    ring_set = shelf_set(tx, ring_set_id)
    _add_rings(tx, ring_set, pieces)
    tx.log("put more rings on the shelf", ring_set, pieces=pieces)
    return ring_set


@use_case
def retire_ring(tx: Write, ring_set_id: int, ring_id: int, because: str) -> Ring:
    """A ring that is no longer there."""
    ring_set = shelf_set(tx, ring_set_id)
    (ring,) = _rings(tx, ring_set, [ring_id])
    ring.retired_at, ring.retired_because = tx.at, because
    tx.log("took a ring off the shelf", ring, ring_set=ring_set.id, because=because)
    return ring


@use_case
def bring_ring_back(tx: Write, ring_set_id: int, ring_id: int) -> Ring:
    """A ring that was taken off the shelf by mistake is in its box again."""
    ring_set = shelf_set(tx, ring_set_id)
    ring = tx.session.get(Ring, ring_id)
    if ring is None or ring.ring_set_id != ring_set.id or ring.retired_at is None:
        raise Refused("This ring is not missing from this box; nothing was changed.")
    ring.retired_at, ring.retired_because = None, ""
    tx.log("put a ring back in its box", ring, ring_set=ring_set.id)
    return ring


@use_case
def take_to_job(tx: Write, ring_set_id: int, number: str, ring_ids: Sequence[int]) -> RingSet:
    """Rings go to a job with their readings; the rest of the box stays on the shelf."""
    ring_set = shelf_set(tx, ring_set_id)
    job = _job_for_rings(tx, number)
    taken = _move(tx, ring_set, _rings(tx, ring_set, ring_ids), job)
    tx.log("took rings to a job", taken, job=job, rings=list(ring_ids), from_set=ring_set.id)
    return taken


@use_case
def put_back(tx: Write, ring_set_id: int, ring_ids: Sequence[int]) -> RingSet:
    """Rings that a job did not need go back on the shelf with their readings."""
    ring_set = tx.session.get(RingSet, ring_set_id)
    if ring_set is None or ring_set.job_id is None:
        raise NotFound("There is no such set of seat rings at a job.")
    rings = _rings(tx, ring_set, ring_ids)
    _refuse_needed(tx, ring_set, rings)
    job_id = ring_set.job_id
    back = _move(tx, ring_set, rings, None)
    tx.log(
        "put rings back on the shelf", back, job=job_id, rings=list(ring_ids), from_set=ring_set_id
    )
    return back


def shelf_set(tx: Write, ring_set_id: int) -> RingSet:
    """A set that is on the shelf."""
    ring_set = tx.session.get(RingSet, ring_set_id)
    if ring_set is None:
        raise NotFound("There is no such set of seat rings.")
    if ring_set.job_id is not None:
        number = tx.session.get_one(Job, ring_set.job_id).number
        raise Refused(f"These rings are at job {number}, not on the shelf. Nothing was changed.")
    return ring_set


def _add_rings(tx: Write, ring_set: RingSet, pieces: int) -> None:
    tags = tx.session.exec(select(Ring.tag).where(Ring.ring_set_id == ring_set.id)).all()
    last = max((int(tag) for tag in tags if tag.isdigit()), default=0)
    for number in range(last + 1, last + pieces + 1):
        tx.add(Ring(ring_set_id=ring_set.id, tag=str(number)))


def _rings(tx: Write, ring_set: RingSet, ring_ids: Sequence[int]) -> list[Ring]:
    found = list(
        tx.session.exec(
            select(Ring)
            .where(
                Ring.ring_set_id == ring_set.id,
                col(Ring.id).in_(list(ring_ids)),
                col(Ring.retired_at).is_(None),
            )
            .order_by(col(Ring.id))
        )
    )
    if not found or len(found) != len(set(ring_ids)):
        raise Refused(
            "Some of these rings are not in this set any more. Open the page again; "
            "nothing was changed."
        )
    return found


def _move(tx: Write, ring_set: RingSet, rings: list[Ring], job: Job | None) -> RingSet:
    """All rings move with their set, some move to a set of their own."""
    left = tx.session.exec(
        select(Ring.id).where(
            Ring.ring_set_id == ring_set.id,
            col(Ring.retired_at).is_(None),
            col(Ring.id).not_in([ring.id for ring in rings]),
        )
    ).first()
    job_id = None if job is None else job.id
    if left is None and not _is_used(tx, ring_set):
        ring_set.job_id = job_id
        return ring_set
    # What the label was found to mean goes along; the figures stay those of the same box.
    moved = tx.add(
        RingSet(
            job_id=job_id,
            label_means=ring_set.label_means,
            **{name: getattr(ring_set, name) for name in _OF_THE_BOX},
        )
    )
    for ring in rings:
        ring.ring_set_id = moved.id
    tx.session.flush()
    return moved


def _is_used(tx: Write, ring_set: RingSet) -> bool:
    """A set that passes or positions name stays where they find it."""
    named = tx.session.exec(
        select(PortPass.id).where(PortPass.ring_set_id == ring_set.id).limit(1)
    ).first()
    chosen = tx.session.exec(select(Port.id).where(Port.ring_set_id == ring_set.id).limit(1))
    return named is not None or chosen.first() is not None


def _refuse_needed(tx: Write, ring_set: RingSet, rings: list[Ring]) -> None:
    ids = [ring.id for ring in rings]
    pressed = tx.session.exec(
        select(RingIn.ring_id).where(col(RingIn.ring_id).in_(ids), col(RingIn.withdrawn).is_(False))
    ).all()
    meant = tx.session.exec(
        select(PortPass.ring_id).where(
            col(PortPass.ring_id).in_(ids), col(PortPass.closed_at).is_(None)
        )
    ).all()
    chosen = tx.session.exec(select(Port.ring_id).where(col(Port.ring_id).in_(ids))).all()
    needed = {*pressed, *meant, *chosen}
    tags = [ring.tag for ring in rings if ring.id in needed]
    if tags:
        raise Refused(
            f"Ring {listed(tags)} is pressed in or meant for a position. Nothing was changed."
        )


def _job_for_rings(tx: Write, number: str) -> Job:
    try:
        return open_job(tx, number)
    except NotFound as missing:
        raise Refused(missing.message, "number") from missing


def _figures(ring_set: RingSet) -> dict[str, Length | str | None]:
    return {
        "label_od": ring_set.label_od,
        "label_height": ring_set.label_height,
        "label_inside": ring_set.label_inside,
        "lead_chamfer": ring_set.lead_chamfer,
        "material": ring_set.material,
        "alpha": None if ring_set.alpha_per_k is None else repr(ring_set.alpha_per_k),
    }

"""A ring from the shelf goes to the position that it may save."""

from __future__ import annotations

from app.forms.rescues import TakeRingForm
from app.models.head import Head
from app.models.ring import RingSet
from app.services.owned import still_open, the_port
from app.services.ring_sets import use_set_for
from app.services.shelf import take_to_job
from app.services.write import Refused, Write, use_case
from app.workflow.words import Work
from app.worksheets.facts import load_sheet


@use_case
def take_ring_for(tx: Write, port_id: int, form: TakeRingForm) -> RingSet:
    """The ring goes to the job; the position takes it, unless a way out of its hold comes first.

    A bore that is cut keeps its ring set until "a larger ring" is taken with a reason: only that
    closes its pass.
    """
    job, _, port = the_port(tx.session, port_id)
    still_open(job)
    if port.work is not Work.RING:
        raise Refused(f"No seat ring is wanted at {port.label}. Decide its work first.")
    sheet = load_sheet(tx.session, tx.session.get_one(Head, port.head_id))
    rows = sheet.rows.port(port.id)
    if rows.ring_in is not None:
        raise Refused(f"A ring is in at {port.label}; it would have to come out first.")
    taken = take_to_job(tx, form.box_id or 0, job.number, [form.ring_id or 0])
    if rows.hold is None and rows.cut is None:
        use_set_for(tx, taken, job, [port.id])
    tx.log("took a ring for a position", taken, job=job, head=sheet.head, port=port)
    return taken

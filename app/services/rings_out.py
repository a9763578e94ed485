"""How old rings came out: what is new on a head, in one run."""

from __future__ import annotations

from app.forms.rings_out import CameOut, RingsOutForm
from app.models.head import Head
from app.models.inspection import RingOut
from app.queries.rings_out import rings_out
from app.services.owned import open_head
from app.services.write import Refused, Write, use_case

AS_KEPT = "This is what stands already; nothing was changed."


@use_case
def take_rings_out(tx: Write, head_id: int, form: RingsOutForm) -> Head:
    """Write down how rings came out; only what differs from what stands is written again."""
    job, head = open_head(tx, head_id)
    there = rings_out(tx.session, form.said)
    changed = {
        port_id: said
        for port_id, said in form.said.items()
        if port_id not in there or _as_said(there[port_id].row) != said
    }
    if not changed:
        raise Refused(AS_KEPT)
    for port_id, said in changed.items():
        tx.add(
            RingOut(
                by_id=tx.by_id,
                at=tx.at,
                port_id=port_id,
                way=said.way,
                floor=said.floor,
                note=said.note,
            )
        )
    tx.log(
        "took old rings out",
        head,
        job=job,
        head=head,
        positions=[[form.ids[port_id], said.way, said.floor] for port_id, said in changed.items()],
    )
    return head


def _as_said(row: RingOut) -> CameOut:
    return CameOut(row.way, row.floor, row.note)

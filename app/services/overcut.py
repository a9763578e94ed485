"""One cut left out of a tip's mean, with a reason."""

from __future__ import annotations

from sqlmodel import select

from app.models.crib import Cutter
from app.models.port_pass import OvercutSample, OvercutStrike
from app.services.crib import load_tool
from app.services.write import NotFound, Refused, Write, use_case
from app.worksheets.overcut import newest_tip


@use_case
def leave_out_cut(tx: Write, cutter_id: int, sample_id: int, reason: str) -> Cutter:
    """The cut stays on record beside its reason, and teaches the next setting nothing.

    Settings that are made keep the overcut they were made with. Only cuts of the tip that is in
    the cutter now: those of an older tip teach nothing any more.
    """
    cutter = load_tool(tx, Cutter, cutter_id)
    sample = tx.session.get(OvercutSample, sample_id)
    if sample is None or sample.cutter_id != cutter.id:
        raise NotFound("There is no such cut of this cutter.")
    tip = newest_tip(tx.session, cutter.id)
    if sample.tip_change_id != (tip.id if tip else None):
        raise Refused(
            "The tip was changed or ground since that cut: it counts for nothing any more. "
            "Nothing was changed."
        )
    struck = tx.session.exec(
        select(OvercutStrike).where(OvercutStrike.overcut_sample_id == sample.id)
    ).first()
    if struck is not None:
        raise Refused(f"That cut is left out already: {struck.reason}. Nothing was changed.")
    tx.add(
        OvercutStrike(by_id=tx.by_id, at=tx.at, overcut_sample_id=sample.id, reason=reason[:200])
    )
    tx.log(
        "left a cut out of a cutter's mean",
        cutter,
        sample=sample.id,
        cut=sample.cut_id,
        material=sample.material,
        set_size=sample.set_size,
        measured=sample.measured,
        because=reason,
    )
    return cutter

"""Passes: one try at one bore with one ring, opened when a setting names the position."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlmodel import col, select

from app.calc.units import Length
from app.models.head import Head, Port
from app.models.port_pass import PortPass
from app.models.ring import Ring
from app.services.results import accept
from app.services.write import Refused, Write
from app.workflow.kinds import PassOutcome, ResultKind
from app.worksheets.facts import HeadSheet, load_sheets
from app.worksheets.targets import PortTarget

FIRST = "first try"


def accept_target(tx: Write, target: PortTarget, why: str = FIRST) -> PortPass:
    """Freeze a position's target in its open pass; opens the pass when there is none.

    A pass that is not cut yet takes the new figures; its earlier ones stay as accepted results.
    """
    if target.target is None or target.depth is None or target.window is None or target.open:
        raise Refused(f"{target.name} is not ready: {'; '.join(target.open) or 'its ring'}.")
    port = target.rows.port
    open_pass = open_pass_of(tx, port.id)
    ring_id = port.ring_id
    if ring_id is not None:
        _claim_ring(tx, ring_id, open_pass)
    figures: dict[str, Any] = {
        "ring_set_id": target.rings[0].ring.ring_set_id,
        "ring_id": ring_id,
        "rule_least": target.window.least,
        "rule_aim": target.window.aim,
        "rule_most": target.window.most,
        "rule_source": target.window.source,
        "target_bore": target.target.target_bore,
        "depth": target.depth.depth,
    }
    if open_pass is None:
        open_pass = tx.add(
            PortPass(
                port_id=port.id,
                nth=_passes_so_far(tx, port.id) + 1,
                why=why,
                opened_at=tx.at,
                **figures,
            )
        )
    else:
        for name, value in figures.items():
            setattr(open_pass, name, value)
        tx.session.add(open_pass)
        tx.session.flush()
    accept(
        tx, ResultKind.TARGET, target.target, readings=target.reading_ids, port_pass_id=open_pass.id
    )
    return open_pass


def close_pass(tx: Write, port_pass: PortPass, outcome: PassOutcome) -> None:
    """End a pass; its position may open another."""
    port_pass.outcome = outcome
    port_pass.closed_at = tx.at
    tx.session.add(port_pass)
    tx.session.flush()


def open_pass_of(tx: Write, port_id: int) -> PortPass | None:
    """The pass under way at a position."""
    return tx.session.exec(
        select(PortPass).where(PortPass.port_id == port_id, col(PortPass.closed_at).is_(None))
    ).first()


def sheets_of_job(tx: Write, job_id: int) -> Mapping[int, HeadSheet]:
    """Every head of a job, as it stands inside this write."""
    heads = tx.session.exec(select(Head).where(Head.job_id == job_id).order_by(col(Head.nth))).all()
    return load_sheets(tx.session, heads)


def window_of(target: PortTarget) -> tuple[Length, Length]:
    """The bores between which any of the position's rings keeps its window."""
    if target.bore_low is None or target.bore_high is None:
        raise Refused(f"{target.name} is not ready: {'; '.join(target.open) or 'its ring'}.")
    return target.bore_low, target.bore_high


def _passes_so_far(tx: Write, port_id: int) -> int:
    return len(tx.session.exec(select(PortPass.id).where(PortPass.port_id == port_id)).all())


def _claim_ring(tx: Write, ring_id: int, own: PortPass | None) -> None:
    """One ring is fitted at one position; one that was given another ring since lets go of it."""
    other = tx.session.exec(
        select(PortPass).where(PortPass.ring_id == ring_id, col(PortPass.closed_at).is_(None))
    ).first()
    if other is None or (own is not None and other.id == own.id):
        return
    if tx.session.get_one(Port, other.port_id).ring_id == ring_id:
        ring = tx.session.get_one(Ring, ring_id)
        raise Refused(f"Ring {ring.tag} is already being fitted at another position.")
    other.ring_id = None
    tx.session.add(other)
    tx.session.flush()

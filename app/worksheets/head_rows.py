"""Everything on record about some heads, gathered in a fixed number of statements."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any, cast

from sqlalchemy import func
from sqlmodel import Session, col, select

from app.models.head import Head, NotDone, Port
from app.models.inspection import GuideWork, HeadDecision, Inspection, RingOut, ValveFate
from app.models.job import Consent, Job, PriceLine, Received, WantedRing
from app.models.port_pass import (
    Cut,
    CutOpening,
    Hold,
    HoldRelease,
    PortPass,
    RingIn,
    Verification,
)
from app.models.setting import Setting, SettingPort
from app.models.sheet import Signature, SignaturePort
from app.workflow.kinds import PassOutcome, ReadingKind, SignedWhat
from app.workflow.layout import Position, lay_out
from app.workflow.parts import uncounted
from app.workflow.words import InspectionKind
from app.worksheets.readings import Readings, load_kinds, load_readings
from app.worksheets.results import AcceptedOf, load_accepted
from app.worksheets.rows import IDS, rows_of

_NAMES = {
    ReadingKind.STEM_HEIGHTS: "stems",
    ReadingKind.GUIDES: "guides",
    ReadingKind.NEW_GUIDES: "new_guides",
    ReadingKind.POCKETS: "pockets",
    ReadingKind.FINISH: "finish",
    ReadingKind.VALVES: "valves",
}


@dataclass(frozen=True)
class JobRows:
    """A job with what was agreed."""

    job: Job
    consent: Consent | None
    total: int
    pieces_in: int | None
    counted_out: bool
    not_counted_out: tuple[str, ...]  # came in, and nobody said how many go out


@dataclass
class PortRows:
    """One position on record, in its current pass."""

    port: Port
    position: Position
    guide_work: GuideWork | None = None
    ring_out: RingOut | None = None
    valve_fate: ValveFate | None = None
    not_done: dict[str, str] = field(default_factory=dict)
    stems: Readings | None = None
    guides: Readings | None = None
    new_guides: Readings | None = None
    pockets: Readings | None = None
    finish: Readings | None = None
    valves: Readings | None = None
    port_pass: PortPass | None = None
    passes: list[PortPass] = field(default_factory=list)
    bore: Readings | None = None
    setting: Setting | None = None
    setting_port: SettingPort | None = None
    opening: CutOpening | None = None
    cut: Cut | None = None
    cuts: list[Cut] = field(default_factory=list)
    verification: Verification | None = None
    hold: Hold | None = None
    releases: list[HoldRelease] = field(default_factory=list)
    # As it stands; where the head was heated, the row that says it is down, cold.
    ring_in: RingIn | None = None
    pressed: RingIn | None = None  # the row of the pressing itself
    signature: Signature | None = None
    wanted: WantedRing | None = None

    @property
    def label(self) -> str:
        """``3E``."""
        return self.port.label

    def read(self, kind: ReadingKind) -> Readings | None:
        """What a page along the head read on it."""
        found: Readings | None = getattr(self, _NAMES[kind])
        return found


@dataclass
class HeadRows:
    """One head on record."""

    head: Head
    job: JobRows
    ports: list[PortRows] = field(default_factory=list)
    inspections: dict[InspectionKind, Inspection] = field(default_factory=dict)
    decision: HeadDecision | None = None
    not_done: dict[str, str] = field(default_factory=dict)
    accepted: AcceptedOf = field(default_factory=lambda: AcceptedOf({}, {}, {}))
    metal_off: bool = False

    def port(self, port_id: int) -> PortRows:
        """The position with this id."""
        return next(found for found in self.ports if found.port.id == port_id)


def load_heads(session: Session, heads: Sequence[Head]) -> dict[int, HeadRows]:
    """All rows of these heads; the number of statements does not grow with their number."""
    if not heads:
        return {}
    jobs = _jobs(session, {head.job_id for head in heads})
    found = {head.id: HeadRows(head, jobs[head.job_id]) for head in heads}
    positions = {head.id: _positions(head) for head in heads}
    by_port: dict[int, PortRows] = {}
    ports = [port for port in rows_of(session, Port, "head_id", found) if not port.is_void]
    for port in sorted(ports, key=lambda port: (port.head_id, port.place)):
        rows = PortRows(port, positions[port.head_id][port.label])
        by_port[port.id] = rows
        found[port.head_id].ports.append(rows)
    _inspections(session, found)
    _not_done(session, found, by_port)
    _measured(session, by_port)
    _passes(session, found, by_port)
    return found


def load_read(session: Session, head: Head, *kinds: ReadingKind) -> list[PortRows]:
    """Only the positions and their readings of these kinds: enough to read what was sent."""
    ports = session.exec(
        select(Port)
        .where(Port.head_id == head.id, col(Port.is_void).is_(False))
        .order_by(col(Port.place))
    ).all()
    positions = _positions(head)
    read = load_kinds(session, kinds, "port", [port.id for port in ports])
    found = [PortRows(port, positions[port.label]) for port in ports]
    for rows in found:
        for kind in kinds:
            setattr(rows, _NAMES[kind], read[kind][rows.port.id])
    return found


def _positions(head: Head) -> dict[str, Position]:
    if not head.layout:
        return {}
    laid = lay_out(head.layout, head.valves_per_cylinder or 2, head.cylinders)
    return {position.label: position for position in laid}


def _jobs(session: Session, ids: Iterable[int]) -> dict[int, JobRows]:
    wanted = list(ids)
    jobs = rows_of(session, Job, "id", wanted)
    consents = {consent.job_id: consent for consent in rows_of(session, Consent, "job_id", wanted)}
    totals = dict(session.exec(_totals(), params={"ids": wanted}).all())
    # A part that is counted again has its newest count.
    counts: dict[tuple[int, bool], dict[str, int]] = {}
    for row in rows_of(session, Received, "job_id", wanted):
        counts.setdefault((row.job_id, row.is_out), {})[row.what] = row.pieces
    pieces = {key: sum(count.values()) for key, count in counts.items()}
    return {
        job.id: JobRows(
            job=job,
            consent=consents.get(job.id),
            total=int(totals.get(job.id) or 0),
            pieces_in=pieces.get((job.id, False)),
            counted_out=(job.id, True) in pieces,
            not_counted_out=uncounted(
                counts.get((job.id, False), {}), counts.get((job.id, True), {})
            ),
        )
        for job in jobs
    }


def _inspections(session: Session, found: dict[int, HeadRows]) -> None:
    for row in rows_of(session, Inspection, "head_id", found):
        if row.port_id is None:
            found[row.head_id].inspections[row.kind] = row
    for decided in rows_of(session, HeadDecision, "head_id", found):
        found[decided.head_id].decision = decided


def _not_done(session: Session, found: dict[int, HeadRows], by_port: dict[int, PortRows]) -> None:
    for row in rows_of(session, NotDone, "head_id", found):
        if row.port_id is None:
            reasons = found[row.head_id].not_done
        elif row.port_id in by_port:
            reasons = by_port[row.port_id].not_done
        else:
            continue
        reasons[row.requirement] = "" if row.is_withdrawn else row.because


def _measured(session: Session, by_port: dict[int, PortRows]) -> None:
    for kind, found in load_kinds(session, tuple(_NAMES), "port", by_port).items():
        for port_id, readings in found.items():
            setattr(by_port[port_id], _NAMES[kind], readings)
    for work in rows_of(session, GuideWork, "port_id", by_port):
        by_port[work.port_id].guide_work = work
    for out in rows_of(session, RingOut, "port_id", by_port):
        by_port[out.port_id].ring_out = out
    for wanted in rows_of(session, WantedRing, "port_id", by_port):
        if wanted.arrived_at is None and wanted.dropped_at is None:
            by_port[wanted.port_id].wanted = wanted
    for fate in rows_of(session, ValveFate, "port_id", by_port):
        by_port[fate.port_id].valve_fate = fate


def _passes(session: Session, found: dict[int, HeadRows], by_port: dict[int, PortRows]) -> None:
    current: dict[int, PortRows] = {}
    for port_pass in sorted(
        rows_of(session, PortPass, "port_id", by_port), key=lambda one: one.nth
    ):
        by_port[port_pass.port_id].passes.append(port_pass)
    for rows in by_port.values():
        if rows.passes and rows.passes[-1].outcome in (None, PassOutcome.SIGNED):
            rows.port_pass = rows.passes[-1]
            current[rows.port_pass.id] = rows
    every_pass = {port_pass.id: rows for rows in by_port.values() for port_pass in rows.passes}
    if every_pass:
        _cut_and_proved(session, current, every_pass)
    accepted = load_accepted(
        session,
        port_pass_ids=current,
        port_ids=by_port,
        setting_ids={rows.setting.id for rows in current.values() if rows.setting},
    )
    for head in found.values():
        head.accepted = accepted
    _holds(session, by_port)
    _signatures(session, by_port)
    for head in found.values():
        head.metal_off = any(rows.cuts for rows in head.ports)


def _cut_and_proved(
    session: Session, current: dict[int, PortRows], every_pass: dict[int, PortRows]
) -> None:
    for cut in rows_of(session, Cut, "port_pass_id", every_pass):
        every_pass[cut.port_pass_id].cuts.append(cut)
        if cut.port_pass_id in current:
            current[cut.port_pass_id].cut = cut
    if not current:
        return
    for pass_id, readings in load_readings(session, ReadingKind.BORE, "port_pass", current).items():
        current[pass_id].bore = readings
    settings = session.exec(_settings_of(), params={"ids": list(current)}).all()
    for setting_port, setting in settings:
        current[setting_port.port_pass_id].setting = setting
        current[setting_port.port_pass_id].setting_port = setting_port
    for opening in rows_of(session, CutOpening, "port_pass_id", current):
        current[opening.port_pass_id].opening = opening
    for verification in rows_of(session, Verification, "port_pass_id", current):
        current[verification.port_pass_id].verification = verification
    for ring_in in rows_of(session, RingIn, "port_pass_id", current):
        rows = current[ring_in.port_pass_id]
        rows.ring_in = None if ring_in.withdrawn else ring_in
        rows.pressed = (rows.pressed or ring_in) if rows.ring_in else None


def _holds(session: Session, by_port: dict[int, PortRows]) -> None:
    rows = session.exec(_holds_of(), params={"ids": list(by_port)}).all()
    for hold, found in rows:
        release = cast(HoldRelease | None, found)
        if release is None:
            by_port[hold.port_id].hold = hold
        else:
            by_port[hold.port_id].releases.append(release)


def _signatures(session: Session, by_port: dict[int, PortRows]) -> None:
    rows = session.exec(_signatures_of(), params={"ids": list(by_port)}).all()
    for signed, signature in rows:
        rows_of_port = by_port[signed.port_id]
        current = rows_of_port.port_pass.id if rows_of_port.port_pass else None
        if signed.port_pass_id == current:
            rows_of_port.signature = signature


# Statements are built once: building one takes as long as running it.


@cache
def _totals() -> Any:
    return (
        select(PriceLine.job_id, func.sum(PriceLine.amount))
        .where(col(PriceLine.job_id).in_(IDS), col(PriceLine.voided_at).is_(None))
        .group_by(col(PriceLine.job_id))
    )


@cache
def _settings_of() -> Any:
    return (
        select(SettingPort, Setting)
        .join(Setting, col(Setting.id) == col(SettingPort.setting_id))
        .where(col(SettingPort.port_pass_id).in_(IDS))
        .order_by(col(Setting.id))
    )


@cache
def _holds_of() -> Any:
    return (
        select(Hold, HoldRelease)
        .outerjoin(HoldRelease, col(HoldRelease.hold_id) == col(Hold.id))
        .where(col(Hold.port_id).in_(IDS))
        .order_by(col(Hold.id))
    )


@cache
def _signatures_of() -> Any:
    return (
        select(SignaturePort, Signature)
        .join(Signature, col(Signature.id) == col(SignaturePort.signature_id))
        .where(col(SignaturePort.port_id).in_(IDS), col(Signature.what) == SignedWhat.POSITIONS)
        .order_by(col(Signature.id))
    )

"""Rows to facts: what the gates, stages and status sentences are told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from app.models.head import Head
from app.models.job import Job
from app.models.shop import Shop
from app.workflow.facts import (
    ConsentFacts,
    HeadFacts,
    JobFacts,
    Point,
)
from app.workflow.shop_rules import ShopRules
from app.workflow.words import InspectionKind, Outcome, listed, money
from app.worksheets.head_rows import HeadRows, JobRows, load_heads
from app.worksheets.port_facts import bore_since_cut, port_facts
from app.worksheets.shop_rules import current_rules
from app.worksheets.targets import PortTarget, load_targets

__all__ = [
    "HeadSheet",
    "bore_since_cut",
    "head_facts",
    "job_facts",
    "load_sheet",
    "load_sheets",
    "shop_zone",
]


@dataclass(frozen=True)
class HeadSheet:
    """One head: its rows, its live targets and its facts, gathered together."""

    rows: HeadRows
    targets: Mapping[int, PortTarget]
    facts: HeadFacts

    @property
    def head(self) -> Head:
        """The head's row."""
        return self.rows.head


def load_sheets(session: Session, heads: Sequence[Head]) -> dict[int, HeadSheet]:
    """Rows, targets and facts of heads, by head id."""
    rules = current_rules(session)
    zone = shop_zone(session)
    found = load_heads(session, heads)
    targets = load_targets(session, found, rules)
    return {
        head_id: HeadSheet(
            rows=rows,
            targets={
                port.port.id: targets[port.port.id]
                for port in rows.ports
                if port.port.id in targets
            },
            facts=head_facts(rows, targets, rules, zone),
        )
        for head_id, rows in found.items()
    }


def load_sheet(session: Session, head: Head) -> HeadSheet:
    """One head."""
    return load_sheets(session, [head])[head.id]


def shop_zone(session: Session) -> ZoneInfo:
    """The shop's time zone."""
    shop = session.get(Shop, 1)
    return ZoneInfo(shop.zone if shop else "UTC")


def job_facts(job: Job, heads: Sequence[HeadFacts], today: date, zone: ZoneInfo) -> JobFacts:
    """A job as the counter tells it."""
    return JobFacts(
        number=job.number,
        today=today,
        heads=tuple(heads),
        promised_on=job.promised_on,
        place=job.place,
        waiting=job.waiting,
        waiting_for=job.waiting_for,
        waiting_since=_local_day(job.waiting_since, zone),
        expected_on=job.waiting_until,
        ended=job.ended_as,
        ended_on=_local_day(job.ended_at, zone),
        voided=job.voided_at is not None,
    )


def head_facts(
    rows: HeadRows, targets: Mapping[int, PortTarget], rules: ShopRules, zone: ZoneInfo
) -> HeadFacts:
    """One head with its positions."""
    head, job = rows.head, rows.job
    return HeadFacts(
        name=head.name,
        gate_version=head.gate_version,
        ports=tuple(
            port_facts(rows, port, targets.get(port.port.id), rules, zone) for port in rows.ports
        ),
        metal_off=rows.metal_off,
        customer_kind=job.job.customer_kind,
        consent=_consent(job, zone),
        wanted=_given(job.job.wanted),
        identity=_identity(head),
        material=head.material,
        unit=job.job.unit,
        layout=head.layout,
        numbered_from=head.numbered_from,
        heat_history=head.heat_history,
        pieces_in=job.pieces_in,
        crack_test=_inspected(rows, InspectionKind.CRACK, "crack_test"),
        pressure_before=_inspected(rows, InspectionKind.PRESSURE_BEFORE, "pressure_before"),
        flatness=_inspected(rows, InspectionKind.FLATNESS, "flatness"),
        hardness=_inspected(rows, InspectionKind.HARDNESS, "hardness"),
        way=rows.decision.way if rows.decision else None,
        way_because=rows.decision.because if rows.decision else "",
        way_knew=_known_at_decision(rows),
        pressure_after=_pressure_after(rows),
        parts_counted=_parts_counted(rows),
    )


def _given(text: str) -> Point:
    return Point.closed(text) if text.strip() else Point.open()


def _identity(head: Head) -> Point:
    if head.casting:
        return Point.closed(head.casting)
    return Point.closed("none found") if head.casting_none_found else Point.open()


def _consent(job: JobRows, zone: ZoneInfo) -> ConsentFacts:
    consent = job.consent
    if consent is None:
        return ConsentFacts(total=job.total)
    limit = "" if consent.limit_amount is None else f" up to {money(consent.limit_amount)}"
    return ConsentFacts(
        given=True,
        limit=consent.limit_amount,
        total=job.total,
        told=f"{consent.name}, {consent.how.screen}{limit}",
    )


def _inspected(rows: HeadRows, kind: InspectionKind, key: str) -> Point:
    found = rows.inspections.get(kind)
    if found is not None:
        told = found.because if found.outcome is Outcome.NOT_DONE else found.found or found.method
        return Point.of_inspection(found.outcome, told)
    return Point.not_done(rows.not_done.get(key, ""))


def _known_at_decision(rows: HeadRows) -> frozenset[str]:
    """The kinds of inspection whose newest finding stood when it was said how the head goes on."""
    decision = rows.decision
    if decision is None:
        return frozenset()
    return frozenset(
        kind.value for kind, found in rows.inspections.items() if found.at <= decision.at
    )


def _pressure_after(rows: HeadRows) -> Point:
    """Only a test after the newest cut says anything about it."""
    found = rows.inspections.get(InspectionKind.PRESSURE_AFTER)
    newest_cut = max((cut.at for port in rows.ports for cut in port.cuts), default=None)
    if found is not None and newest_cut is not None and found.taken_at < newest_cut:
        return Point.open("a bore was cut after the last pressure test")
    return _inspected(rows, InspectionKind.PRESSURE_AFTER, "pressure_after")


def _parts_counted(rows: HeadRows) -> Point:
    missing = rows.job.not_counted_out
    if rows.job.counted_out and not missing:
        return Point.closed("counted out")
    because = rows.not_done.get("parts_counted", "")
    if because or not missing:
        return Point.not_done(because)
    return Point.open(f"{listed(list(missing))} not counted yet")


def _local_day(moment: datetime | None, zone: ZoneInfo) -> date | None:
    return None if moment is None else moment.astimezone(zone).date()

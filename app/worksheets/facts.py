"""Rows to facts: what the gates, stages and status sentences are told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from app.calc.units import Length, mean_nm
from app.models.head import Head
from app.models.job import Job
from app.models.shop import Shop
from app.workflow.facts import (
    ConsentFacts,
    HeadFacts,
    HoldFacts,
    JobFacts,
    Point,
    PortFacts,
)
from app.workflow.kinds import Quantity, ResultKind, SettingState, Verdict
from app.workflow.shop_rules import ShopRules
from app.workflow.stale import Phase, still_matters
from app.workflow.words import InspectionKind, Outcome, SeatNow, Work, listed, money
from app.worksheets.head_rows import HeadRows, JobRows, PortRows, load_heads
from app.worksheets.readings import Readings
from app.worksheets.shop_rules import current_rules
from app.worksheets.targets import PortTarget, load_targets

# Results whose ground matters to the next step of an open pass.
_WATCHED = (
    ResultKind.TARGET,
    ResultKind.DEPTH_STOP,
    ResultKind.PILOT_FIT,
    ResultKind.VERIFICATION,
    ResultKind.RING_IN,
    ResultKind.FINISH,
)


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
            _port(rows, port, targets.get(port.port.id), rules, zone) for port in rows.ports
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
        pressure_after=_pressure_after(rows),
        parts_counted=_parts_counted(rows),
    )


def _port(
    head: HeadRows,
    rows: PortRows,
    target: PortTarget | None,
    rules: ShopRules,
    zone: ZoneInfo,
) -> PortFacts:
    unit = head.job.job.unit.value
    port, port_pass = rows.port, rows.port_pass
    gauged = bore_since_cut(rows)
    return PortFacts(
        position=rows.position,
        work=port.work,
        seat_now=port.seat_now,
        stem_before=_read(rows, "stem_before", rows.stems, Quantity.STEM_HEIGHT, unit),
        guide_decision=rows.guide_work.decision if rows.guide_work else None,
        guide_fit=_guide_fit(head, rows, unit),
        old_pocket=_old_pocket(rows, unit),
        goes_over_old_pocket=_goes_over(rows, target),
        wall=_read(rows, "wall", rows.pockets, Quantity.WALL, unit),
        web=_read(rows, "web", rows.pockets, Quantity.CENTRE_DISTANCE, unit),
        ring_read=_ring_read(target, unit),
        target=_target(head, rows, target, unit),
        wanted_ring=_wanted(rows, zone),
        setting=_setting(rows),
        cut=_cut(rows, zone),
        opened_unrecorded=_opened(rows, zone),
        bore_measured=_bored(gauged, unit),
        depth_measured=_depth(gauged, unit),
        verdict=_verdict(head, rows),
        deviation=_deviation(rows),
        hold=HoldFacts(rows.hold.reason, rows.hold.words) if rows.hold else None,
        no_longer_stands=_no_longer(head, rows),
        ring_in_hand=_ring_in_hand(rows, target),
        ring_in=_ring_in(rows, zone),
        seat_width=_read(rows, "seat_width", rows.finish, Quantity.SEAT_WIDTH, unit),
        seat_run_out=_read(rows, "seat_run_out", rows.finish, Quantity.RUN_OUT, unit),
        stem_after=_read(rows, "stem_after", rows.finish, Quantity.STEM_AFTER, unit),
        signed=_signed(rows, zone, has_pass=port_pass is not None),
    )


def bore_since_cut(rows: PortRows) -> Readings | None:
    """The bore's readings, when they were taken after the last cut."""
    if rows.cut is None or rows.bore is None:
        return None
    newest = rows.bore.newest_at
    return rows.bore if newest is not None and newest >= rows.cut.at else None


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


def _read(
    rows: PortRows, key: str, readings: Readings | None, quantity: Quantity, unit: str
) -> Point:
    found = readings.one(quantity) if readings else None
    if found is not None:
        return Point.closed(found.shown(unit))
    return Point.not_done(rows.not_done.get(key, ""))


def _guide_fit(head: HeadRows, rows: PortRows, unit: str) -> Point:
    pilot_fit = head.accepted.of_port(rows.port.id, ResultKind.PILOT_FIT)
    if pilot_fit is not None and not pilot_fit.stands:
        return Point.open(f"pilot fit no longer stands: {pilot_fit.no_longer.because}")  # type: ignore[union-attr]
    if rows.guides is not None:
        # A service that came after a reading starts the readings afresh: those here are of the
        # guide as it is.
        bore = rows.guides.one(Quantity.GUIDE_BORE)
        if bore is not None:
            return Point.closed(f"bore {bore.shown(unit)}")
        rocking = rows.guides.one(Quantity.GUIDE_ROCKING)
        if rocking is not None:
            return Point.closed(f"{rocking.shown(unit)} by rocking the valve")
    if pilot_fit is not None:
        return Point.closed("pilot fits")
    return Point.not_done(rows.not_done.get("guides", ""))


def _old_pocket(rows: PortRows, unit: str) -> Point:
    found = rows.pockets
    if found is None or not found.values(Quantity.OLD_BORE):
        return Point.not_done(rows.not_done.get("old_pocket", ""))
    missing = [
        quantity.screen
        for quantity in (Quantity.OLD_RUN_OUT, Quantity.OLD_DEPTH)
        if found.one(quantity) is None
    ]
    largest = max(found.values(Quantity.OLD_BORE))
    return Point.open(missing[0]) if missing else Point.closed(largest.shown(unit))


def _goes_over(rows: PortRows, target: PortTarget | None) -> bool | None:
    if rows.port.seat_now is SeatNow.CASTING:
        return True
    old = rows.pockets.values(Quantity.OLD_BORE) if rows.pockets else []
    if target is None or target.target is None or not old:
        return None
    return target.target.target_bore > max(old)


def _ring_read(target: PortTarget | None, unit: str) -> Point:
    if target is None:
        return Point.open()
    if target.open or target.target is None:
        return Point.open("; ".join(target.open))
    od = target.target.target_bore + (target.window.aim if target.window else Length(0))
    return Point.closed(od.shown(unit, 5, 4))


def _target(head: HeadRows, rows: PortRows, target: PortTarget | None, unit: str) -> Point:
    """Accepted when a setting is made; before that, worked out and nothing open is enough."""
    accepted = head.accepted.of_pass(
        rows.port_pass.id if rows.port_pass else None, ResultKind.TARGET
    )
    if accepted is not None and accepted.no_longer is not None:
        return Point.open(f"no longer stands: {accepted.no_longer.because}")
    if accepted is not None and rows.port_pass is not None:
        return Point.closed(rows.port_pass.target_bore.shown(unit, 5, 4))
    if target is not None and target.is_ready and target.target is not None:
        return Point.closed(target.target.target_bore.shown(unit, 5, 4))
    return Point.open()


def _wanted(rows: PortRows, zone: ZoneInfo) -> str:
    wanted = rows.wanted
    if wanted is None:
        return ""
    if wanted.ordered_at is None:
        return "wanted, not ordered yet"
    expected = "" if wanted.expected_on is None else f", expected {wanted.expected_on.isoformat()}"
    return f"ordered{expected}"


def _setting(rows: PortRows) -> Point:
    if rows.setting is None:
        return Point.open()
    if rows.cut is not None:
        return Point.closed(f"setting {rows.setting.id}")
    if rows.setting.state is SettingState.LIVE:
        return Point.closed(f"setting {rows.setting.id}")
    if rows.setting.state is SettingState.LAPSED:
        return Point.open(rows.setting.lapsed_because or "read the cutter again")
    return Point.open("worked out, the cutter is not set")


def _cut(rows: PortRows, zone: ZoneInfo) -> Point:
    if rows.cut is None:
        return Point.open()
    if rows.cut.is_first_pass:
        return Point.open("first pass cut under size")
    return Point.closed(f"{rows.cut.at.astimezone(zone):%H:%M}")


def _opened(rows: PortRows, zone: ZoneInfo) -> str:
    opening = rows.opening
    if opening is None or opening.was_not_cut or rows.hold is not None:
        return ""
    if rows.cut is not None and rows.cut.at >= opening.at:
        return ""
    if rows.bore is not None and rows.bore.newest_at and rows.bore.newest_at >= opening.at:
        return ""
    return f"{opening.at.astimezone(zone):%H:%M}"


def _bored(readings: Readings | None, unit: str) -> Point:
    """The mean, with the digits of an interference: it stands beside a ring's mean."""
    values = readings.values(Quantity.BORE) if readings else []
    if not values:
        return Point.open()
    return Point.closed(Length.nearest(mean_nm(values)).shown(unit, 5, 4))


def _depth(readings: Readings | None, unit: str) -> Point:
    values = readings.values(Quantity.DEPTH) if readings else []
    return Point.closed(values[-1].shown(unit)) if values else Point.open()


def _verdict(head: HeadRows, rows: PortRows) -> Verdict | None:
    if rows.verification is None or rows.port_pass is None:
        return None
    if rows.cut is not None and rows.verification.at < rows.cut.at:
        return None
    accepted = head.accepted.of_pass(rows.port_pass.id, ResultKind.VERIFICATION)
    return rows.verification.verdict if accepted and accepted.stands else None


def _deviation(rows: PortRows) -> str:
    signed = [release for release in rows.releases if release.is_deviation]
    if not signed or rows.port_pass is None:
        return ""
    newest = signed[-1]
    if newest.at < rows.port_pass.opened_at:
        return ""
    return f"{newest.value} against {newest.limit}: {newest.reason} ({newest.decided_by})"


def _no_longer(head: HeadRows, rows: PortRows) -> tuple[ResultKind, ...]:
    phase = Phase.BEFORE_CUT if rows.cut is None else Phase.CUT
    found = []
    for kind in _WATCHED:
        if not still_matters(kind, phase):
            continue
        accepted = head.accepted.of_pass(rows.port_pass.id if rows.port_pass else None, kind)
        if accepted is None:
            accepted = head.accepted.of_port(rows.port.id, kind)
        if accepted is not None and not accepted.stands:
            found.append(kind)
    return tuple(found)


def _ring_in_hand(rows: PortRows, target: PortTarget | None) -> Point:
    if rows.ring_in is not None:
        return Point.closed(rows.ring_in.known_by)
    if target is not None and rows.port_pass is not None and rows.port_pass.ring_id is None:
        good = target.set_working is not None and target.is_ready
        if good and not (target.set_working and target.set_working.open_words):
            return Point.closed("any ring of its set: they may be mixed")
    return Point.open("one outside diameter read again")


def _ring_in(rows: PortRows, zone: ZoneInfo) -> Point:
    if rows.ring_in is None:
        return Point.open()
    return Point.closed(f"{rows.ring_in.way.screen} {rows.ring_in.at.astimezone(zone):%H:%M}")


def _signed(rows: PortRows, zone: ZoneInfo, *, has_pass: bool) -> Point:
    if rows.port.work is Work.RING and not has_pass:
        return Point.open()
    if rows.signature is None:
        return Point.open()
    return Point.closed(f"{rows.signature.at.astimezone(zone):%Y-%m-%d %H:%M}")


def _local_day(moment: datetime | None, zone: ZoneInfo) -> date | None:
    return None if moment is None else moment.astimezone(zone).date()

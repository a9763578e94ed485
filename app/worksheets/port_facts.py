"""One position's rows to facts: each point closed by a value, by a reason, or open and why."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from app.calc.units import Length, mean_nm
from app.models.port_pass import HoldRelease
from app.workflow.facts import (
    HoldFacts,
    Point,
    PortFacts,
)
from app.workflow.kinds import ENTERS, Quantity, ResultKind, SettingState, Verdict
from app.workflow.shop_rules import ShopRules
from app.workflow.stale import Phase, still_matters
from app.workflow.words import SeatNow, Work
from app.worksheets.head_rows import HeadRows, PortRows
from app.worksheets.readings import Readings
from app.worksheets.results import Accepted
from app.worksheets.targets import PortTarget

# Results whose ground matters to the next step of an open pass.
_WATCHED = (
    ResultKind.TARGET,
    ResultKind.DEPTH_STOP,
    ResultKind.CLEAN_UP,
    ResultKind.WALL_WEB,
    ResultKind.PILOT_FIT,
    ResultKind.VERIFICATION,
    ResultKind.RING_IN,
    ResultKind.FINISH,
)


def port_facts(
    head: HeadRows,
    rows: PortRows,
    target: PortTarget | None,
    rules: ShopRules,
    zone: ZoneInfo,
) -> PortFacts:
    """What the gates and stages are told of a position, in its open pass."""
    unit = head.job.job.unit.value
    port, port_pass = rows.port, rows.port_pass
    gauged = bore_since_cut(rows)
    return PortFacts(
        position=rows.position,
        work=port.work,
        seat_now=port.seat_now,
        stem_before=_read(rows, "stem_before", rows.stems, Quantity.STEM_HEIGHT, unit),
        guide_decision=rows.guide_work.decision if rows.guide_work else None,
        guide_how=rows.guide_work.how if rows.guide_work else None,
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
        ring_seated=_ring_seated(rows),
        is_warm=is_warm(rows) and "ring_seated" not in rows.not_done,
        seat_width=_read(rows, "seat_width", rows.finish, Quantity.SEAT_WIDTH, unit),
        seat_run_out=_read(rows, "seat_run_out", rows.finish, Quantity.RUN_OUT, unit),
        stem_after=_read(rows, "stem_after", rows.finish, Quantity.STEM_AFTER, unit),
        signed=_signed(rows, zone, has_pass=port_pass is not None),
    )


def bore_since_cut(rows: PortRows) -> Readings | None:
    """The bore's readings, when they were taken after the last cut."""
    if rows.cut is None or rows.bore is None:
        return None
    # A cut starts its bore's readings afresh: one typed in since is of it, whenever it was taken.
    newest = rows.bore.newest_kept_at
    return rows.bore if newest is not None and newest >= rows.cut.at else None


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
    newest = rows.bore.newest_kept_at if rows.bore is not None else None
    if newest is not None and newest >= opening.at:
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
    stands = accepted is not None and (accepted.stands or _is_signed_for(rows, accepted))
    return rows.verification.verdict if stands else None


def _deviation(rows: PortRows) -> str:
    newest = _newest_deviation(rows)
    if newest is None:
        return ""
    return f"{newest.value} against {newest.limit}: {newest.reason} ({newest.decided_by})"


def _newest_deviation(rows: PortRows) -> HoldRelease | None:
    """The deviation that was signed for the open pass."""
    signed = [release for release in rows.releases if release.is_deviation]
    if not signed or rows.port_pass is None or signed[-1].at < rows.port_pass.opened_at:
        return None
    return signed[-1]


def _is_signed_for(rows: PortRows, accepted: Accepted) -> bool:
    """A verdict lost its ground and a deviation was signed since: with the ring in, no other way
    is left, and the bore cannot be gauged again."""
    deviation = _newest_deviation(rows)
    return (
        accepted.result.kind is ResultKind.VERIFICATION
        and accepted.no_longer is not None
        and deviation is not None
        and accepted.no_longer.at <= deviation.at
    )


def _no_longer(head: HeadRows, rows: PortRows) -> tuple[ResultKind, ...]:
    phase = Phase.BEFORE_CUT if rows.cut is None else Phase.CUT
    found = []
    for kind in _WATCHED:
        if not still_matters(kind, phase):
            continue
        accepted = head.accepted.of_pass(rows.port_pass.id if rows.port_pass else None, kind)
        if accepted is None:
            accepted = head.accepted.of_port(rows.port.id, kind)
        if accepted is None or accepted.stands or _is_signed_for(rows, accepted):
            continue
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
    pressed = rows.pressed
    if pressed is None:
        return Point.open()
    return Point.closed(f"{pressed.way.screen} {pressed.went_in_at.astimezone(zone):%H:%M}")


def is_warm(rows: PortRows) -> bool:
    """The head was heated with this ring in it, and no cool-down is recorded since."""
    ring_in = rows.ring_in
    return ring_in is not None and ring_in.heat is not None and not ring_in.cool_down


def _ring_seated(rows: PortRows) -> Point:
    ring_in = rows.ring_in
    if ring_in is None:
        return Point.open()
    if "ring_seated" in rows.not_done:
        return Point.not_done(rows.not_done["ring_seated"])
    if is_warm(rows):
        return Point.open("the head was heated: how it cooled is not recorded")
    if ring_in.feeler.startswith(ENTERS):
        return Point.not_ok("a feeler enters under it")
    return Point.closed(ring_in.feeler)


def _signed(rows: PortRows, zone: ZoneInfo, *, has_pass: bool) -> Point:
    if rows.port.work is Work.RING and not has_pass:
        return Point.open()
    if rows.signature is None:
        return Point.open()
    return Point.closed(f"{rows.signature.at.astimezone(zone):%Y-%m-%d %H:%M}")

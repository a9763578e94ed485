"""The customer's record of one head: what was asked, done and found, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.models.job import Job
from app.models.photo import Photo
from app.queries.head_record_lines import InspectionLine, NotDoneLine
from app.queries.head_records import HeadRecord, head_record
from app.queries.photos import photos_of
from app.queries.received import counted
from app.queries.record_lines import FitLine, PositionRecord
from app.queries.sheets import HeadLine, Letterhead
from app.workflow.facts import Point, PointState
from app.workflow.kinds import PhotoOf, PressWay
from app.workflow.parts import differences
from app.workflow.words import Outcome, SeatNow, Work
from app.worksheets.facts import HeadSheet
from app.worksheets.shop_rules import current_rules

_DONE = {
    Work.SEAT_ONLY: "Seat cut anew.",
    Work.GUIDE_ONLY: "Valve guide looked after, seat left as it came.",
    Work.LEAVE: "Left as it came.",
    Work.UNDECIDED: "Nothing was decided here, and nothing was done.",
}
_OLD_RINGS = (SeatNow.RING.screen, SeatNow.OVERSIZE_RING.screen)


@dataclass(frozen=True, slots=True)
class DoneLine:
    """One position as its owner reads it."""

    name: str
    done: str
    fit: FitLine | None
    width: str
    run_out: str
    stem_change: str
    remark: str  # a hold that stands, a deviation, work that is not signed


@dataclass(frozen=True, slots=True)
class PictureLine:
    """A picture on the sheet: its small copy, by hash."""

    photo_id: int
    small_sha256: str
    words: str
    at: datetime


@dataclass(frozen=True, slots=True)
class CustomerRecord:
    """What goes home with one head."""

    letterhead: Letterhead
    head: HeadLine
    ended: str
    ended_at: datetime | None
    ended_note: str
    collected_by: str
    given_up: str  # why it was not worked on, after inspection
    positions: tuple[DoneLine, ...]
    tests: tuple[InspectionLine, ...]
    not_done: tuple[NotDoneLine, ...]
    parts_in: tuple[str, ...]
    parts_differ: tuple[str, ...]
    before: PictureLine | None
    after: PictureLine | None
    warranty: str
    care: str


def customer_record(
    session: Session, job: Job, heading: Letterhead, sheet: HeadSheet
) -> CustomerRecord:
    """Gather it from the shop's own record, so that the two cannot differ."""
    whole: HeadRecord = head_record(session, job, heading, sheet)
    rules = current_rules(session)
    came = counted(session, job.id, is_out=False)
    before, after = _pictures(session, job, sheet.head.id)
    return CustomerRecord(
        letterhead=heading,
        head=whole.head,
        ended=whole.ended,
        ended_at=whole.ended_at,
        ended_note=whole.ended_note,
        collected_by=whole.collected_by,
        given_up=sheet.facts.way_because if sheet.facts.is_scrap else "",
        positions=tuple(_done(one) for one in whole.positions)
        if sheet.facts.metal_off or not sheet.facts.is_scrap
        else (),
        tests=tuple(test for test in whole.tests if test.outcome is not Outcome.NOT_DONE),
        not_done=_not_done(whole),
        parts_in=tuple(f"{pieces} {what}" for what, pieces in came.items() if pieces),
        parts_differ=differences(came, counted(session, job.id, is_out=True)),
        before=before,
        after=after,
        warranty=whole.warranty,
        care=rules.text("care_text"),
    )


def _done(one: PositionRecord) -> DoneLine:
    return DoneLine(
        name=one.name,
        done=_words(one),
        fit=one.fit if one.pressed else None,
        width=_figure(one.width),
        run_out=_figure(one.run_out),
        stem_change=one.stem_change,
        remark=_remark(one),
    )


def _words(one: PositionRecord) -> str:
    if one.work is not Work.RING:
        return _DONE[one.work]
    if one.pressed is None:
        return "A new seat ring was planned; it did not go in."
    old = "Old seat ring out, new" if one.seat_now in _OLD_RINGS else "New"
    way = one.pressed.way
    how = "pressed in" if way == PressWay.PRESS.screen else f"fitted, {way}"
    return f"{old} seat ring: bored for it and {how}."


def _remark(one: PositionRecord) -> str:
    if one.on_hold:
        return f"Stopped: {one.on_hold}"
    if one.deviation:
        return f"Outside this shop's limits and kept so: {one.deviation}"
    is_worked = one.work not in (Work.LEAVE, Work.UNDECIDED)
    return "Not finished and signed." if is_worked and one.signed_at is None else ""


def _figure(point: Point) -> str:
    return point.told if point.state is PointState.CLOSED else ""


def _not_done(whole: HeadRecord) -> tuple[NotDoneLine, ...]:
    """What the gates closed by a reason, and every test that was left out."""
    told = {line.what for line in whole.not_done}
    left_out = tuple(
        NotDoneLine(test.kind, test.about, test.because)
        for test in whole.tests
        if test.outcome is Outcome.NOT_DONE and test.kind not in told
    )
    return whole.not_done + left_out


def _pictures(
    session: Session, job: Job, head_id: int
) -> tuple[PictureLine | None, PictureLine | None]:
    """The first one of the head as it came in, and the last one as it goes out."""
    newest_first = [
        shown.photo
        for shown in photos_of(session, job)
        if shown.struck_because is None and shown.photo.head_id in (None, head_id)
    ]
    return (
        _picture([one for one in reversed(newest_first) if one.photo_of is PhotoOf.INTAKE]),
        _picture([one for one in newest_first if one.photo_of is PhotoOf.HAND_OVER]),
    )


def _picture(found: Sequence[Photo]) -> PictureLine | None:
    if not found:
        return None
    one = found[0]
    words = one.caption or one.photo_of.screen
    return PictureLine(one.id, one.small_sha256, words, one.at)

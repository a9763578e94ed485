"""A head record: every figure of one head as it goes on paper and stays there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, or_, select

from app.calc.trace import Step
from app.models.head import Head
from app.models.inspection import Inspection
from app.models.job import Consent, Job
from app.models.port_pass import Hold, HoldRelease
from app.models.sheet import Signature
from app.queries.decks import DeckLine, deck_lines
from app.queries.head_decisions import Decision
from app.queries.head_record_lines import (
    ConsentLine,
    DecisionLine,
    HoldLine,
    InspectionLine,
    NotDoneLine,
    SignatureLine,
    WorkingBlock,
)
from app.queries.inspected import found_on
from app.queries.record_guides import GuideLine, guide_lines
from app.queries.record_lines import PositionRecord, position_record
from app.queries.seat_plans import planned_lines
from app.queries.sheets import HeadLine, Letterhead, names_of_people
from app.queries.valve_records import (
    TriedLine,
    ValveLine,
    chamber_line,
    stands_apart,
    vacuum_lines,
    valve_lines,
)
from app.workflow.cautions import Caution
from app.workflow.gates import Gate, closed_by_reason, open_points
from app.workflow.kinds import ResultKind
from app.workflow.requirements import AskedPoint, told_together
from app.workflow.stages import holds, progress, told_holds
from app.workflow.words import Work, listed, sentence
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.inspection_points import inspection_run
from app.worksheets.materials import head_figures
from app.worksheets.results import Accepted
from app.worksheets.settings import load_settings
from app.worksheets.shop_rules import current_rules

_GATES: tuple[Gate | None, ...] = (Gate.METAL_OFF, Gate.RING_IN, Gate.HAND_OVER, None)
# Who lifts a finished head reads this paper last.
_CAUTIONS = ("lifting",)
_WORKINGS = (
    (ResultKind.TARGET, "Counterbore to cut"),
    (ResultKind.SETTING, "Size set"),
    (ResultKind.DEPTH_STOP, "Depth stop"),
    (ResultKind.VERIFICATION, "Bore proved"),
    (ResultKind.GUIDE_GRIP, "New guide’s grip"),
)


@dataclass(frozen=True, slots=True)
class HeadRecord:
    """The whole record of one head."""

    letterhead: Letterhead
    head: HeadLine
    told: str
    consent: ConsentLine | None
    ended: str
    ended_at: datetime | None
    ended_note: str
    collected_by: str
    positions: tuple[PositionRecord, ...]
    tests: tuple[InspectionLine, ...]
    deck: tuple[DeckLine, ...]
    not_done: tuple[NotDoneLine, ...]
    open: tuple[str, ...]
    holds: tuple[HoldLine, ...]
    workings: tuple[WorkingBlock, ...]
    signatures: tuple[SignatureLine, ...]
    warranty: str
    cautions: tuple[Caution, ...]
    seats: tuple[str, ...]  # what was said of them for this head
    valves: tuple[ValveLine, ...]
    vacuum: tuple[TriedLine, ...]
    chambers: TriedLine | None
    guides: tuple[GuideLine, ...]
    inspected: tuple[tuple[str, str], ...]  # deck and hardness in figures
    decision: DecisionLine | None

    @property
    def with_ring(self) -> tuple[PositionRecord, ...]:
        """Positions that get a seat ring."""
        return tuple(one for one in self.positions if one.work is Work.RING)

    @property
    def with_seat(self) -> tuple[PositionRecord, ...]:
        """Positions whose seat is cut."""
        return tuple(one for one in self.positions if one.work in (Work.RING, Work.SEAT_ONLY))

    @property
    def others(self) -> str:
        """What happens at the rest: ``leave: 4E``."""
        by_work: dict[Work, list[str]] = defaultdict(list)
        for one in self.positions:
            if one.work not in (Work.RING, Work.SEAT_ONLY):
                by_work[one.work].append(one.label)
        return "; ".join(f"{work.screen}: {listed(labels)}" for work, labels in by_work.items())


def head_record(session: Session, job: Job, heading: Letterhead, sheet: HeadSheet) -> HeadRecord:
    """Gather the record of one head."""
    names = names_of_people(session)
    rules = current_rules(session)
    settings = load_settings(
        session,
        list({rows.setting.id: rows.setting for rows in sheet.rows.ports if rows.setting}.values()),
    )
    inspected = found_on(session, sheet.head, rules, job.unit)
    return HeadRecord(
        letterhead=heading,
        head=heading.head(sheet.head.id),
        told=sentence(_told(job, sheet)),
        consent=_consent(sheet.rows.job.consent),
        ended=job.ended_as.screen if job.ended_as else "",
        ended_at=job.ended_at,
        ended_note=job.ended_note,
        collected_by=job.collected_by,
        positions=tuple(
            position_record(session, sheet, rows, settings, names) for rows in sheet.rows.ports
        ),
        tests=_tests(session, sheet, names),
        deck=deck_lines(session, sheet.head.id),
        not_done=_not_done(sheet),
        open=_open(sheet),
        holds=_holds(session, sheet, names),
        workings=_workings(sheet),
        signatures=_signatures(session, job, sheet.head, names),
        warranty=rules.text("warranty_text"),
        cautions=tuple(rules.caution(key) for key in _CAUTIONS),
        seats=planned_lines(session, sheet.head.id, job.unit),
        valves=valve_lines(session, sheet, rules),
        vacuum=vacuum_lines(session, sheet),
        chambers=chamber_line(session, sheet),
        guides=guide_lines(sheet, head_figures(session, sheet.head), rules, names),
        inspected=(*inspected.lines, *_recession(sheet)),
        decision=_decision(inspected.decision),
    )


def _told(job: Job, sheet: HeadSheet) -> str:
    """How far the head is; of a job that is over only what was done."""
    told = progress(sheet.facts)
    if sheet.facts.is_scrap:
        return f"given up after inspection: {sheet.facts.way_because}"
    if job.ended_as is not None:
        told = told.partition(", ")[0]
    held = told_holds(holds(sheet.facts))
    return f"{sentence(told)} {held}" if held else told


def unsigned(sheet: HeadSheet) -> list[str]:
    """Positions with work of which nobody has signed that it is finished."""
    return [
        rows.label
        for rows in sheet.rows.ports
        if rows.port.work is not Work.LEAVE and rows.signature is None
    ]


def _consent(consent: Consent | None) -> ConsentLine | None:
    if consent is None:
        return None
    return ConsentLine(
        consent.name, consent.how.screen, consent.limit_amount, consent.given_on.isoformat()
    )


def _recession(sheet: HeadSheet) -> tuple[tuple[str, str], ...]:
    """How deep the valves lay, when anybody read it."""
    told = inspection_run(sheet, 0).at("recession").point.told
    return (("recession", told),) if told else ()


def _decision(decided: Decision | None) -> DecisionLine | None:
    if decided is None:
        return None
    return DecisionLine(decided.way.screen, decided.because, decided.at, decided.by)


def _tests(
    session: Session, sheet: HeadSheet, names: Mapping[int, str]
) -> tuple[InspectionLine, ...]:
    labels = {rows.port.id: rows.label for rows in sheet.rows.ports}
    newest: dict[tuple[object, int | None], Inspection] = {}
    for row in session.exec(
        select(Inspection)
        .where(Inspection.head_id == sheet.head.id)
        .order_by(col(Inspection.port_id).is_not(None), col(Inspection.id))
    ):
        newest[row.kind, row.port_id] = row
    return tuple(
        InspectionLine(
            kind=row.kind.screen,
            about=labels.get(row.port_id or 0, ""),
            outcome=row.outcome,
            method=row.method,
            found=row.found,
            because=row.because,
            at=row.taken_at,
            by=names[row.read_by_id or row.by_id],
            typed_by=names[row.by_id] if row.read_by_id else "",
            typed_at=row.at,
        )
        for row in newest.values()
        if not stands_apart(row)
    )


def _not_done(sheet: HeadSheet) -> tuple[NotDoneLine, ...]:
    groups: dict[tuple[str, str], list[AskedPoint]] = defaultdict(list)
    for gate in _GATES:
        for asked in closed_by_reason(gate, sheet.facts):
            same = groups[asked.requirement.screen, asked.point.told]
            if asked.label not in [one.label for one in same]:
                same.append(asked)
    return tuple(
        NotDoneLine(what, listed([one.label for one in asked if one.label]), because)
        for (what, because), asked in groups.items()
    )


def _open(sheet: HeadSheet) -> tuple[str, ...]:
    points = [asked for gate in _GATES for asked in open_points(gate, sheet.facts)]
    return tuple(dict.fromkeys(told_together(points)))


def _holds(session: Session, sheet: HeadSheet, names: Mapping[int, str]) -> tuple[HoldLine, ...]:
    labels = {rows.port.id: rows.label for rows in sheet.rows.ports}
    rows = session.exec(
        select(Hold, HoldRelease)
        .outerjoin(HoldRelease, col(HoldRelease.hold_id) == col(Hold.id))
        .where(col(Hold.port_id).in_(list(labels)))
        .order_by(col(Hold.id))
    ).all()
    return tuple(_hold(hold, release, labels, names) for hold, release in rows)


def _hold(
    hold: Hold,
    release: HoldRelease | None,
    labels: Mapping[int, str],
    names: Mapping[int, str],
) -> HoldLine:
    return HoldLine(
        label=labels[hold.port_id],
        at=hold.at,
        by=names[hold.by_id],
        words=hold.words,
        way=release.way.screen if release else "",
        is_deviation=release.is_deviation if release else False,
        value=release.value if release else "",
        limit=release.limit if release else "",
        reason=release.reason if release else "",
        decided_by=release.decided_by if release else "",
        customer_told=release.customer_told if release else None,
        released_at=release.at if release else None,
        released_by=names[release.by_id] if release else "",
    )


def _workings(sheet: HeadSheet) -> tuple[WorkingBlock, ...]:
    """Kind after kind; positions whose working is the same line for line share one block."""
    blocks = []
    for kind, title in _WORKINGS:
        groups: dict[tuple[tuple[Step, ...], str], list[tuple[str, Accepted]]] = defaultdict(list)
        for rows in sheet.rows.ports:
            accepted = _accepted(sheet, rows, kind)
            if accepted is not None and accepted.working:
                gone = accepted.no_longer.because if accepted.no_longer else ""
                groups[accepted.working, gone].append((rows.label, accepted))
        for (steps, gone), found in groups.items():
            result = found[0][1].result
            blocks.append(
                WorkingBlock(
                    kind=kind,
                    title=title,
                    labels=tuple(label for label, _ in found),
                    calculation=f"{result.calculation} {result.version}",
                    steps=steps,
                    results=_hashes(accepted for _, accepted in found),
                    no_longer=gone,
                )
            )
    return tuple(blocks)


def _accepted(sheet: HeadSheet, rows: PortRows, kind: ResultKind) -> Accepted | None:
    if kind is ResultKind.SETTING:
        # The setting that it was cut with, not one that was made for it since.
        if rows.cut is None:
            return None
        return sheet.rows.accepted.of_setting(rows.cut.setting_id)
    if kind is ResultKind.GUIDE_GRIP:
        return sheet.rows.accepted.of_port(rows.port.id, kind)
    return sheet.rows.accepted.of_pass(rows.port_pass.id if rows.port_pass else None, kind)


def _hashes(accepted: Iterable[Accepted]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.result.sha256 for one in accepted))


def _signatures(
    session: Session, job: Job, head: Head, names: Mapping[int, str]
) -> tuple[SignatureLine, ...]:
    rows: Sequence[Signature] = session.exec(
        select(Signature)
        .where(
            Signature.job_id == job.id,
            or_(col(Signature.head_id).is_(None), col(Signature.head_id) == head.id),
        )
        .order_by(col(Signature.id))
    ).all()
    return tuple(SignatureLine(row.what, row.words, names[row.by_id], row.at) for row in rows)

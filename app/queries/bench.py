"""The bench: what can be done now on every open head, and what stands in the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.models.crib import Instrument
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.setting import ClampUp, Setting
from app.queries.counter import MOST_OPEN
from app.queries.crib import InstrumentLine, in_use, instrument_lines
from app.queries.jobs import who_of
from app.queries.settings import LEFT, state_of
from app.workflow.kinds import SettingState
from app.workflow.next_step import COUNTER_PAGES
from app.workflow.settings import PortName, SettingStanding
from app.workflow.stages import Step, order_at_bench, progress, stages_of
from app.workflow.status import head_name
from app.workflow.words import Page, Stage, Waiting, Work
from app.worksheets.cutting import clamp_ups_now, port_name, setting_name, standing_now
from app.worksheets.facts import HeadSheet, load_sheets, shop_zone
from app.worksheets.head_rows import PortRows
from app.worksheets.settings import NamedPort, SettingRows, load_settings


@dataclass(frozen=True)
class BenchStep:
    """What is next at some positions of a head, told once for all that want the same."""

    words: str
    page: Page
    ports: tuple[Port, ...]
    stage: Stage
    setting_id: int | None = None  # the setting page is where it goes on
    clamp_first: bool = False
    is_hold: bool = False

    @property
    def labels(self) -> tuple[str, ...]:
        """``3E``."""
        return tuple(port.label for port in self.ports)


@dataclass(frozen=True)
class BenchHead:
    """One head of an open job."""

    job: Job
    who: str
    name: str
    sheet: HeadSheet
    steps: tuple[BenchStep, ...]
    waits: tuple[str, ...]  # what it waits for, when nothing can be done
    clamp_up: ClampUp | None
    days_late: int

    @property
    def head(self) -> Head:
        """Its row."""
        return self.sheet.head

    @property
    def waits_for(self) -> str:
        """``waiting for parts: exhaust rings``, in the counter's words; empty when it does not."""
        if self.job.waiting is None:
            return ""
        what = f": {self.job.waiting_for}" if self.job.waiting_for else ""
        return f"{self.job.waiting.screen}{what}"

    @property
    def is_held_up(self) -> bool:
        """It waits for somebody's answer, or is away: parts alone stop only their positions."""
        return self.job.waiting in (Waiting.CUSTOMER, Waiting.WELDER)

    @property
    def progress(self) -> str:
        """``1 of 2 seat rings in, counterbores being cut``."""
        return progress(self.sheet.facts)


@dataclass(frozen=True)
class SetCutter:
    """A cutter that is set, or is to be set, for positions that are not bored yet."""

    rows: SettingRows
    name: str
    number: str
    left: tuple[PortName, ...]
    is_live: bool
    standing: SettingStanding | None


@dataclass(frozen=True, slots=True)
class OpenedAndLeft:
    """A position that was opened to be cut, with nothing recorded since."""

    number: str
    name: str
    port_id: int
    at: datetime
    by: str
    is_own: bool


@dataclass(frozen=True)
class Bench:
    """The bench page."""

    heads: tuple[BenchHead, ...]  # with something to do at the bench; those that wait come last
    others: tuple[BenchHead, ...]  # the counter's turn, or waiting
    cutters: tuple[SetCutter, ...]
    opened: tuple[OpenedAndLeft, ...]
    instruments: tuple[InstrumentLine, ...]

    @property
    def holds(self) -> list[tuple[BenchHead, Port]]:
        """Positions on hold, with their heads."""
        return [
            (head, port)
            for head in self.heads
            for step in head.steps
            if step.is_hold
            for port in step.ports
        ]


def bench(session: Session, *, person_id: int, at: datetime, today: date) -> Bench:
    """Gather the page; the number of statements does not grow with jobs, heads or settings."""
    zone = shop_zone(session)
    jobs = session.exec(
        select(Job)
        .where(col(Job.ended_at).is_(None), col(Job.voided_at).is_(None))
        .order_by(col(Job.id).desc())
        .limit(MOST_OPEN)
    ).all()
    ids = [job.id for job in jobs]
    rows = session.exec(
        select(Head).where(col(Head.job_id).in_(ids)).order_by(col(Head.job_id), col(Head.nth))
    ).all()
    sheets = load_sheets(session, rows)
    clamped = clamp_ups_now(session, list(sheets))
    settings = load_settings(
        session,
        session.exec(
            select(Setting)
            .where(col(Setting.job_id).in_(ids), col(Setting.state) != SettingState.ENDED)
            .order_by(col(Setting.id))
        ).all(),
    )
    gathered = _Gathering(
        numbers={job.id: job.number for job in jobs},
        heads_of={job.id: sum(head.job_id == job.id for head in rows) for job in jobs},
        sheets=sheets,
        clamped=clamped,
        settings=settings,
        standing={
            each.setting.id: _standing(session, each, clamped, sheets, person_id, at, zone)
            for each in settings.values()
        },
    )
    whos = _whos(session, jobs)
    heads = [
        gathered.head(job, sheets[head.id], whos[job.id], today)
        for job in jobs
        for head in rows
        if head.job_id == job.id
    ]
    heads.sort(key=_first)
    lines = instrument_lines(session, in_use(session, Instrument), zone, today)
    return Bench(
        heads=tuple(head for head in heads if head.steps),
        others=tuple(head for head in heads if not head.steps),
        cutters=gathered.cutters(),
        opened=_opened(session, gathered, person_id),
        instruments=tuple(line for line in lines if line.wants_a_look),
    )


@dataclass(frozen=True)
class _Gathering:
    numbers: Mapping[int, str]
    heads_of: Mapping[int, int]
    sheets: Mapping[int, HeadSheet]
    clamped: Mapping[int, ClampUp]
    settings: Mapping[int, SettingRows]
    standing: Mapping[int, SettingStanding | None]

    def head(self, job: Job, sheet: HeadSheet, who: str, today: date) -> BenchHead:
        steps, waits = self._steps(sheet)
        late = (today - job.promised_on).days if job.promised_on else 0
        return BenchHead(
            job=job,
            who=who,
            name=head_name(sheet.facts, self.heads_of[job.id]),
            sheet=sheet,
            steps=steps,
            waits=waits,
            clamp_up=self.clamped.get(sheet.head.id),
            days_late=max(0, late),
        )

    def _steps(self, sheet: HeadSheet) -> tuple[tuple[BenchStep, ...], tuple[str, ...]]:
        at = stages_of(sheet.facts)
        found: dict[tuple[str, Page, int | None], BenchStep] = {}
        waits: dict[str, None] = {}
        if not sheet.rows.ports:
            waits["describe the head"] = None
        for rows in sheet.rows.ports:
            step = at[rows.label].next
            if step is None:
                continue
            if step.page in COUNTER_PAGES or _is_wait(sheet, rows, step):
                waits[step.screen] = None
                continue
            made = self._step(sheet, rows, step, at[rows.label].stage)
            key = (made.words, made.page, made.setting_id)
            known = found.get(key)
            ports = (*(known.ports if known else ()), rows.port)
            found[key] = BenchStep(
                made.words,
                made.page,
                ports,
                made.stage,
                made.setting_id,
                made.clamp_first,
                made.is_hold,
            )
        steps = sorted(
            found.values(),
            key=lambda each: (not each.is_hold, order_at_bench(each.stage, each.page)),
        )
        return tuple(steps), tuple(waits)

    def _step(self, sheet: HeadSheet, rows: PortRows, step: Step, stage: Stage) -> BenchStep:
        """The stage's own step; where a setting or the clamp-up comes first, that."""
        hold = step.page is Page.HOLD
        # Told for all that want the same, so without the position's own label.
        words = step.screen.replace(f"{rows.label}: ", "", 1)
        plain = BenchStep(words, step.page, (rows.port,), stage, is_hold=hold)
        setting = self.settings.get(rows.setting.id) if rows.setting else None
        if setting is None and stage is Stage.SET and not hold:
            return BenchStep("plan the setting", Page.SETTING, (rows.port,), stage)
        if setting is None or hold or stage not in (Stage.SET, Stage.CUT):
            return plain
        name = setting_name(setting.setting)
        if setting.made_again_because:
            return BenchStep(f"make {name} again", Page.SETTING, (rows.port,), stage)
        if stage is Stage.SET:
            return BenchStep(
                f"set {setting.cutter.name} ({name})",
                Page.SETTING,
                (rows.port,),
                stage,
                setting.setting.id,
            )
        if sheet.facts.port(rows.label).opened_unrecorded or not _is_cutting(sheet, rows):
            return plain
        standing = self.standing[setting.setting.id]
        if setting.setting.state is not SettingState.LIVE or (standing and not standing.is_live):
            set_anew = setting.setting.state is not SettingState.LIVE
            verb, again = ("set", "") if set_anew else ("read", " again")
            return BenchStep(
                f"{verb} {setting.cutter.name}{again} ({name})",
                Page.SETTING,
                (rows.port,),
                stage,
                setting.setting.id,
            )
        if sheet.head.id not in self.clamped:
            return BenchStep("clamp up and cut", Page.CUT, (rows.port,), stage, clamp_first=True)
        return plain

    def cutters(self) -> tuple[SetCutter, ...]:
        found = []
        for setting in self.settings.values():
            left = tuple(
                port_name(named.head, named.label, self.heads_of[named.head.job_id])
                for named in setting.ports
                if self._is_left(setting, named)
            )
            if not left:
                continue
            standing = self.standing[setting.setting.id]
            found.append(
                SetCutter(
                    rows=setting,
                    name=setting_name(setting.setting),
                    number=self.numbers[setting.setting.job_id],
                    left=left,
                    is_live=setting.setting.state is SettingState.LIVE
                    and not setting.made_again_because
                    and (standing is None or standing.is_live),
                    standing=standing,
                )
            )
        return tuple(sorted(found, key=lambda each: not each.is_live))

    def _is_left(self, setting: SettingRows, named: NamedPort) -> bool:
        sheet = self.sheets[named.head.id]
        rows = next((one for one in sheet.rows.ports if one.port.id == named.port.id), None)
        if rows is None or rows.port_pass is None or rows.port_pass.id != named.port_pass.id:
            return False
        return state_of(setting, sheet, rows) in LEFT

    def opened(self) -> Iterable[tuple[HeadSheet, PortRows]]:
        for sheet in self.sheets.values():
            for rows in sheet.rows.ports:
                if sheet.facts.port(rows.label).opened_unrecorded:
                    yield sheet, rows


def _standing(
    session: Session,
    setting: SettingRows,
    clamped: Mapping[int, ClampUp],
    sheets: Mapping[int, HeadSheet],
    person_id: int,
    at: datetime,
    zone: ZoneInfo,
) -> SettingStanding | None:
    """For the head of its positions that stands on the machine, if one does."""
    on = next((clamped[n.head.id] for n in setting.ports if n.head.id in clamped), None)
    return standing_now(
        session,
        setting,
        person_id=person_id,
        clamp_up_id=on.id if on else None,
        at=at,
        zone=zone,
    )


def _is_cutting(sheet: HeadSheet, rows: PortRows) -> bool:
    """Metal is still to come off: the bore is not cut to size."""
    return rows.port.work is Work.RING and not sheet.facts.port(rows.label).cut.is_closed_by_value


def _is_wait(sheet: HeadSheet, rows: PortRows, step: Step) -> bool:
    """Its ring is on order and not here."""
    return step.page is Page.RING_SET and bool(sheet.facts.port(rows.label).wanted_ring)


def _first(head: BenchHead) -> tuple[bool, bool, bool, bool, int, date, int]:
    """What waits comes last; else what is on the machine, what is cut, late and early promises."""
    at_the_cutter = any(step.stage in (Stage.SET, Stage.CUT) for step in head.steps)
    return (
        head.is_held_up,
        head.job.waiting is not None,
        head.clamp_up is None or not at_the_cutter,
        not at_the_cutter,
        -head.days_late,
        head.job.promised_on or date.max,
        head.job.id,
    )


def _whos(session: Session, jobs: Sequence[Job]) -> dict[int, str]:
    customers = {
        customer.id: customer
        for customer in session.exec(
            select(Customer).where(
                col(Customer.id).in_({job.customer_id for job in jobs if job.customer_id})
            )
        )
    }
    return {job.id: who_of(job, customers.get(job.customer_id or 0)) for job in jobs}


def _opened(session: Session, gathered: _Gathering, person_id: int) -> tuple[OpenedAndLeft, ...]:
    found = [(s, r, r.opening) for s, r in gathered.opened() if r.opening is not None]
    names = dict(
        session.exec(
            select(Person.id, Person.name).where(
                col(Person.id).in_({opening.by_id for _, _, opening in found})
            )
        ).all()
    )
    return tuple(
        OpenedAndLeft(
            number=sheet.rows.job.job.number,
            name=port_name(sheet.head, rows.label, gathered.heads_of[sheet.head.job_id]).told,
            port_id=rows.port.id,
            at=opening.at,
            by=names[opening.by_id],
            is_own=opening.by_id == person_id,
        )
        for sheet, rows, opening in found
    )

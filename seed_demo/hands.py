"""The hands that build the demo shop: every act goes through a form and a service.

Each act is one write by one person at one moment, as a page would send it, so that the demo's
record is made of the same events as a shop's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, TypeVar

from sqlmodel import Session, col, select

from app.calc.units import Length
from app.db import Database
from app.forms.base import Form
from app.forms.cells import Cell
from app.forms.consents import ConsentForm
from app.forms.cuts import ClampUpForm
from app.forms.decks import DeckCutForm
from app.forms.flatness import FlatnessForm, gap_cell
from app.forms.guides import GuidesForm
from app.forms.heads import HeadForm
from app.forms.heats import CoolDownForm, HeatCloseForm, HeatForm
from app.forms.holds import WayForm
from app.forms.inspections import Decided, InspectionsForm
from app.forms.jobs import NewJobForm
from app.forms.not_done import NotDoneForm
from app.forms.positions import PositionsForm
from app.forms.readings import GridForm
from app.forms.received import ReceivedForm
from app.forms.ring_sets import RingSetForm
from app.forms.rings_in import RingInForm
from app.forms.seat_plans import SeatPlanForm
from app.forms.settings import AchievedForm, SettingForm
from app.forms.signatures import HandOverForm
from app.models.base import Row
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.ring import Ring, RingSet
from app.models.setting import Setting
from app.queries.bore_readings import bore_cells
from app.queries.head_decisions import newest_decisions
from app.services.clamp_ups import clamp_up
from app.services.consents import give_consent
from app.services.cuts import gauge, open_cut
from app.services.decks import record_deck_cut
from app.services.flatness import record_flatness
from app.services.guides import decide_guides
from app.services.hand_over import hand_over
from app.services.head_decisions import decide_head
from app.services.heads import describe_head
from app.services.heats import begin_heat, close_heat, prove_cold
from app.services.holds import take_way_out
from app.services.inspections import newest_inspections, record_inspections
from app.services.jobs import take_in_job
from app.services.new_settings import make_setting
from app.services.not_done import say_not_done
from app.services.positions import decide_positions
from app.services.readings import PLAIN, ReadWith, record_readings
from app.services.received import count_received
from app.services.ring_sets import open_set
from app.services.rings_in import press_ring
from app.services.seat_plans import plan_seats
from app.services.settings import correct_setting, record_achieved
from app.services.signatures import sign_positions
from app.services.verifications import prove_bore
from app.services.write import Write
from app.workflow.grids import (
    BELOW_DECK,
    FINISH,
    FIRST_RING,
    GUIDE_BORES,
    NEW_GUIDE,
    OLD_POCKETS,
    OTHER_RING,
    STEM_HEIGHTS,
    VALVE_STEM,
    Column,
)
from app.workflow.kinds import ReadingKind
from app.workflow.words import InspectionKind, InspectionWay, Kind, Outcome
from app.worksheets.cells import cells_of
from app.worksheets.facts import load_sheet
from app.worksheets.readings import Subject, load_one
from app.worksheets.seat_plans import width_windows
from app.worksheets.settings import load_setting
from app.worksheets.shop_rules import current_rules

F = TypeVar("F", bound=Form)
R = TypeVar("R", bound=Row)


class Fumbled(Exception):
    """An act of the demo that a page would have refused."""


def filled(form: F) -> F:
    """A form that parsed, or the reason why it did not."""
    if not form.ok:
        raise Fumbled(f"{type(form).__name__}: {form.errors}")
    return form


def leaving(to: str, **fields: str) -> HandOverForm:
    """A cleaned head on its way out."""
    return filled(HandOverForm({"clean": "ok", "collected_by": to, **fields}))


@dataclass
class Hands:
    """One person at work at one moment; `minutes` moves the moment on."""

    database: Database
    person: Person | None
    at: datetime
    step: timedelta = field(default=timedelta(minutes=1))
    # What rings and bores are read with while nothing else is said.
    rings_with: ReadWith = PLAIN
    bores_with: ReadWith = PLAIN

    @contextmanager
    def writing(self) -> Iterator[Write]:
        """One write at this moment; the next act comes a little later."""
        with self.database.write() as session:
            yield Write(session, by=self.person, at=self.at)
        self.at += self.step

    def by(self, person: Person) -> Hands:
        """The same moment in other hands."""
        self.person = person
        return self

    def later(self, **span: float) -> Hands:
        """Some time passes."""
        self.at += timedelta(**span)
        return self

    # Counter

    def take_in(self, **fields: str) -> Job:
        """A job over the counter."""
        raw = {"kind": "named", "unit": "in", "heads": "one", **fields}
        if raw["kind"] == "named" and "customer_id" not in raw:
            raw["customer_id"] = "new"
        form = filled(NewJobForm(raw, today=self.at.date()))
        with self.writing() as tx:
            return take_in_job(tx, form)

    def describe(self, head: Head, **fields: str) -> Head:
        """Casting, material, valve order."""
        raw = {"numbered_from": "timing end", "unit": "in", "name": head.name, **fields}
        form = filled(HeadForm(raw))
        with self.writing() as tx:
            return describe_head(tx, head.id, form)

    def decide(self, head: Head, works: Mapping[str, str], seats: Mapping[str, str]) -> Head:
        """What each position gets, and what sits in it now."""
        ports = self.ports(head)
        raw = {}
        for label, port in ports.items():
            raw[f"work_{port.id}"] = works.get(label, works.get("*", "leave"))
            raw[f"seat_{port.id}"] = seats.get(label, seats.get("*", "casting"))
        form = filled(PositionsForm(raw, ids={port.id: label for label, port in ports.items()}))
        with self.writing() as tx:
            return decide_positions(tx, head.id, form)

    def agree(self, job: Job, name: str, limit: str = "", how: str = "phone") -> None:
        """The customer's consent."""
        raw = {"name": name, "how": how, "limit": limit}
        form = filled(ConsentForm(raw, today=self.at.date()))
        with self.writing() as tx:
            give_consent(tx, job.number, form)

    def count(self, job: Job, way: str = "in", **parts: str) -> None:
        """Parts in, or out."""
        raw = {"way": way, **parts} if parts else {"way": way, "nothing": "yes"}
        form = filled(ReceivedForm(raw))
        with self.writing() as tx:
            count_received(tx, job.number, form)

    # Bench: measuring

    def read_along(
        self,
        head: Head,
        kind: ReadingKind,
        columns: tuple[Column, ...],
        typed: Mapping[str, Sequence[str]],
        read_with: ReadWith = PLAIN,
    ) -> None:
        """Readings along a head: label to one text for each column."""
        ports = self.ports(head)
        rows = [(Subject("port", ports[label].id), label, texts) for label, texts in typed.items()]
        self._read(head, kind, columns, rows, read_with)

    def stem_heights(self, head: Head, typed: Mapping[str, str]) -> None:
        """Stem height of every valve."""
        rows = {label: [text] for label, text in typed.items()}
        self.read_along(head, ReadingKind.STEM_HEIGHTS, STEM_HEIGHTS, rows)

    def below_deck(self, head: Head, typed: Mapping[str, str]) -> None:
        """How deep the valves lie below the deck, by label."""
        self.read_along(
            head, ReadingKind.STEM_HEIGHTS, BELOW_DECK, {k: [v] for k, v in typed.items()}
        )

    def guide_bores(self, head: Head, typed: Mapping[str, str]) -> None:
        """One bore of every guide."""
        rows = {label: [text] for label, text in typed.items()}
        self.read_along(head, ReadingKind.GUIDES, GUIDE_BORES, rows)

    def guides_at_three_heights(self, head: Head, typed: Mapping[str, Sequence[str]]) -> None:
        """Top, middle and bottom of every guide."""
        self.read_along(head, ReadingKind.GUIDES, GUIDE_BORES, typed)

    def valve_stems(self, head: Head, typed: Mapping[str, str]) -> None:
        """The stem of every valve where it runs."""
        rows = {label: [text] for label, text in typed.items()}
        self.read_along(head, ReadingKind.NEW_GUIDES, VALVE_STEM, rows)

    def new_guides(self, head: Head, typed: Mapping[str, Sequence[str]]) -> None:
        """Old height, bore in the head both ways, outside twice, height as pressed."""
        self.read_along(head, ReadingKind.NEW_GUIDES, NEW_GUIDE, typed)

    def pockets(self, head: Head, typed: Mapping[str, Sequence[str]]) -> None:
        """Old bore across and along, run-out, depth."""
        self.read_along(head, ReadingKind.POCKETS, OLD_POCKETS, typed)

    def finish(self, head: Head, typed: Mapping[str, Sequence[str]]) -> None:
        """Seat width, run-out, stem height after."""
        self.read_along(head, ReadingKind.FINISH, FINISH, typed)

    def plan_seats(self, head: Head, kind: Kind, **fields: str) -> None:
        """What the seats of one kind are to be."""
        with self.database.read() as session:
            job = session.get_one(Job, head.job_id)
            windows = width_windows(current_rules(session))
        form = filled(SeatPlanForm({"kind": kind, **fields}, unit=job.unit, windows=windows))
        with self.writing() as tx:
            plan_seats(tx, head.id, form)

    def rings(
        self,
        job: Job,
        ports: Iterable[Port],
        readings: Sequence[Sequence[str]],
        read_with: ReadWith | None = None,
        **fields: str,
    ) -> RingSet:
        """A set for positions, read: each ring's texts in the order of its columns."""
        raw = {"count": str(len(readings)), **fields}
        chosen = [str(port.id) for port in ports]
        form = filled(RingSetForm(raw, job.unit, chosen))
        with self.writing() as tx:
            ring_set = open_set(tx, job, job.unit, form)
        with self.database.read() as session:
            rings = session.exec(
                select(Ring).where(Ring.ring_set_id == ring_set.id).order_by(col(Ring.id))
            ).all()
        for n, (ring, texts) in enumerate(zip(rings, readings, strict=True)):
            columns = FIRST_RING if n == 0 else OTHER_RING
            rows = [(Subject("ring", ring.id), f"ring {ring.tag}", texts)]
            self._read(ring_set, ReadingKind.RING, columns, rows, read_with or self.rings_with)
        return ring_set

    def read_box(self, box: RingSet, readings: Sequence[Sequence[str]]) -> None:
        """The rings of a box on the shelf, as those of a set are read."""
        for n, (ring, texts) in enumerate(zip(self.rings_of(box), readings, strict=True)):
            columns = FIRST_RING if n == 0 else OTHER_RING
            rows = [(Subject("ring", ring.id), f"ring {ring.tag}", texts)]
            self._read(box, ReadingKind.RING, columns, rows, PLAIN)

    # Bench: setting and cutting

    def make_setting(self, job: Job, ports: Iterable[Port], **tools: int) -> Setting:
        """One setting for positions, with cutter, fixture and pilot by id."""
        raw = {name: str(value) for name, value in tools.items()}
        form = filled(SettingForm(raw, [str(port.id) for port in ports]))
        with self.writing() as tx:
            return make_setting(tx, job, form)

    def set_to(self, setting: Setting, typed: str | None = None) -> Setting:
        """The fixture's reading after locking; without a text, exactly what was asked."""
        with self.database.read() as session:
            rows = load_setting(session, setting.id)
        assert rows is not None
        assert rows.fixture is not None
        assert rows.setting.reading is not None
        text = typed or f"{rows.setting.reading.mm(5)} mm"
        form = filled(AchievedForm({"achieved": text}, rows.fixture.unit))
        with self.writing() as tx:
            return record_achieved(tx, setting.id, form)

    def correct(self, setting: Setting, measured: str, earlier_cuts: int, unit: str = "in") -> None:
        """Work the reading out again after a bore came out away from what was expected."""
        with self.writing() as tx:
            correct_setting(tx, setting.id, Length.of(measured, unit), earlier_cuts)

    def clamp(self, head: Head, machine: int, **fields: str) -> None:
        """One head on the machine."""
        raw = {
            "machine": str(machine),
            "datum": "chamber_roof",
            "touch_off": ".3120",
            "travel": "1.500",
            "level": "two axes, within one division",
            **fields,
        }
        form = filled(ClampUpForm(raw, self.job_of(head).unit))
        with self.writing() as tx:
            clamp_up(tx, head, form)

    def cut(
        self,
        port: Port,
        setting: Setting,
        texts: Sequence[str],
        read_with: ReadWith | None = None,
    ) -> None:
        """Touch the position, cut, and gauge it: across, along, depth."""
        with self.writing() as tx:
            open_cut(tx, port, setting.id, was_touched=True)
        self.gauge(port, texts, read_with)

    def gauge(self, port: Port, texts: Sequence[str], read_with: ReadWith | None = None) -> None:
        """Across, along, depth."""
        with self.database.read() as session:
            rows = self._pass_cells(session, port)
        raw = {cell.name: text for cell, text in zip(rows, texts, strict=True) if text}
        raw |= {cell.had_name: str(cell.current.id) for cell in rows if cell.current}
        form = filled(GridForm(raw, rows))
        with self.writing() as tx:
            gauge(tx, port, form.entries, read_with or self.bores_with)

    def prove(self, port: Port, edge_is_known: bool = False) -> None:
        """Is it bored?"""
        with self.writing() as tx:
            prove_bore(tx, port, edge_is_known=edge_is_known)

    def way_out(self, port: Port, way: str, reason: str, **fields: str) -> None:
        """Take a way out of a hold."""
        form = filled(WayForm({"way": way, "reason": reason, **fields}))
        with self.writing() as tx:
            take_way_out(tx, port, form)

    def press(self, port: Port, ring: Ring, **fields: str) -> None:
        """The ring goes in."""
        raw = {"ring": str(ring.id), "way": "press", "feeler": "does not enter", **fields}
        with self.database.read() as session:
            head = session.get_one(Head, port.head_id)
            unit = session.get_one(Job, head.job_id).unit
        form = filled(RingInForm(raw, unit))
        with self.writing() as tx:
            press_ring(tx, port, form)

    def heat(self, head: Head, ports: Iterable[Port], **fields: str) -> None:
        """A heat is begun for the rings of these positions."""
        own = {port.id for port in ports}
        raw = {"heated_by": "oven", "wanted_c": "120", **{f"port.{each}": "yes" for each in own}}
        form = filled(HeatForm(raw | fields, own))
        with self.writing() as tx:
            begin_heat(tx, head.id, form)

    def end_heat(self, head: Head, left_out: str = "") -> None:
        """The heat is over: the head cools."""
        with self.writing() as tx:
            close_heat(tx, head.id, filled(HeatCloseForm({"left_out": left_out})))

    def cool(self, head: Head, ports: Mapping[str, Port], **fields: str) -> None:
        """The head is cold, and every ring of it is felt for once more."""
        raw = {
            "minutes": "90",
            "head_c": "21",
            "how": "in still air",
            "feeler": "does not enter",
            **fields,
        }
        form = filled(CoolDownForm(raw, {port.id: label for label, port in ports.items()}))
        with self.writing() as tx:
            prove_cold(tx, head.id, form, {})

    def cut_deck(self, head: Head, stock: str, **fields: str) -> None:
        """Stock comes off the deck."""
        with self.database.read() as session:
            unit = session.get_one(Job, head.job_id).unit
        raw = {"stock": stock, "method": "milled", "order": "before", **fields}
        form = filled(DeckCutForm(raw, unit))
        with self.writing() as tx:
            record_deck_cut(tx, head.id, form)

    def sign(self, job: Job, ports: Iterable[Port]) -> None:
        """One signature for these positions."""
        with self.writing() as tx:
            sign_positions(tx, job, [port.id for port in ports])

    def hand_over(self, job: Job, to: str, **fields: str) -> None:
        """It leaves the shop."""
        with self.writing() as tx:
            hand_over(tx, tx.session.get_one(Job, job.id), leaving(to, **fields))

    def inspect(
        self,
        head: Head,
        kind: InspectionKind,
        outcome: Outcome,
        *,
        method: str = "",
        found: str = "",
        **figures: str,
    ) -> None:
        """One inspection of a head; what was said of it before is over."""
        with self.database.read() as session:
            before = newest_inspections(session, head.id).get(kind)
        raw = {
            f"outcome_{kind}": outcome.value,
            f"method_{kind}": method,
            f"found_{kind}": found,
            f"had_{kind}": str(before.id) if before else "",
        }
        form = filled(InspectionsForm(raw | figures, [kind]))
        with self.writing() as tx:
            record_inspections(tx, head.id, form)

    def decide_head(self, head: Head, way: InspectionWay, because: str = "") -> None:
        """How it goes on after inspection."""
        with self.database.read() as session:
            before = newest_decisions(session, [head.id]).get(head.id)
        with self.writing() as tx:
            decide_head(tx, head.id, Decided(way, because, before.id if before else None))

    def gaps(self, head: Head, typed: Mapping[str, str], **limits: str) -> None:
        """Gaps under a straight edge by line, and the engine maker's limits."""
        unit = self.job_of(head).unit
        cells = [gap_cell(head.id, place, unit, None) for place in typed]
        raw = {cell.name: typed[cell.column.place] for cell in cells} | limits
        form = filled(FlatnessForm(raw, cells, head_id=head.id, unit=unit))
        with self.writing() as tx:
            record_flatness(tx, head.id, form)

    def leave_guides(self, head: Head) -> None:
        """Every guide is left as it is."""
        ids = [port.id for port in self.ports(head).values()]
        form = filled(GuidesForm({"quick": "all_left"}, ids))
        with self.writing() as tx:
            decide_guides(tx, head.id, form)

    def service_guides(
        self, head: Head, outcomes: Mapping[str, str], what: str = "", *, read_before: str = ""
    ) -> None:
        """What becomes of the guides at these positions; the others stay as they were said."""
        ports = self.ports(head)
        raw = {f"guide_{ports[label].id}": said for label, said in outcomes.items()}
        raw |= {"what": what, "read_before": read_before}
        form = filled(GuidesForm(raw, [ports[label].id for label in outcomes]))
        with self.writing() as tx:
            decide_guides(tx, head.id, form)

    def not_done(self, head: Head, key: str, labels: Iterable[str], because: str) -> None:
        """An open point of the head or of some positions, closed by a reason."""
        ports = self.ports(head)
        chosen = [str(ports[label].id) for label in labels]
        form = filled(NotDoneForm({"because": because}, [key], chosen))
        with self.writing() as tx:
            say_not_done(tx, head.id, form)

    # What is there

    def heads(self, job: Job) -> list[Head]:
        """The job's heads in order."""
        with self.database.read() as session:
            found = session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth)))
            return list(found.all())

    def ports(self, head: Head) -> dict[str, Port]:
        """The head's positions by label, along the head."""
        with self.database.read() as session:
            found = session.exec(
                select(Port)
                .where(Port.head_id == head.id, col(Port.is_void).is_(False))
                .order_by(col(Port.place))
            )
            return {port.label: port for port in found}

    def rings_of(self, ring_set: RingSet) -> list[Ring]:
        """The set's rings in order."""
        with self.database.read() as session:
            found = session.exec(
                select(Ring).where(Ring.ring_set_id == ring_set.id).order_by(col(Ring.id))
            )
            return list(found.all())

    def job_of(self, head: Head) -> Job:
        """The job that a head belongs to."""
        with self.database.read() as session:
            return session.get_one(Job, head.job_id)

    def _read(
        self,
        about: Row,
        kind: ReadingKind,
        columns: tuple[Column, ...],
        rows: Sequence[tuple[Subject, str, Sequence[str]]],
        read_with: ReadWith,
    ) -> None:
        cells: list[Cell] = []
        raw: dict[str, str] = {}
        with self.database.read() as session:
            job_id: Any = getattr(about, "job_id", None)
            unit = session.get_one(Job, job_id).unit if job_id else about.unit  # type: ignore[attr-defined]
            for subject, name, texts in rows:
                own = cells_of(load_one(session, kind, subject), columns, about=name, unit=unit)
                cells += own
                raw |= {cell.name: text for cell, text in zip(own, texts, strict=False) if text}
                raw |= {cell.had_name: str(cell.current.id) for cell in own if cell.current}
        form = filled(GridForm(raw, cells))
        with self.writing() as tx:
            record_readings(tx, about, form.entries, read_with)

    def _pass_cells(self, session: Session, port: Port) -> tuple[Any, ...]:
        head = session.get_one(Head, port.head_id)
        rows = load_sheet(session, head).rows.port(port.id)
        asked, _ = bore_cells(session, rows, session.get_one(Job, head.job_id).unit, None)
        if not asked:
            raise Fumbled(f"{port.label} has no setting")
        return asked

"""A shop floor for tests: a crib, and one iron head of eight valves ready to be measured."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeAlias

from sqlmodel import Session, select

from app import migrate
from app.calc.units import Length
from app.db import Database
from app.models.crib import Cutter, Fixture, Machine, Pilot
from app.models.head import Head, Port
from app.models.job import Job
from app.models.ring import RingSet
from app.models.setting import Setting
from app.models.shop import Shop
from app.services.shop_rules import set_rule
from app.services.write import Write
from app.workflow.kinds import CutterKind, Unit
from app.workflow.words import FixtureMode, InspectionKind, Outcome, Stage
from seed_demo.hands import Hands
from tests.databases import opened
from tests.postgres import TEMPLATE, Cluster
from tests.services.cast import Cast, found_cast, new_cast

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
MAP = "EIIEEIIE"
INCH = Length.of


class Floor:
    """A shop with a crib, and one iron head of eight valves ready to be measured."""

    machine: Machine
    cutter: Cutter
    fixture: Fixture
    pilot: Pilot
    job: Job
    head: Head
    ports: dict[str, Port]

    def __init__(self, database: Database, cast: Cast, at: datetime) -> None:
        self.database, self.cast = database, cast
        self.hands = Hands(database, cast.machinist, at)

    def lay_out(self) -> None:
        """Everything from the shop's first row to the last guide bore, as people would do it."""
        self._open_shop()
        self._take_in()
        self._inspected()

    @classmethod
    def found(cls, database: Database, cast: Cast, at: datetime) -> Floor:
        """The same on a database that is a copy of one where it was laid out."""
        floor = cls(database, cast, at)
        with database.read() as session:
            floor.machine = session.exec(select(Machine)).one()
            floor.cutter = session.exec(select(Cutter)).one()
            floor.fixture = session.exec(select(Fixture)).one()
            floor.pilot = session.exec(select(Pilot)).one()
            floor.job = session.exec(select(Job)).one()
            floor.head = session.exec(select(Head)).one()
        floor.ports = floor.hands.ports(floor.head)
        return floor

    def _open_shop(self) -> None:
        with self.database.write() as session:
            if session.get(Shop, 1) is None:
                session.add(
                    Shop(id=1, name="Hollow Hill Heads", zone="UTC", currency="EUR", unit=Unit.INCH)
                )
            self.machine = Machine(name="Seat-and-guide machine", travel=INCH("4.5"))
            self.cutter = Cutter(
                name="Adjustable 2", kind=CutterKind.ADJUSTABLE, corner_radius=INCH(".012")
            )
            self.fixture = Fixture(
                name="Bench fixture",
                mode=FixtureMode.RADIUS,
                division=INCH(".0001"),
                unit=Unit.INCH,
            )
            self.pilot = Pilot(
                name="343",
                guide_diameter=INCH(".3432"),
                shank_diameter=INCH(".3432"),
                unit=Unit.INCH,
                measured_on=START.date(),
            )
            session.add_all([self.machine, self.cutter, self.fixture, self.pilot])

    def _take_in(self) -> None:
        hands = self.hands.by(self.cast.service_writer)
        self.job = hands.take_in(customer="Fern Hollow Farm", wanted="burnt exhaust seats")
        self.head = hands.heads(self.job)[0]
        hands.describe(self.head, casting="FH 221", material="grey_iron", layout=MAP, valves="2")
        hands.decide(
            self.head,
            {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"},
            {"*": "casting"},
        )
        self.head = hands.heads(self.job)[0]
        hands.agree(self.job, "Fern", limit="640")
        hands.by(self.cast.machinist)
        self.ports = hands.ports(self.head)

    def _inspected(self) -> None:
        """Crack test, guides, stem heights; wall and web not known."""
        self.hands.inspect(
            self.head, InspectionKind.CRACK, Outcome.OK, method="dry magnetic particle"
        )
        self.hands.leave_guides(self.head)
        for key in ("wall", "web"):
            self.hands.not_done(self.head, key, ("2E", "3E"), "no thickness gauge here")
        self.hands.stem_heights(self.head, dict.fromkeys(self.ports, "1.850"))
        self.hands.guide_bores(self.head, dict.fromkeys(self.ports, ".3436"))

    def read_rings(self, ods: tuple[str, str] = ("1.6262", "1.6261")) -> RingSet:
        """Two rings of one part number, for 2E and 3E."""
        return self.hands.rings(
            self.job,
            [self.ports["2E"], self.ports["3E"]],
            [
                [ods[0], ods[0], ods[1], ods[1], ".2500", ".2502", ".2501", "1.376"],
                [ods[0], ods[1], ".2501"],
            ],
            label_od="1.625",
        )

    def set_up(self) -> Setting:
        """One setting for both, set and read back."""
        setting = self.hands.make_setting(
            self.job,
            [self.ports["2E"], self.ports["3E"]],
            cutter=self.cutter.id,
            fixture=self.fixture.id,
            pilot=self.pilot.id,
        )
        return self.hands.set_to(setting)

    def bore(self, label: str, setting: Setting, size: str) -> None:
        """Cut and gauge one position."""
        self.hands.cut(self.ports[label], setting, [size, size, ".2501"])

    def clamp(self, **fields: str) -> None:
        """The head is on the machine."""
        self.hands.clamp(self.head, self.machine.id, **fields)

    def set_from_rings(self) -> Setting:
        """Rings read, one setting for 2E and 3E set and read back."""
        self.read_rings()
        return self.set_up()

    def set_and_clamped(self) -> Setting:
        """The same with the head clamped up."""
        setting = self.set_from_rings()
        self.clamp()
        return setting

    def first_pass(self, setting: Setting, measured: str = "1.6205") -> Setting:
        """The first pass at 2E, and the setting corrected by it goes to size."""
        self.bore("2E", setting, measured)
        self.hands.correct(setting, measured, 0)
        return self.hands.set_to(setting)

    def corrected(self) -> Setting:
        """Everything up to the corrected setting."""
        return self.first_pass(self.set_and_clamped())

    def first_bored(self) -> Setting:
        """2E is bored to size and proved; 3E is to come, with the same live setting."""
        setting = self.corrected()
        self.bore("2E", setting, "1.6222")
        self.hands.prove(self.ports["2E"])
        return setting

    def bored(self, last: str = "1.6222") -> Setting:
        """2E is bored to size and 3E to `last`; both are judged."""
        setting = self.first_bored()
        self.bore("3E", setting, last)
        self.hands.prove(self.ports["3E"])
        return setting

    def ringed(self) -> None:
        """Their rings are in."""
        self.bored()
        for label, ring in zip(("2E", "3E"), self.hands.rings_of(self.ring_set), strict=True):
            self.hands.press(self.ports[label], ring)

    def trust_any_tip(self) -> None:
        """The shop makes no first pass."""
        with self.hands.writing() as tx:
            set_rule(tx, "first_pass_under", "0 in", "for this test")

    @property
    def setting(self) -> Setting:
        """The one setting of its exhausts, as it stands."""
        with self.database.read() as session:
            return session.exec(select(Setting)).one()

    @property
    def ring_set(self) -> RingSet:
        """The one set of its rings."""
        with self.database.read() as session:
            return session.exec(select(RingSet)).one()

    def write(self, session: Session, **form: str) -> Write:
        """A write by the machinist with a form's own key."""
        return Write(session, by=self.cast.machinist, at=self.hands.at, **form)  # type: ignore[arg-type]

    def stage(self, label: str) -> Stage:
        """The stored stage of a position."""
        with self.database.read() as session:
            return session.get_one(Port, self.ports[label].id).stage


# What was done on a floor before a test begins: `Floor.bored`, or a function of a test file's own.
Done: TypeAlias = Callable[[Floor], object]


def nothing(floor: Floor) -> None:
    """Ready to be measured."""


class Floors:
    """Floors at a stage, each built once on each kind of database: a test's own is a copy."""

    def __init__(self, bare: Path, folder: Path, postgres: Callable[[], Cluster]) -> None:
        self.bare, self.folder, self.postgres = bare, folder, postgres
        self._files: dict[Done, Path] = {}
        self._names: dict[Done, str] = {}
        self._ends: dict[Done, datetime] = {}

    def sqlite(self, done: Done) -> Path:
        """A SQLite file of it, in one piece."""
        if done not in self._files:
            start = self.bare if done is nothing else self.sqlite(nothing)
            name = f"floor {len(self._files)}"
            file = self.folder / f"{name}.sqlite3"
            shutil.copyfile(start, file)
            self._build(f"sqlite:///{file}", done)
            self._files[done] = migrate.copy_sqlite(file, self.folder, name)
        return self._files[done]

    def postgresql(self, done: Done) -> str:
        """The name of a PostgreSQL database of it; nobody may be connected when it is copied."""
        if done not in self._names:
            cluster = self.postgres()
            name = cluster.new_database(TEMPLATE if done is nothing else self.postgresql(nothing))
            self._build(cluster.url(name), done)
            self._names[done] = name
        return self._names[done]

    def floor(self, done: Done, database: Database) -> Floor:
        """The floor on a copy."""
        return Floor.found(database, found_cast(database), self._ends[done])

    def _build(self, url: str, done: Done) -> None:
        with opened(url) as database:
            if done is nothing:
                floor = Floor(database, new_cast(database), START)
                floor.lay_out()
            else:
                floor = self.floor(nothing, database)
                done(floor)
            self._ends[done] = floor.hands.at

"""A shop floor for tests: a crib, and one iron head of eight valves ready to be measured."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlmodel import Session

from app.calc.units import Length
from app.db import Database
from app.models.crib import Cutter, Fixture, Machine, Pilot
from app.models.head import Port
from app.models.ring import RingSet
from app.models.setting import Setting
from app.models.shop import Shop
from app.services.write import Write
from app.workflow.kinds import CutterKind, Unit
from app.workflow.words import FixtureMode, InspectionKind, Outcome, Stage
from seed_demo.hands import Hands
from tests.services.cast import Cast

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
MAP = "EIIEEIIE"
INCH = Length.of


class Floor:
    """A shop with a crib, and one iron head of eight valves ready to be measured."""

    def __init__(self, database: Database, cast: Cast, start: datetime = START) -> None:
        self.database, self.cast = database, cast
        with database.write() as session:
            if session.get(Shop, 1) is None:
                session.add(
                    Shop(id=1, name="Hollow Hill Heads", zone="UTC", currency="EUR", unit=Unit.INCH)
                )
            machine = Machine(name="Seat-and-guide machine", travel=INCH("4.5"))
            cutter = Cutter(
                name="Adjustable 2", kind=CutterKind.ADJUSTABLE, corner_radius=INCH(".012")
            )
            fixture = Fixture(
                name="Bench fixture",
                mode=FixtureMode.RADIUS,
                division=INCH(".0001"),
                unit=Unit.INCH,
            )
            pilot = Pilot(
                name="343",
                guide_diameter=INCH(".3432"),
                shank_diameter=INCH(".3432"),
                unit=Unit.INCH,
                measured_on=START.date(),
            )
            session.add_all([machine, cutter, fixture, pilot])
        self.machine, self.cutter, self.fixture, self.pilot = machine, cutter, fixture, pilot
        self.hands = Hands(database, cast.service_writer, start)
        self.job = self.hands.take_in(customer="Fern Hollow Farm", wanted="burnt exhaust seats")
        self.head = self.hands.heads(self.job)[0]
        self.hands.describe(
            self.head, casting="FH 221", material="grey_iron", layout=MAP, valves="2"
        )
        self.hands.decide(
            self.head,
            {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"},
            {"*": "casting"},
        )
        self.head = self.hands.heads(self.job)[0]
        self.hands.agree(self.job, "Fern", limit="640")
        self.hands.by(cast.machinist)
        self.ports = self.hands.ports(self.head)
        self._inspected()

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

    def write(self, session: Session, **form: str) -> Write:
        """A write by the machinist with a form's own key."""
        return Write(session, by=self.cast.machinist, at=self.hands.at, **form)  # type: ignore[arg-type]

    def stage(self, label: str) -> Stage:
        """The stored stage of a position."""
        with self.database.read() as session:
            return session.get_one(Port, self.ports[label].id).stage

"""Bench work of the demo in larger moves: a head made ready, its bores cut, rings in, signed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle

from app.calc.units import Length
from app.models.head import Head, Port
from app.models.job import Job
from app.models.ring import RingSet
from app.models.setting import Setting
from app.workflow.kinds import Unit
from app.workflow.words import InspectionKind, Material, Outcome
from app.worksheets.overcut import overcut_to_use
from app.worksheets.settings import load_setting
from app.worksheets.shop_rules import current_rules
from seed_demo.hands import Hands
from seed_demo.shop import Shop

# How far bores of the demo come out beside what the tip usually cuts, one after another: believable
# scatter of a tenth or two, so that the overcut means something.
SCATTER = (0, 1, -1, 0, 1, 0, -1, 1, 0, 0, -1, 0)
# A tip that picks up metal as it goes: after a first pass and two bores each comes out larger.
PICKING_UP = (0, 1, 0, 0, 1, 2, 3, 4, 5)


@dataclass(frozen=True)
class Ware:
    """What a kind of head is worked with, and its usual figures in its own unit."""

    unit: Unit
    cutter_id: int
    fixture_id: int
    pilot_id: int
    material: Material
    overcut: Length
    division: Length
    guide: str
    stem: str
    height: str
    width: str
    run_out: str
    stem_after: str
    datum: Mapping[str, str]


def iron(shop: Shop) -> Ware:
    """Iron heads are worked in inches."""
    return Ware(
        unit=Unit.INCH,
        cutter_id=shop.iron_cutter.id,
        fixture_id=shop.fixture.id,
        pilot_id=shop.pilot.id,
        material=Material.GREY_IRON,
        overcut=Length.of(".0003"),
        division=Length.of(".0001"),
        guide=".3436",
        stem="1.850",
        height=".2501",
        width=".062",
        run_out=".0010",
        stem_after="1.853",
        datum={"touch_off": ".3120", "travel": "1.500"},
    )


def aluminium(shop: Shop) -> Ware:
    """The aluminium head is worked in millimetres."""
    return Ware(
        unit=Unit.MM,
        cutter_id=shop.aluminium_cutter.id,
        fixture_id=shop.metric_fixture.id,
        pilot_id=shop.metric_pilot.id,
        material=Material.ALUMINIUM,
        overcut=Length.of("0.010", "mm"),
        division=Length.of("0.002", "mm"),
        guide="6.990",
        stem="47.20",
        height="6.35",
        width="1.50",
        run_out="0.02",
        stem_after="47.28",
        datum={"touch_off": "8.00", "travel": "40"},
    )


class Bench:
    """The machinist's day at one kind of head."""

    def __init__(
        self, hands: Hands, shop: Shop, ware: Ware, scatter: Sequence[int] = SCATTER
    ) -> None:
        self.hands, self.shop, self.ware = hands, shop, ware
        self._scatter: Iterator[int] = cycle(scatter)

    def inspect(self, head: Head) -> None:
        """Crack test, flatness, hardness where it is asked, guides left, stem heights."""
        method = (
            "dye penetrant" if self.ware.material is Material.ALUMINIUM else "dry magnetic particle"
        )
        self.hands.inspect(head, InspectionKind.CRACK, Outcome.OK, method=method, found="no cracks")
        self.hands.inspect(
            head, InspectionKind.FLATNESS, Outcome.OK, method="straight edge", found="within .002"
        )
        if self.ware.material is Material.ALUMINIUM:
            self.hands.inspect(
                head,
                InspectionKind.HARDNESS,
                Outcome.OK,
                method="portable tester, three spots",
                found="98, 101, 99 HB",
            )
        self.hands.leave_guides(head)
        labels = list(self.hands.ports(head))
        self.hands.guide_bores(head, dict.fromkeys(labels, self.ware.guide))
        self.hands.stem_heights(head, dict.fromkeys(labels, self.ware.stem))

    def walls_not_known(self, head: Head, labels: Sequence[str]) -> None:
        """Wall and web, closed by a reason."""
        for key in ("wall", "web"):
            self.hands.not_done(head, key, labels, "no thickness gauge in the shop")

    def set_up(self, job: Job, ports: Sequence[Port]) -> Setting:
        """One setting, set and read back."""
        setting = self.hands.make_setting(
            job,
            ports,
            cutter=self.ware.cutter_id,
            fixture=self.ware.fixture_id,
            pilot=self.ware.pilot_id,
        )
        return self.hands.set_to(setting)

    def clamp(self, head: Head) -> None:
        """The head on the machine."""
        self.hands.clamp(head, self.shop.machine.id, **self.ware.datum)

    def bore(self, setting: Setting, ports: Sequence[Port]) -> None:
        """Cut, gauge and prove these positions; a first pass goes under size and is corrected."""
        for port in ports:
            size = self._cut(port, setting)
            if self._is_first_pass(setting):
                self.hands.correct(
                    setting, size, self._known_cuts(setting), unit=self.ware.unit.value
                )
                self.hands.set_to(setting)
                self._cut(port, setting)
            self.hands.prove(port)

    def press(self, ports: Sequence[Port], ring_set: RingSet, first: int = 0) -> None:
        """Rings in, one after another; each read again before it goes in."""
        rings = self.hands.rings_of(ring_set)[first:]
        for port, ring in zip(ports, rings, strict=False):
            self.hands.press(port, ring)

    def press_hot(self, head: Head, ports: Sequence[Port], ring_set: RingSet) -> None:
        """All rings of a head in one heat; from its end the head cools."""
        self.hands.heat(head, ports)
        self.hands.later(minutes=50)
        for port, ring in zip(ports, self.hands.rings_of(ring_set), strict=True):
            self.hands.press(
                port,
                ring,
                way="both",
                chill="freezer",
                ring_c="-18",
                head_c="118",
                heated_by="oven",
            )
        self.hands.end_heat(head)

    def cool(self, head: Head, ports: Sequence[Port]) -> None:
        """Cold again, and every ring felt for once more."""
        self.hands.later(minutes=95)
        self.hands.cool(head, {port.label: port for port in ports})

    def finish(self, head: Head, labels: Sequence[str]) -> None:
        """Seat width, run-out, stem height after."""
        ware = self.ware
        self.hands.finish(
            head, {label: [ware.width, ware.run_out, ware.stem_after] for label in labels}
        )

    def test_pressure(self, head: Head) -> None:
        """After boring."""
        self.hands.inspect(
            head,
            InspectionKind.PRESSURE_AFTER,
            Outcome.OK,
            method="air, warm water, 10 minutes",
            found="no bubbles",
        )

    def _cut(self, port: Port, setting: Setting) -> str:
        size = self._text(self._bore(setting))
        self.hands.cut(port, setting, [size, size, self.ware.height])
        return size

    def _bore(self, setting: Setting) -> Length:
        with self.hands.database.read() as session:
            rows = load_setting(session, setting.id)
        assert rows is not None
        assert rows.adjustment is not None
        ideal = rows.adjustment.set_size + self.ware.overcut
        steps = round(ideal.nm / self.ware.division.nm) + next(self._scatter)
        return self.ware.division * steps

    def _text(self, size: Length) -> str:
        return size.inches(4) if self.ware.unit is Unit.INCH else size.mm(3)

    def _is_first_pass(self, setting: Setting) -> bool:
        with self.hands.database.read() as session:
            return session.get_one(Setting, setting.id).under_by.nm > 0

    def _known_cuts(self, setting: Setting) -> int:
        with self.hands.database.read() as session:
            return overcut_to_use(
                session, setting.cutter_id, self.ware.material, current_rules(session)
            ).count

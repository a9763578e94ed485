"""The jobs that a large shop is copied from, each built once through the services."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlmodel import select

from app.db import Database
from app.forms.crib import CutterForm
from app.models.crib import Cutter
from app.models.job import Job
from app.services.cutters import change_tip, create_cutter
from app.services.sheets import Draw
from app.workflow.kinds import SheetKind, Unit
from seed_demo.benchwork import iron
from seed_demo.hands import Hands, filled
from seed_demo.jobs import RING_ROWS, UNHURRIED, Story
from seed_demo.shop import open_demo

# Cutters of the work that is over; those of the pattern jobs keep their own tips.
IRON_CUTTERS, ALUMINIUM_CUTTERS = ("Cutter 3", "Cutter 4", "Cutter 5"), ("Cutter 6", "Cutter 7")
VOLUMES = ("43.2", "43.4", "43.1", "43.3")
WEEKS_BACK = 8
BIG_LAYOUT = "E" * 16 + "/" + "I" * 16


def build_patterns(database: Database, draw: Draw, at: datetime) -> None:
    """A crib, five finished jobs and some open ones, the last a head of 32 positions."""
    since = at - timedelta(weeks=WEEKS_BACK)
    hands = Hands(database, None, since)
    shop = open_demo(hands, since)
    for name in IRON_CUTTERS + ALUMINIUM_CUTTERS:
        raw = {"name": name, "kind": "adjustable", "corner_radius": ".012"}
        with hands.writing() as tx:
            cutter = create_cutter(tx, filled(CutterForm(raw, unit=Unit.INCH)))
        with hands.writing() as tx:
            change_tip(tx, cutter.id, "new carbide tip")
    story = Patterns(hands, shop, at, draw)
    story.finished_iron(44, "Fern Hollow Farm", "555-0101", ("1E", "2E", "3E", "4E"), "FH-221")
    story.finished_iron(40, "Brook Lane Garage", "555-0112", ("2E", "3E"), "BL-118", VOLUMES)
    story.finished_aluminium(36)
    story.finished_after_a_hold(30)
    story.finished_iron(25, "Ash Quarry", "555-0137", ("1E", "4E"), "AQ-903", VOLUMES)
    story.rings_in()
    story.pair_of_heads()
    story.on_hold()
    story.waiting_for_parts()
    story.just_taken_in()
    story.thirty_two()


class Patterns(Story):
    """The demo's stories, and what only a large shop asks for."""

    def finished_after_a_hold(self, days: float) -> None:
        """3E came out large and was kept as a deviation."""
        labels = ("2E", "3E")
        job, head, ports = self._iron_head(days, "Juniper Mill", "555-0202", labels, "JM-54")
        bench, chosen = self.bench(iron(self.shop)), [ports[label] for label in labels]
        quick, self.hands.step = self.hands.step, UNHURRIED
        ring_set = self.hands.rings(
            job,
            chosen,
            RING_ROWS[:2],
            label_od="1.625",
            name="exhaust",
            supplier="Quarry Rings",
            lot="L004",
        )
        setting = bench.set_up(job, chosen)
        bench.clamp(head)
        bench.bore(setting, chosen[:1])
        self.hands.cut(chosen[1], setting, ["1.6232", "1.6233", ".2501"])
        self.hands.prove(chosen[1])
        self.hands.way_out(
            chosen[1],
            "deviation",
            "old casting, ring is staked as well",
            value=".0029 in",
            limit=".0030 in",
            decided_by="the owner",
            customer_told="yes",
        )
        bench.press(chosen, ring_set)
        every = self.hands.ports(head)
        bench.finish(head, list(every))
        bench.test_pressure(head)
        self.hands.sign(job, list(every.values()))
        self.hands.step = quick
        self.hands.by(self.shop.wilma).count(job, way="out", pieces_0="8", pieces_1="8")
        self.hands.later(hours=20).hand_over(job, "Juniper Mill")
        self._issue(job, head, SheetKind.RECORD, SheetKind.CUSTOMER)

    def thirty_two(self) -> None:
        """A head of 32 positions, sixteen of them for rings, measured."""
        self.at(2, 9).by(self.shop.wilma)
        job = self.hands.take_in(
            customer="Long Reach Engines", phone="555-0260", wanted="all seats"
        )
        head = self.hands.heads(job)[0]
        self.hands.describe(
            head, casting="LR-32", material="grey_iron", layout=BIG_LAYOUT, valves="4"
        )
        self.hands.agree(job, "Long Reach Engines", limit="4000")
        labels = [label for label, port in self.hands.ports(head).items() if port.kind == "E"]
        works = dict.fromkeys(labels, "ring")
        self.hands.decide(head, {**works, "*": "seat_only"}, {"*": "casting"})
        bench = self.bench(iron(self.shop))
        bench.inspect(head)
        bench.walls_not_known(head, labels)
        ports = [self.hands.ports(head)[label] for label in labels]
        self.hands.rings(
            job, ports, [RING_ROWS[0]] + [RING_ROWS[1]] * 15, label_od="1.625", name="exhaust"
        )


def cutters_of(database: Database) -> tuple[list[int], list[int]]:
    """Ids of the cutters for iron and for aluminium, beside those of the pattern jobs."""
    with database.read() as session:
        ids = dict(session.exec(select(Cutter.name, Cutter.id)).all())
    return [ids[name] for name in IRON_CUTTERS], [ids[name] for name in ALUMINIUM_CUTTERS]


def job_ids(database: Database, *, finished: bool) -> list[int]:
    """Pattern jobs: those that are handed over, or those under way."""
    with database.read() as session:
        jobs = session.exec(select(Job).order_by(Job.id)).all()  # type: ignore[arg-type]
    return [job.id for job in jobs if (job.ended_at is not None) is finished]

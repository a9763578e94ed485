"""The demo's jobs, each at another stage; every name, number and figure is invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from sqlmodel import col, select

from app.forms.comebacks import ComebackForm
from app.forms.ends import EndForm
from app.forms.notes import NoteForm
from app.forms.notices import NoticeForm
from app.forms.photos import PhotoForm
from app.forms.price_items import EstimateForm
from app.forms.price_lines import PriceLineForm
from app.forms.shelf import OrderForm, WantedRingForm
from app.forms.waiting import WaitingForm
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.pictures import keep_picture
from app.queries.materials import head_choice
from app.queries.price_items import proposed
from app.services.comebacks import record_comeback
from app.services.ends import end_job
from app.services.notes import write_note
from app.services.notices import give_notice
from app.services.photos import add_photos
from app.services.price_items import put_on_estimate
from app.services.price_lines import add_price_line
from app.services.sheets import Draw, issue_sheet
from app.services.waiting import start_waiting
from app.services.wanted_rings import order_ring, want_ring
from app.workflow.kinds import SheetKind
from app.workflow.words import InspectionKind, InspectionWay, Kind, Material, Outcome, counted
from app.worksheets.facts import load_sheets
from seed_demo.benchwork import PICKING_UP, SCATTER, Bench, Ware, aluminium, iron
from seed_demo.hands import Hands, filled
from seed_demo.pictures import head_from_above
from seed_demo.shop import Shop
from seed_demo.valvework import (
    chambers,
    contact_and_deck,
    deck_before,
    vacuum,
    valves_and_springs,
)

# What one entry takes at a bench where nobody hurries: the shop's own minutes come of it.
UNHURRIED = timedelta(minutes=4)
EIGHT = "EIIEEIIE"
FOUR_EACH = "EEEEEEEE/IIIIIIII"
V8_LEFT = "EIIEEIIE"
RING_ROWS = (
    ["1.6262", "1.6260", "1.6261", "1.6263", ".2500", ".2502", ".2501", "1.376"],
    ["1.6262", "1.6261", ".2501"],
    ["1.6260", "1.6262", ".2500"],
    ["1.6261", "1.6261", ".2501"],
)
# What the engine's manual asks of an exhaust seat on these rings.
SEAT_WANTED = {
    "seat_angle": "45",
    "top_angle": "30",
    "throat_angle": "60",
    "width_wanted": ".070",
    "outer_wanted": "1.520",
    "valve_head": "1.560",
    "valve_angle": "44",
    "source": "the engine's manual",
}
METRIC_FIRST = ["34.301", "34.300", "34.301", "34.302", "6.35", "6.35", "6.36", "28.90"]
METRIC_OTHER = ["34.301", "34.300", "6.35"]


@dataclass
class Story:
    """The shop's weeks: jobs are told from the oldest to today."""

    hands: Hands
    shop: Shop
    now: datetime
    draw: Draw
    photos: Path | None = None

    def at(self, days: float, hour: int = 8, minute: int = 10, *, ago: int = 90) -> Hands:
        """A working moment, so many days ago; at the latest so many minutes before now."""
        day = (self.now - timedelta(days=days)).replace(
            hour=hour, minute=minute, second=0, microsecond=0
        )
        # Never in the future, however early in the day the demo is built.
        self.hands.at = min(day, self.now - timedelta(minutes=ago))
        return self.hands

    def bench(self, ware: Ware, scatter: Sequence[int] = SCATTER) -> Bench:
        """Marek at the machine."""
        self.hands.by(self.shop.marek)
        return Bench(self.hands, self.shop, ware, scatter)

    def tell(self) -> None:
        """All of it."""
        self.finished_iron(44, "Fern Hollow Farm", "555-0101", ("1E", "2E", "3E", "4E"), "FH-221")
        left_behind = self.left_behind()
        self.finished_iron(30, "Brook Lane Garage", "555-0112", ("2E", "3E"), "BL-118")
        self.finished_aluminium(24)
        self.finished_iron(
            15, "Ash Quarry", "555-0137", ("1E", "4E"), "AQ-903", ("43.2", "43.4", "43.1", "43.3")
        )
        self.returned_unrepaired()
        self.handed_over_soon()
        self.nobody_came(left_behind)
        self.rings_in()
        self.cooling()
        self.pair_of_heads()
        self.on_hold()
        self.metric_half_bored()
        self.waiting_for_parts()
        self.guides_replaced()
        self.waiting_for_customer()
        self.doubtful_reading()
        self.comeback()
        self.overheated()
        self.asked_after_inspection()
        self.just_taken_in()
        self.handed_on()

    # Over

    def finished_iron(
        self,
        days: float,
        customer: str,
        phone: str,
        labels: Sequence[str],
        casting: str,
        volumes: Sequence[str] = (),
    ) -> None:
        """An iron head with seats in the casting, rings in, handed over."""
        job, head, ports = self._iron_head(days, customer, phone, labels, casting)
        bench = self.bench(iron(self.shop))
        chosen = [ports[label] for label in labels]
        self._to_the_end(bench, job, head, chosen, labels, volumes=volumes)
        self._issue(job, head, SheetKind.TAG, SheetKind.SET_UP)
        self.hands.later(hours=20).by(self.shop.wilma)
        self._photo(job, head, "hand_over", burnt=1, is_clean=True)
        self.hands.hand_over(job, customer)
        self._issue(job, head, SheetKind.RECORD, SheetKind.CUSTOMER)

    def finished_aluminium(self, days: float) -> None:
        """A metric head, all exhaust rings, handed over; its tip picked up metal on the way."""
        job, head, labels = self._metric_head(days, "Mill Street Motors", "555-0144", "MS-16V-2")
        bench = self.bench(aluminium(self.shop), PICKING_UP)
        ports = [self.hands.ports(head)[label] for label in labels]
        ring_set = self.hands.rings(
            job, ports, [METRIC_FIRST] + [METRIC_OTHER] * 7, label_od="34.30", name="exhaust"
        )
        setting = bench.set_up(job, ports)
        bench.clamp(head)
        bench.bore(setting, ports)
        bench.press_hot(head, ports, ring_set)
        bench.cool(head, ports)
        bench.finish(head, list(self.hands.ports(head)))
        bench.test_pressure(head)
        self.hands.sign(job, list(self.hands.ports(head).values()))
        self.hands.by(self.shop.wilma).count(job, way="out", pieces_0="15", pieces_1="16")
        self.hands.later(hours=26).hand_over(
            job, "Mill Street Motors", parts_because="one bent valve, shown and thrown away"
        )
        self._issue(job, head, SheetKind.RECORD)

    def returned_unrepaired(self) -> None:
        """Cracked between the seats; the customer takes it back."""
        self.at(11).by(self.shop.wilma)
        job = self.hands.take_in(
            customer="Old Weir Boats", phone="555-0158", wanted="loses water, please look"
        )
        form = filled(
            EndForm(
                {
                    "ended_as": "returned_unrepaired",
                    "note": "cracked from seat to plug hole in two cylinders",
                    "collected_by": "Old Weir Boats",
                }
            )
        )
        with self.hands.later(days=1).writing() as tx:
            end_job(tx, job.number, form)

    def left_behind(self) -> Job:
        """Looked at and not wanted any more; nobody came, whatever was told."""
        self.at(42).by(self.shop.wilma)
        job = self.hands.take_in(
            customer="Reed Bank Marine", phone="555-0121", wanted="seized valve", place="Loft"
        )
        self._notice(38, job, "ready", "phone", note="said they would think about it")
        self._notice(36, job, "last", "registered", until=30, note="letter 14")
        return job

    def nobody_came(self, job: Job) -> None:
        """The last notice has run out."""
        self.at(4, 9).by(self.shop.wilma)
        raw = {"ended_as": "abandoned", "note": "nobody came after the last notice"}
        with self.hands.writing() as tx:
            end_job(tx, job.number, filled(EndForm(raw)))

    # Under way

    def handed_over_soon(self) -> None:
        """All signed, one chamber out; parts are to be counted out and the head collected."""
        labels = ("2E",)
        job, head, ports = self._iron_head(6, "Sorrel Nursery", "555-0163", labels, "SN-77")
        bench = self.bench(iron(self.shop))
        volumes = ("43.2", "43.3", "44.8", "43.1")
        self._to_the_end(bench, job, head, [ports["2E"]], labels, count_out=False, volumes=volumes)
        self._notice(1, job, "ready", "message")

    def rings_in(self) -> None:
        """Two rings in; seats to finish, pressure test to come."""
        labels = ("2E", "3E")
        job, head, ports = self._iron_head(3, "Harrow Lane Farms", "555-0170", labels, "HL-4410-B")
        bench = self.bench(iron(self.shop))
        chosen = [ports[label] for label in labels]
        ring_set = self.hands.rings(
            job,
            chosen,
            RING_ROWS[:2],
            label_od="1.625",
            name="exhaust",
            material="chromium_steel",
        )
        setting = bench.set_up(job, chosen)
        bench.clamp(head)
        bench.bore(setting, chosen)
        bench.press(chosen, ring_set)
        self.hands.plan_seats(head, Kind.EXHAUST, **SEAT_WANTED)

    def cooling(self) -> None:
        """Bored from a deck that was then milled; both rings in in one heat, and the head cools."""
        labels = ("2E", "3E")
        job, head, ports = self._iron_head(1, "Quay Mill Pumps", "555-0174", labels, "QM-36")
        # Six thousandths are to come off the deck, so its bores go deeper by them.
        ware = iron(self.shop)
        datum = {**ware.datum, "datum": "deck", "deck_stock": ".006"}
        bench = self.bench(replace(ware, height=".2561", datum=datum))
        chosen = [ports[label] for label in labels]
        ring_set = self.hands.rings(
            job,
            chosen,
            RING_ROWS[:2],
            label_od="1.625",
            name="exhaust",
            material="chromium_steel",
        )
        setting = bench.set_up(job, chosen)
        bench.clamp(head)
        bench.bore(setting, chosen)
        self.hands.later(minutes=40)
        self.hands.cut_deck(head, ".004", still_to_come=".002", stamped="-.004")
        self.hands.later(minutes=20)
        bench.press_hot(head, chosen, ring_set)

    def metric_half_bored(self) -> None:
        """Sixteen valves in millimetres: four of eight exhausts bored today."""
        job, head, labels = self._metric_head(2, "Tolland Taxis", "555-0181", "TT-16V-9")
        bench = self.bench(aluminium(self.shop))
        ports = [self.hands.ports(head)[label] for label in labels]
        self.hands.rings(
            job,
            ports,
            [METRIC_FIRST] + [METRIC_OTHER] * 7,
            label_od="34.30",
            name="exhaust",
            material="sintered_copper",
        )
        self.at(0, 9).by(self.shop.marek)
        setting = bench.set_up(job, ports)
        bench.clamp(head)
        bench.bore(setting, ports[:4])

    def pair_of_heads(self) -> None:
        """A pair of V8 heads, sixteen rings, read and ready to be planned."""
        self.at(2, 10).by(self.shop.wilma)
        job = self.hands.take_in(
            customer="Cinder Path Racing",
            phone="555-0190",
            wanted="hard seats all round, both heads",
            heads="both",
            place="Rack 5",
            promise="other",
            promised_on=(self.now + timedelta(days=6)).date().isoformat(),
        )
        self.hands.agree(job, "Cinder Path Racing", limit="2400", how="signed")
        self._price(job, ("Sixteen seat rings, fitted", "1520"), ("Seats cut, both heads", "480"))
        bench = self.bench(iron(self.shop))
        for head in self.hands.heads(job):
            numbers = "1-3-5-7" if head.name == "left" else "2-4-6-8"
            self.hands.describe(
                head,
                casting=f"CP 8{head.nth}",
                material="grey_iron",
                layout=V8_LEFT,
                valves="2",
                cylinders=numbers,
            )
            self.hands.decide(head, {"*": "ring"}, {"*": "casting"})
            bench.inspect(head)
            bench.walls_not_known(head, list(self.hands.ports(head)))
        exhausts, intakes = self._by_kind(job)
        first, other = list(RING_ROWS[0]), list(RING_ROWS[1])
        self.hands.rings(
            job,
            exhausts,
            [first] + [other] * 7,
            label_od="1.625",
            name="exhaust",
            material="chromium_steel",
        )
        big_first = ["1.9412", "1.9411", "1.9412", "1.9413", ".2500", ".2501", ".2500", "1.650"]
        big_other = ["1.9412", "1.9411", ".2500"]
        self.hands.rings(
            job, intakes, [big_first] + [big_other] * 7, label_od="1.9400", name="intake"
        )

    def on_hold(self) -> None:
        """3E came out large: its ways out are to be decided."""
        labels = ("2E", "3E")
        job, head, ports = self._iron_head(1, "Juniper Threshing", "555-0201", labels, "JT-55")
        bench = self.bench(iron(self.shop))
        chosen = [ports[label] for label in labels]
        ring_set = self.hands.rings(
            job,
            chosen,
            RING_ROWS[:2],
            label_od="1.625",
            name="exhaust",
            material=self.shop.ring_material.key,
        )
        self.at(0, 8).by(self.shop.marek)
        setting = bench.set_up(job, chosen)
        bench.clamp(head)
        bench.bore(setting, chosen[:1])
        self.hands.cut(chosen[1], setting, ["1.6246", "1.6247", ".2501"])
        self.hands.prove(chosen[1])
        bench.press(chosen[:1], ring_set)

    def waiting_for_parts(self) -> None:
        """A missing ring, wanted and ordered."""
        self.at(4, 11).by(self.shop.wilma)
        job = self.hands.take_in(
            customer="Lantern Bay Ferries",
            phone="555-0214",
            wanted="dropped exhaust seat on three",
            place="Rack 1",
            promise="other",
            promised_on=(self.now + timedelta(days=3)).date().isoformat(),
        )
        head = self.hands.heads(job)[0]
        self.hands.describe(
            head, casting="LB 640", material="grey_iron", layout="IEIEIE", valves="2"
        )
        self.hands.decide(head, {"3E": "ring", "*": "seat_only"}, {"3E": "missing", "*": "ring"})
        self.hands.agree(job, "Lantern Bay", limit="700", how="message")
        bench = self.bench(iron(self.shop))
        bench.inspect(head)
        self.hands.pockets(head, {"3E": ["1.7480", "1.7483", ".0030", ".2480"]})
        port = self.hands.ports(head)["3E"]
        wanted = {
            "od_from": "1.760",
            "od_to": "1.764",
            "height": ".250",
            "inside": "1.480",
            "supplier": "Quarry Rings",
        }
        with self.hands.writing() as tx:
            ring = want_ring(tx, port.id, filled(WantedRingForm(wanted, unit=job.unit)))
        self.hands.by(self.shop.wilma)
        # After the promised day: somebody has to call before they do.
        expected = (self.now + timedelta(days=5)).date()
        with self.hands.writing() as tx:
            order = OrderForm({"expected_on": expected.isoformat(), "note": "by phone"})
            order_ring(tx, ring.id, filled(order))
        self._wait(job, "parts", "one ring for 3E", expected.isoformat())

    def guides_replaced(self) -> None:
        """Worn and bell-mouthed guides: two replaced, one sleeved, one knurled, the rest left."""
        self.at(3, 9).by(self.shop.wilma)
        job = self.hands.take_in(
            customer="Gorse Hill Plant",
            phone="555-0251",
            wanted="blue smoke, two burnt exhaust seats",
            place="Rack 2",
            promise="other",
            promised_on=(self.now + timedelta(days=4)).date().isoformat(),
        )
        head = self.hands.heads(job)[0]
        self.hands.describe(
            head, casting="GH 372", material="grey_iron", layout="IEIEIE", valves="2"
        )
        self.hands.decide(head, {"2E": "ring", "*": "seat_only"}, {"*": "casting"})
        self.hands.agree(job, "Gorse Hill", limit="900", how="phone")
        bench = self.bench(iron(self.shop))
        bench.inspect(head)
        hands = self.hands
        hands.valve_stems(
            head, {label: ".3412" if "E" in label else ".3418" for label in hands.ports(head)}
        )
        hands.guides_at_three_heights(
            head,
            {
                "1I": [".3446", ".3434", ".3438"],
                "1E": [".3471", ".3446", ".3462"],
                "2I": [".3464", ".3440", ".3450"],
                "2E": [".3478", ".3449", ".3466"],
                "3I": [".3436", ".3434", ".3435"],
                "3E": [".3461", ".3441", ".3455"],
            },
        )
        hands.service_guides(
            head, {"1E": "replaced", "2E": "replaced"}, "worn past the limit", read_before="again"
        )
        hands.service_guides(
            head, {"3E": "sleeved"}, "the old guide is sound outside", read_before="again"
        )
        hands.service_guides(
            head, {"2I": "knurled"}, "customer's wish, sold within the year", read_before="again"
        )
        hands.new_guides(
            head,
            {
                "1E": [".812", ".5004", ".5005", ".5019", ".5020", ".813"],
                "2E": [".814", ".5005", ".5005", ".5020", ".5020", ".830"],
                "3E": ["", ".3750", ".3751", ".3764", ".3765"],
            },
        )
        hands.guides_at_three_heights(
            head,
            {
                "1E": [".3435", ".3434", ".3435"],
                "2E": [".3436", ".3435", ".3435"],
                "2I": [".3438", ".3436", ".3437"],
            },
        )

    def waiting_for_customer(self) -> None:
        """The work grew past what was agreed."""
        job, _head, _ports = self._iron_head(
            5, "Pebble Court Cabs", "555-0226", ("1E",), "PC-31", is_priced=False
        )
        self._propose(job)
        self._price(job, ("Seven valves faced, one new", "240"))
        self._wait(job, "customer", "an answer on the larger sum")
        self._note(job, kind="call_out", text="Left a message: the sum is past what was agreed.")

    def doubtful_reading(self) -> None:
        """Ring 3 of a set reads two ways: nothing is worked from it yet."""
        labels = ("1E", "2E", "4E")
        job, _head, ports = self._iron_head(1, "Thistle Works", "555-0238", labels, "TW-12")
        bench = self.bench(iron(self.shop))
        bench.hands.rings(
            job,
            [ports[label] for label in labels],
            [RING_ROWS[0], RING_ROWS[1], ["1.6263", "1.6281", ".2501"]],
            label_od="1.625",
            label_height=".250",
            name="exhaust",
        )

    def comeback(self) -> None:
        """The first head is here again."""
        self.at(1, 9).by(self.shop.wilma)
        with self.hands.database.read() as session:
            first = session.get_one(Job, 1)
        job = self.hands.take_in(
            customer_id=str(first.customer_id),
            wanted="misses on cylinder two when hot",
            comeback_of=first.number,
            comeback_cause="burnt valve on 2E, cause not known yet",
            place="Rack 2",
        )
        raw = {
            "cause": "burnt valve on 2E, cause not known yet",
            "cost": "60",
            "told": "Fern Hollow, on the phone",
            "told_on": self.hands.at.date().isoformat(),
        }
        known = filled(ComebackForm(raw, today=self.hands.at.date()))
        with self.hands.writing() as tx:
            record_comeback(tx, job.number, known)
        head = self.hands.heads(job)[0]
        self.hands.describe(head, casting="FH-221", material="grey_iron", layout=EIGHT, valves="2")
        self.hands.decide(
            head,
            {"2E": "ring", "*": "undecided"},
            {"1E": "ring", "2E": "ring", "3E": "ring", "4E": "ring", "*": "casting"},
        )

    def overheated(self) -> None:
        """An overheated aluminium head, looked at point by point: it goes on."""
        self.at(1, 13).by(self.shop.wilma)
        job, head = self._overheated_head("Gannet Row Recovery", "555-0252", "GR-16V-4", FOUR_EACH)
        labels = [label for label, port in self.hands.ports(head).items() if port.kind == "E"]
        self.hands.decide(head, {**dict.fromkeys(labels, "ring"), "*": "seat_only"}, {"*": "ring"})
        self.hands.agree(job, "Gannet Row Recovery", limit="1150", how="phone")
        self.hands.later(hours=1).by(self.shop.marek)
        self._look_over(head, "seats burnt at 2 and 3, water marks around the plug holes")
        self.hands.inspect(
            head,
            InspectionKind.CRACK,
            Outcome.OK,
            method="dye penetrant",
            found="no cracks between the seats",
        )
        self.hands.inspect(
            head,
            InspectionKind.PRESSURE_BEFORE,
            Outcome.OK,
            method="air under warm water",
            found="no bubbles in 10 minutes",
        )
        self.hands.gaps(
            head,
            {
                **{"along-left": "0.06", "along-middle": "0.09", "along-right": "0.06"},
                **{"across-near": "0.02", "across-middle": "0.03", "across-far": "0.02"},
                **{"diagonal-left": "0.08", "diagonal-right": "0.07"},
            },
            limit_whole="0.05",
            limit_source="the engine's manual",
        )
        self.hands.inspect(
            head,
            InspectionKind.FLATNESS,
            Outcome.NOT_OK,
            method="straight edge and feelers",
            found="hollow in the middle, to be surfaced",
        )
        self._hardness(head, Outcome.OK, ("92", "95", "90"))
        every = self.hands.ports(head)
        self.hands.stem_heights(head, dict.fromkeys(every, "47.20"))
        self.hands.below_deck(head, {**dict.fromkeys(labels, "0.90"), labels[1]: "1.25"})
        self.hands.leave_guides(head)
        self.hands.guide_bores(head, dict.fromkeys(every, "6.990"))
        self.bench(aluminium(self.shop)).walls_not_known(head, labels)
        self.hands.decide_head(
            head, InspectionWay.GO_ON, "hard enough and tight; new exhaust seats, then the deck"
        )

    def asked_after_inspection(self) -> None:
        """Soft and cracked: the customer is to say how it goes on."""
        self.at(1, 14).by(self.shop.wilma)
        _job, head = self._overheated_head("Wharf End Plant Hire", "555-0260", "WE-310", EIGHT)
        self.hands.later(hours=1).by(self.shop.marek)
        self._look_over(head, "boiled dry, deck blue around the plug hole of 3")
        self.hands.inspect(
            head,
            InspectionKind.CRACK,
            Outcome.NOT_OK,
            method="dye penetrant",
            found="14 mm from the exhaust seat of 3 to the plug hole",
        )
        self._hardness(head, Outcome.NOT_OK, ("61", "63", "59"))
        self.hands.decide_head(
            head,
            InspectionWay.ASK_CUSTOMER,
            "soft and cracked at 3: look for another casting, or take it back?",
        )

    def just_taken_in(self) -> None:
        """Tagged this morning, nothing looked at yet."""
        self.at(0, 7, 50).by(self.shop.wilma)
        self.hands.take_in(
            customer="Marrow Hill Dairy",
            phone="555-0249",
            wanted="overheated on the road, wants to know if it can be saved",
            place="Rack 3",
        )
        self.hands.take_in(kind="shop_stock", wanted="core, make ready for the shelf", place="Loft")

    def handed_on(self) -> None:
        """What one person told the next, not taken yet."""
        self.at(0, 11, ago=40).by(self.shop.wilma)
        rings_in, half_bored = (self._of_customer(name) for name in ("Harrow", "Tolland"))
        self._note(
            rings_in,
            kind="hand_on",
            text="They want the head before noon on the promised day. Please press on with the "
            "seats; the pressure tester is booked for the afternoon.",
            **{"for": str(self.shop.marek.id)},
        )
        self.hands.by(self.shop.marek)
        head = self.hands.heads(half_bored)[0]
        self._note(
            half_bored,
            kind="hand_on",
            about=f"head-{head.id}",
            text="Half of the exhausts are bored with the cutter still set. Go on with the next "
            "one; read the setting again first if it was touched.",
        )

    # Parts of the stories

    def _iron_head(
        self,
        days: float,
        customer: str,
        phone: str,
        labels: Sequence[str],
        casting: str,
        *,
        is_priced: bool = True,
    ) -> tuple[Job, Head, dict[str, Port]]:
        """Taken in, described, agreed and inspected: an eight-valve head, seats in the casting."""
        self.at(days).by(self.shop.wilma)
        job = self.hands.take_in(
            customer=customer,
            phone=phone,
            wanted="burnt exhaust seats",
            place=f"Rack {1 + len(customer) % 4}",
            promise="other",
            promised_on=(self.hands.at + timedelta(days=5)).date().isoformat(),
        )
        head = self.hands.heads(job)[0]
        self.hands.describe(
            head,
            casting=casting,
            material="grey_iron",
            layout=EIGHT,
            valves="2",
            heat_history="none_known",
        )
        works = dict.fromkeys(labels, "ring")
        self.hands.decide(head, {**works, "*": "seat_only"}, {"*": "casting"})
        self.hands.agree(job, customer, limit="640")
        if is_priced:
            rings = f"{counted(len(labels), 'seat ring')}, fitted"
            self._price(job, (rings, str(95 * len(labels))))
        self._photo(job, head, "intake", burnt=int(labels[0][0]) - 1)
        self.hands.count(job, pieces_0="8", pieces_1="8")
        bench = self.bench(iron(self.shop))
        bench.inspect(head)
        bench.walls_not_known(head, labels)
        return job, head, self.hands.ports(head)

    def _overheated_head(
        self, customer: str, phone: str, casting: str, layout: str
    ) -> tuple[Job, Head]:
        """Taken in as overheated, described and its parts counted."""
        job = self.hands.take_in(
            customer=customer,
            phone=phone,
            wanted="overheated, please look whether it can be saved",
            unit="mm",
            place="Rack 6",
            promise="other",
            promised_on=(self.hands.at + timedelta(days=7)).date().isoformat(),
        )
        head = self.hands.heads(job)[0]
        self.hands.describe(
            head,
            casting=casting,
            material="aluminium",
            layout=layout,
            valves="4" if layout == FOUR_EACH else "2",
            heat_history="overheated",
            unit="mm",
        )
        self.hands.count(job, pieces_0="16", pieces_1="16")
        return job, head

    def _look_over(self, head: Head, found: str) -> None:
        self.hands.inspect(head, InspectionKind.CONDITION, Outcome.OK, found=found)

    def _hardness(self, head: Head, outcome: Outcome, spots: Sequence[str]) -> None:
        self.hands.inspect(
            head,
            InspectionKind.HARDNESS,
            outcome,
            method="portable tester, gasket face",
            **{f"hardness_{nth}": spot for nth, spot in enumerate(spots, 1)},
        )

    def _metric_head(
        self, days: float, customer: str, phone: str, casting: str
    ) -> tuple[Job, Head, list[str]]:
        """Sixteen valves in two rows, aluminium, old exhaust rings to be replaced."""
        self.at(days).by(self.shop.wilma)
        job = self.hands.take_in(
            customer=customer,
            phone=phone,
            wanted="exhaust seats sunk, runs on gas",
            unit="mm",
            place="Rack 4",
            promise="other",
            promised_on=(self.hands.at + timedelta(days=6)).date().isoformat(),
        )
        head = self.hands.heads(job)[0]
        self.hands.describe(
            head,
            casting=casting,
            material=head_choice(Material.ALUMINIUM, self.shop.alloy.key),
            layout=FOUR_EACH,
            valves="4",
            heat_history="unknown",
            fuel="petrol and gas",
            unit="mm",
        )
        labels = [label for label, port in self.hands.ports(head).items() if port.kind == "E"]
        works = dict.fromkeys(labels, "ring")
        self.hands.decide(head, {**works, "*": "seat_only"}, {"*": "ring"})
        self.hands.agree(job, customer, limit="980", how="in_person")
        self._price(job, ("Eight exhaust seat rings, fitted", "720"))
        self.hands.count(job, pieces_0="16", pieces_1="16")
        bench = self.bench(aluminium(self.shop))
        bench.inspect(head)
        self.hands.pockets(head, {label: ["33.90", "33.91", "0.04", "6.20"] for label in labels})
        bench.walls_not_known(head, labels)
        return job, head, labels

    def _to_the_end(
        self,
        bench: Bench,
        job: Job,
        head: Head,
        ports: Sequence[Port],
        labels: Sequence[str],
        *,
        count_out: bool = True,
        volumes: Sequence[str] = (),
    ) -> None:
        """Rings read, bores cut, rings in, seats finished, tested, signed, counted.

        With chamber volumes the valve gear is measured too.
        """
        if volumes:
            deck_before(self.hands, head)
        quick, self.hands.step = self.hands.step, UNHURRIED
        ring_set = self.hands.rings(
            job,
            ports,
            RING_ROWS[: len(ports)],
            label_od="1.625",
            label_height=".250",
            name="exhaust",
            supplier="Quarry Rings",
            lot=f"L{job.seq:03d}",
        )
        setting = bench.set_up(job, ports)
        bench.clamp(head)
        bench.bore(setting, ports)
        bench.press(ports, ring_set)
        every = self.hands.ports(head)
        if volumes:
            self.hands.plan_seats(head, Kind.EXHAUST, **SEAT_WANTED)
            valves_and_springs(self.hands, head, {labels[0]: "refaced", "3I": "new"})
        self.hands.later(minutes=26)
        bench.finish(head, list(every))
        if volumes:
            contact_and_deck(self.hands, head)
            vacuum(self.hands, head, {"3E": "22.2"})
            chambers(self.hands, head, *volumes)
        bench.test_pressure(head)
        self.hands.sign(job, list(every.values()))
        self.hands.step = quick
        if count_out:
            self.hands.by(self.shop.wilma).count(job, way="out", pieces_0="8", pieces_1="8")

    def _issue(self, job: Job, head: Head, *kinds: SheetKind) -> None:
        for kind in kinds:
            with self.hands.writing() as tx:
                issue_sheet(tx, kind, tx.session.get_one(Job, job.id), head, self.draw)

    def _price(self, job: Job, *lines: tuple[str, str]) -> None:
        for text, amount in lines:
            with self.hands.writing() as tx:
                add_price_line(
                    tx, job.number, filled(PriceLineForm({"text": text, "amount": amount}))
                )

    def _wait(self, job: Job, waiting: str, what: str, expected: str = "") -> None:
        raw = {"waiting": waiting, "waiting_for": what, "expected_on": expected}
        form = filled(WaitingForm(raw, today=self.hands.at.date()))
        with self.hands.writing() as tx:
            start_waiting(tx, job.number, form)

    def _propose(self, job: Job) -> None:
        """What the price list proposes by what was found, put on the estimate."""
        heads = self.hands.heads(job)
        with self.hands.database.read() as session:
            sheets = list(load_sheets(session, heads).values())
            found = proposed(session, sheets, [])
        raw = {f"line.{one.item.id}": "yes" for one in found}
        raw |= {f"pieces.{one.item.id}": str(one.pieces) for one in found}
        with self.hands.writing() as tx:
            put_on_estimate(tx, job.number, filled(EstimateForm(raw)))

    def _note(self, job: Job, **fields: str) -> None:
        with self.hands.writing() as tx:
            write_note(tx, job.number, filled(NoteForm(fields)))

    def _notice(
        self, days: float, job: Job, of: str, how: str, *, until: int = 0, note: str = ""
    ) -> None:
        """So many days ago; `until` counts from then."""
        today = self.at(days, 10).by(self.shop.wilma).at.date()
        raw = {"notice_of": of, "how": how, "note": note}
        if until:
            raw["until"] = (today + timedelta(days=until)).isoformat()
        with self.hands.writing() as tx:
            give_notice(tx, job.number, filled(NoticeForm(raw, today=today)))

    def _photo(self, job: Job, head: Head, of: str, *, burnt: int, is_clean: bool = False) -> None:
        """A picture as a tablet would send it."""
        if self.photos is None:
            return
        picture = keep_picture(head_from_above(burnt=burnt, is_clean=is_clean), self.photos)
        caption = "new ring in" if is_clean else f"exhaust seat of cylinder {burnt + 1} burnt"
        form = PhotoForm({"photo_of": of, "about": f"head-{head.id}", "caption": caption})
        with self.hands.writing() as tx:
            add_photos(tx, job.number, filled(form), [picture])

    def _of_customer(self, name: str) -> Job:
        with self.hands.database.read() as session:
            return session.exec(
                select(Job)
                .join(Customer, col(Customer.id) == col(Job.customer_id))
                .where(col(Customer.name).startswith(name))
            ).one()

    def _by_kind(self, job: Job) -> tuple[list[Port], list[Port]]:
        ports = [port for head in self.hands.heads(job) for port in self.hands.ports(head).values()]
        return (
            [port for port in ports if port.kind == "E"],
            [port for port in ports if port.kind == "I"],
        )

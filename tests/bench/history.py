"""Years of a shop's work made of a few jobs: who came, with which casting, bored with which tip."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from app.models.customer import Customer
from app.services.search_keys import keys_of_customer
from app.workflow.folding import digits
from tests.bench.copies import Copier, Copy, Pattern

OPEN_JOBS = 60
JOBS_A_YEAR, MOST_YEARS = 1000, 15
# A record's text is a hundred times its figures: one job in so many has its sheets.
SHEETS_EVERY = 20
COMEBACK_EVERY = 37
CUTS_OF_A_TIP = (60, 240)
AT_ONCE = 250
SEED = 8137

PLACES = [
    "Fern Hollow",
    "Brook Lane",
    "Ash Bank",
    "Mill Street",
    "Old Weir",
    "Reed Bank",
    "Sorrel",
    "Harrow",
    "Quay",
    "Tolland",
    "Cinder Path",
    "Juniper",
    "Lantern Bay",
    "Marrow Hill",
    "Gannet Row",
    "Long Reach",
    "Elder",
    "Sallow",
    "Thistle",
    "Copper Beck",
    "Stone Ford",
    "Wick End",
    "High Acre",
    "Low Barn",
    "Otter",
    "Heron",
    "Bramble",
    "Larch",
    "Maple",
    "Osier",
]
TRADES = [
    "Farm",
    "Garage",
    "Motors",
    "Boats",
    "Quarry",
    "Nursery",
    "Taxis",
    "Racing",
    "Threshing",
    "Ferries",
    "Dairy",
    "Pumps",
    "Haulage",
    "Diggers",
    "Coaches",
    "Timber",
    "Gravel",
    "Marine",
    "Recovery",
    "Workshop",
]
KINDS = ["", "North", "South", "East", "West", "& Sons", "& Daughters", "Upper", "Lower", "New"]
WANTED = (
    "burnt exhaust seats",
    "seats sunk, runs on gas",
    "loses compression on two",
    "misses when hot",
    "overheated, please look",
    "dropped seat on three",
    "ticks when cold, smokes",
    "hard seats all round",
    "valve job and new rings",
    "water in the oil",
)
CAUSES = ("burnt valve again", "ring loose", "leaks at the seat", "cause not found", "head gasket")
SUPPLIERS = ("Quarry Rings", "Mill Pond Seats", "Lower Forge")


@dataclass(frozen=True)
class Start:
    """The pattern shop: its database in one file, and what is copied of it."""

    file: Path
    finished: Sequence[Pattern]
    under_way: Sequence[Pattern]
    iron: Sequence[int]  # cutters by id
    aluminium: Sequence[int]
    log_head: str


class History:
    """Years of work, job after job, in the order in which they came in."""

    def __init__(self, start: Start, jobs: int, copier: Copier, today: date) -> None:
        self.start, self.jobs, self.copier, self.today = start, jobs, copier, today
        self.random = random.Random(SEED)
        self.customers: list[tuple[int, str, str]] = []
        self.castings: dict[int, tuple[str, ...]] = {}
        self.tips: dict[int, list[int]] = {}  # cutter to its tip, and the cuts that are left to it
        self.seqs: dict[int, int] = {}
        self.earlier: list[tuple[int, Copy]] = []
        self.slim = [pattern.without_sheets() for pattern in start.finished]
        self.lots = [f"Q{n}-{self.random.randrange(100, 999)}" for n in range(jobs // 30 + 3)]

    def tell(self) -> Iterator[None]:
        """Makes every job; pauses often, so that rows can be taken."""
        for pattern in (*self.start.finished, *self.start.under_way):
            [year], [seq] = (pattern.parts["job"].base[name] for name in ("year", "seq"))
            self.seqs[year] = max(seq, self.seqs.get(year, 0))
        self._customers()
        years = min(MOST_YEARS, max(1, self.jobs // JOBS_A_YEAR))
        copied = max(0, self.jobs - OPEN_JOBS - len(self.slim))
        # Holds are rare: their pattern is copied once where another one is copied eight times.
        weights = [1 if "hold" in pattern.parts else 8 for pattern in self.slim]
        for n in range(copied):
            [nth] = self.random.choices(range(len(weights)), weights)
            has_sheets = n % SHEETS_EVERY == 0
            pattern = (self.start.finished if has_sheets else self.slim)[nth]
            ago = round(years * 365 * (1 - n / copied)) + 60
            self._one(pattern, self.today.toordinal() - ago)
            if n % AT_ONCE == 0:
                yield
        # The last one is the head of 32 positions, of which one is enough.
        again = self.start.under_way[:-1]
        for n in range(OPEN_JOBS - len(self.start.under_way) if again else 0):
            pattern = again[n % len(again)]
            self._one(pattern, pattern.first_day, is_open=True)
        yield

    def _customers(self) -> None:
        names = [" ".join(filter(None, (p, t, k))) for k in KINDS for p in PLACES for t in TRADES]
        count = min(len(names), self.jobs // 6 + 10)
        self.random.shuffle(names)
        for n, name in enumerate(names[:count]):
            phone = f"555-{1000 + n * 7}"
            customer = Customer(name=name, phone=phone, phone_digits=digits(phone))
            row = self.copier.add(
                "customer",
                **dict.fromkeys(("second_phone", "email", "note"), ""),
                name=name,
                phone=phone,
                phone_digits=customer.phone_digits,
                is_trade=int(n % 3 == 0),
                row_version=1,
            )
            for key in sorted(keys_of_customer(customer)):
                self.copier.add("search_key", key=key, customer_id=row)
            self.customers.append((row, name, phone))

    def _one(self, pattern: Pattern, first_day: int, *, is_open: bool = False) -> None:
        came_back = not is_open and self.earlier and self.random.randrange(COMEBACK_EVERY) == 0
        before = self.random.choice(self.earlier) if came_back else None
        customer = before[1] if before else None
        # A few come again and again, most come once in a while.
        at = int(len(self.customers) * self.random.random() ** 2.2)
        customer_id, name, phone = (
            (customer.customer_id, customer.customer, customer.phone)
            if customer
            else self.customers[at]
        )
        castings = self.castings.setdefault(
            customer_id,
            tuple(f"C{self.random.randrange(100, 400)}-{pick}" for pick in ("A", "B", "H")),
        )
        year = date.fromordinal(first_day).year
        seq = self.seqs[year] = self.seqs.get(year, 0) + 1
        lot = self.lots[self.copier.next_ids["job"] // 30 % len(self.lots)]
        cutter, tip, drift = self._tip(pattern, first_day)
        copy = Copy(
            number=f"{year % 100:02d}-{seq:04d}",
            year=year,
            seq=seq,
            days=first_day - pattern.first_day,
            customer_id=customer_id,
            customer=name,
            phone=phone,
            wanted=self.random.choice(WANTED),
            casting=customer.casting if customer else self.random.choice(castings),
            serial=customer.serial if customer else f"S{self.random.randrange(10**6):06d}",
            supplier=SUPPLIERS[hash_of(lot) % len(SUPPLIERS)],
            lot=lot,
            label_off=(hash_of(lot) % 7 - 3) * 2540,
            cutter_id=cutter,
            tip_id=tip,
            off=[
                0 if is_open else max(-4, min(4, round(self.random.gauss(drift, 0.8))))
                for _ in range(pattern.bores)
            ],
            comeback_of_id=before[0] if before else None,
            comeback_cause=self.random.choice(CAUSES) if before else "",
        )
        job_id = self.copier.copy(pattern, copy)
        if not is_open:
            self.earlier.append((job_id, copy))
            del self.earlier[:-400]

    def _tip(self, pattern: Pattern, day: int) -> tuple[int, int, float]:
        """The cutter that a job is bored with, its tip, and how far that drifted by now."""
        of = self.start.aluminium if pattern.material == "aluminium" else self.start.iron
        cutter = of[self.random.randrange(len(of))]
        if cutter not in self.tips or self.tips[cutter][1] <= 0:
            tip = self.copier.add(
                "tip_change",
                by_id=2,
                at=f"{date.fromordinal(day).isoformat()} 06:30:00.000000",
                cutter_id=cutter,
                what="ground" if self.random.randrange(3) else "new carbide tip",
            )
            life = self.random.randrange(*CUTS_OF_A_TIP)
            self.tips[cutter] = [tip, life, life]
        tip, left, life = self.tips[cutter]
        samples = pattern.parts.get("overcut_sample")
        self.tips[cutter][1] = left - (samples.count if samples else 0)
        return cutter, tip, 1.5 * (life - left) / life


def hash_of(text: str) -> int:
    """The same number for a text in every run."""
    return sum(ord(letter) * (n + 7) for n, letter in enumerate(text))


# Into a database

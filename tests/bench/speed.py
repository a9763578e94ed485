"""Every promise of speed, measured: `python -m tests.bench.speed FOLDER --jobs 1000 100000`.

FOLDER holds shops made by `tests.bench.size`. Each line is a ratio on this machine: what the
promise is about and what it is held against take turns, for several rounds; the table shows the
median of the rounds and between which they lay. Times on a busy machine mean little, ratios more.
"""

from __future__ import annotations

import argparse
import http.client
import re
import secrets
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from sqlalchemy import text
from sqlmodel import select

from app.config import Settings
from app.db import Database, now
from app.migrate import upgrade
from app.models.person import Person
from app.services.sign_in import new_token, sign_in
from app.services.write import Write

ROUNDS = 5
EACH = 40  # requests of one side in one round
EVERY_SECONDS = 0.25
TYPED_FOR = 8.0  # seconds
FIGURES = ("first-time", "interference", "overcut", "labels", "days", "holds", "comebacks")


@dataclass
class Served:
    """A server under measurement, spoken to over one kept connection."""

    process: subprocess.Popen[str]
    port: int
    token: str = ""
    connection: http.client.HTTPConnection = field(init=False)

    def __post_init__(self) -> None:
        self.connection = self.another()

    def another(self) -> http.client.HTTPConnection:
        """One more connection, for a tablet of its own."""
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)

    def ask(
        self,
        path: str,
        form: dict[str, str] | None = None,
        on: http.client.HTTPConnection | None = None,
    ) -> tuple[float, int, str]:
        """Seconds until the whole answer is here, its status and its text."""
        connection = on or self.connection
        headers = {
            "Cookie": f"seatwright_{self.port}={self.token}",
            "Origin": f"http://127.0.0.1:{self.port}",
        }
        body = None
        if form is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            body = urlencode(form)
        began = time.perf_counter()
        connection.request("GET" if form is None else "POST", path, body, headers)
        answer = connection.getresponse()
        said = answer.read()
        return time.perf_counter() - began, answer.status, said.decode("utf-8", "replace")

    @property
    def memory_mb(self) -> float:
        """What it holds of the machine's memory now."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024  # type: ignore[index]


@contextmanager
def serving(*arguments: str, token: str = "") -> Iterator[Served]:
    """A server process, ended when the block is."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.bench.served", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        yield Served(process, int(process.stdout.readline()), token)
    finally:
        assert process.stdin is not None
        process.stdin.close()
        process.wait(60)


@dataclass(frozen=True)
class Shop:
    """A shop's database, someone signed in there, and what its pages are about."""

    jobs: int
    folder: Path
    url: str
    token: str
    big_head: int
    ended: str
    under_way: str
    sheet_id: int
    cutter_id: int
    tip_id: int
    lot: str
    rule: str

    @property
    def pages(self) -> dict[str, str]:
        """Every page that is promised to stay as quick."""
        found = {
            "counter": "/counter",
            "counter, ended": "/counter?show=ended",
            "counter, a name": "/counter?q=fern",
            "search, two words": "/find?q=fern+burnt",
            "search, a word of every tenth job": "/find?q=seats",
            "search, comebacks": "/find?comeback=yes",
            "search, an aluminium head": "/find?material=aluminium",
            "job under way": f"/jobs/{self.under_way}",
            "job that is over": f"/jobs/{self.ended}",
            "office": "/office",
            "bench": "/bench",
            "shelf": "/shelf",
            "trace of a lot": f"/trace?of=lot&which={quote(self.lot)}",
            "trace of a cutter": f"/trace?of=cutter&which={self.cutter_id}",
            "trace of a tip": f"/trace?of=tip&which={self.tip_id}",
            "trace of a pilot": "/trace?of=pilot&which=1",
            "trace of a gauge": "/trace?of=instrument&which=2",
            "trace of a gauge in doubt": "/trace?of=doubt&which=2",
            "trace of a rule": f"/trace?of=rule&which={quote(self.rule)}",
        }
        return found | {f"figure: {each}": f"/figures/{each}" for each in FIGURES}


def opened(jobs: int, folder: Path, url: str) -> Shop:
    """Look up what a shop's pages are about, and sign its owner in."""
    database = Database(url)
    try:
        with database.read() as session:
            owner = session.exec(select(Person).where(Person.role == "owner")).first()
            assert owner is not None

            def one(query: str) -> Any:
                return session.execute(text(query)).scalar_one()

            over = "SELECT number FROM job WHERE ended_as = 'handed_over' ORDER BY id DESC LIMIT 1"
            laid_out = (
                "EXISTS (SELECT 1 FROM head h JOIN port p ON p.head_id = h.id WHERE h.job_id = "
            )
            newest = "FROM setting ORDER BY id DESC LIMIT 1 OFFSET 60"
            found = {
                "big_head": one("SELECT head_id FROM port GROUP BY 1 HAVING count(*) = 32"),
                "ended": one(over),
                "under_way": one(
                    f"SELECT number FROM job WHERE ended_at IS NULL AND {laid_out} job.id) LIMIT 1"
                ),
                "sheet_id": one("SELECT max(id) FROM sheet WHERE kind = 'record'"),
                "cutter_id": one(f"SELECT cutter_id {newest}"),
                "tip_id": one(f"SELECT tip_change_id {newest}"),
                "lot": one("SELECT lot FROM ring_set WHERE lot <> '' ORDER BY id DESC LIMIT 1"),
                "rule": one("SELECT rule_source FROM port_pass ORDER BY id DESC LIMIT 1"),
            }
        token = new_token()
        with database.write() as session:
            tx = Write(session, by=None, at=now())
            sign_in(tx, owner.id, owner.pin_hash, token=token, address="here")
    finally:
        database.close()
    return Shop(jobs, folder, url, token, **found)


# The table


def told(name: str, rounds: Sequence[float], most: float, words: str, unit: str = "×") -> None:
    """One line: the median of the rounds, between which they lay, and whether the promise holds."""
    middle = statistics.median(rounds)
    kept = "kept" if middle <= most else "NOT KEPT"
    spread = f"{min(rounds):.2f}–{max(rounds):.2f}"
    print(
        f"{name:44} {middle:8.2f} {unit} ({spread:>13})  ≤ {most:g} {unit}  {kept:8}  {words}",
        flush=True,
    )


def ms(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms"


def point(times: Sequence[float], percent: int) -> float:
    """The time that so many of a hundred were within."""
    return sorted(times)[min(len(times) - 1, round(len(times) * percent / 100))]


def in_turns(rounds: int, each: int, *sides: Callable[[], float]) -> list[tuple[list[float], ...]]:
    """Every round asks each side in turn, one request after the other."""
    for side in sides:
        for _ in range(3):
            side()
    found = []
    for _ in range(rounds):
        times: tuple[list[float], ...] = tuple([] for _ in sides)
        for _ in range(each):
            for side, own in zip(sides, times, strict=True):
                own.append(side())
        found.append(times)
    return found


# What is measured


@dataclass
class Tablet:
    """Types one position's stem height over and over, as a machinist's tablet sends it."""

    served: Served
    page: str
    name: str
    had: str
    database: Database
    connection: http.client.HTTPConnection
    typed: int = 0

    def record(self) -> float:
        """One reading; what is known of it is looked up outside the time."""
        self.typed += 1
        key = secrets.token_hex(8)
        form = {"client_key": key, self.name: f"1.85{10 + self.typed % 80}"}
        form[f"had.{self.name}"] = self.had
        took, status, said = self.served.ask(self.page, form, self.connection)
        if status != 303:
            raise RuntimeError(f"{status} to {form}: {re.sub('<[^>]+>', ' ', said)[:400]}")
        with self.database.engine.connect() as connection:
            self.had = str(
                connection.execute(
                    text("SELECT id FROM reading WHERE client_key >= :a AND client_key < :b"),
                    {"a": key, "b": f"{key}~"},
                ).scalar_one()
            )
        return took


def tablets_of(shop: Shop, served: Served, database: Database) -> list[Tablet]:
    """One tablet for each of the 32 positions."""
    page = f"/heads/{shop.big_head}/stem-heights"
    _, _, html = served.ask(page)
    names = dict.fromkeys(re.findall(r'name="(stem_height[^"]*)"', html))
    had = dict(re.findall(r'name="had\.([^"]*)"[^>]* value="(\d*)"', html))
    return [
        Tablet(served, page, name, had.get(name, ""), database, served.another()) for name in names
    ]


def typing(tablets: Sequence[Tablet], seconds: float) -> tuple[list[float], list[str]]:
    """All of them type every quarter of a second; a late answer delays its own tablet only."""
    times: list[float] = []
    faults: list[str] = []
    over = time.monotonic() + seconds

    def type_on(tablet: Tablet, first: float) -> None:
        due = time.monotonic() + first
        while due < over:
            time.sleep(max(0.0, due - time.monotonic()))
            try:
                times.append(tablet.record())
            except (RuntimeError, OSError, http.client.HTTPException) as fault:
                faults.append(repr(fault))
                return
            due = max(due + EVERY_SECONDS, time.monotonic())

    threads = [
        threading.Thread(target=type_on, args=(tablet, n * EVERY_SECONDS / len(tablets)))
        for n, tablet in enumerate(tablets)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times, faults


def recording(shop: Shop, served: Served, bare: Served, options: Any, kind: str) -> None:
    """One reading against one bare insert; then eight and thirty tablets."""
    database = Database(shop.url)
    try:
        tablets = tablets_of(shop, served, database)
        turn = iter(range(10**9))
        rounds = in_turns(
            options.rounds,
            options.each,
            lambda: tablets[next(turn) % len(tablets)].record(),
            lambda: bare.ask("/insert", {"typed": "1.8500"})[0],
        )
        ratios = [statistics.median(one) / statistics.median(other) for one, other in rounds]
        single = statistics.median([statistics.median(one) for one, _ in rounds])
        other = statistics.median([statistics.median(other) for _, other in rounds])
        told(f"{kind}: one reading / one bare insert", ratios, 5, f"{ms(single)} / {ms(other)}")
        slow, beside = [], []
        for _ in range(options.rounds):
            times, faults = typing(tablets[:8], options.seconds)
            slow.append(point(times, 99) / single)
            quiet = statistics.median(times)
            with figures_beside(served):
                times, more = typing(tablets[:8], options.seconds)
            beside.append(statistics.median(times) / quiet)
            for fault in faults + more:
                print(f"  fault: {fault}")
        told(f"{kind}: 8 tablets, p99 / the single p50", slow, 5, "")
        told(f"{kind}: 8 tablets beside a slow figure, p50", beside, 1.5, "of their p50 without it")
        times, faults = typing(tablets[:30], options.seconds)
        words = f"{len(times)} readings, p50 {ms(point(times, 50))}, p99 {ms(point(times, 99))}"
        told(f"{kind}: 30 tablets, errors", [len(faults)], 0, words, " ")
    finally:
        database.close()


@contextmanager
def figures_beside(served: Served) -> Iterator[None]:
    """Someone in the office asks one figure after another, each over other years."""
    is_over = threading.Event()

    def ask() -> None:
        connection, first = served.another(), 0
        while not is_over.is_set():
            first += 1
            months = f"from={2017 + first % 8}-{1 + first % 12:02d}&to=2026-{1 + first % 12:02d}"
            served.ask(f"/figures/days?{months}", on=connection)

    thread = threading.Thread(target=ask)
    thread.start()
    try:
        yield
    finally:
        is_over.set()
        thread.join()


def pages(shop: Shop, served: Served, bare: Served, options: Any, kind: str) -> None:
    """The page of a head of 32 positions against a bare one of its size."""
    path = f"/heads/{shop.big_head}/stem-heights"
    rounds = in_turns(
        options.rounds,
        options.each,
        lambda: served.ask(path)[0],
        lambda: bare.ask("/page")[0],
    )
    ratios = [statistics.median(one) / statistics.median(other) for one, other in rounds]
    one, other = (statistics.median([statistics.median(r[n]) for r in rounds]) for n in (0, 1))
    told(f"{kind}: 32-position page / a bare page", ratios, 3, f"{ms(one)} / {ms(other)}")


def frozen(shop: Shop, served: Served, bare: Served, options: Any) -> None:
    """An issued sheet against the same bytes as a static file."""
    rounds = in_turns(
        options.rounds,
        options.each,
        lambda: served.ask(f"/sheets/{shop.sheet_id}")[0],
        lambda: bare.ask("/static/sheet.html")[0],
    )
    ratios = [statistics.median(one) / statistics.median(other) for one, other in rounds]
    one, other = (statistics.median([statistics.median(r[n]) for r in rounds]) for n in (0, 1))
    told("frozen sheet / the framework's static file", ratios, 1.5, f"{ms(one)} / {ms(other)}")


def sizes(small: Shop, large: Shop, at_small: Served, at_large: Served, options: Any) -> None:
    """Every page of the large shop against the small one's."""
    each = max(3, options.each // 4)
    for (name, path), other in zip(large.pages.items(), small.pages.values(), strict=True):
        first = at_large.ask(path)[0]

        rounds = in_turns(
            options.rounds, each, partial(shown, at_large, path), partial(shown, at_small, other)
        )
        ratios = [statistics.median(one) / statistics.median(two) for one, two in rounds]
        every = [took for one, _ in rounds for took in one]
        words = f"p50 {ms(point(every, 50))}, p99 {ms(point(every, 99))}, first {ms(first)}"
        if point(every, 99) > 0.150:
            words += ", p99 OVER 150 ms"
        told(f"{name}: {large.jobs} / {small.jobs} jobs", ratios, 2, words)


def shown(served: Served, path: str) -> float:
    """A page that has to be there."""
    took, status, _ = served.ask(path)
    if status != 200:
        raise RuntimeError(f"{status} to {path}")
    return took


def started(shop: Shop, options: Any) -> None:
    """From the command to the first answer; the folder is the shop's own."""
    found = []
    for _ in range(options.rounds):
        port = free_port()
        began = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, "-m", "app", "serve", "--data", str(shop.folder), "--port", str(port)],
            stdout=subprocess.DEVNULL,
        )
        try:
            while True:
                try:
                    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
                    connection.request("GET", "/healthz")
                    if connection.getresponse().status == 200:
                        break
                except OSError:
                    time.sleep(0.01)
            found.append(time.perf_counter() - began)
        finally:
            process.terminate()
            process.wait(60)
    told(f"start to first answer, {shop.jobs} jobs", found, 2, "", "s")


def memory(shop: Shop, served: Served, requests: int) -> None:
    """What the server holds after many mixed requests."""
    paths = [
        *shop.pages.values(),
        f"/heads/{shop.big_head}/stem-heights",
        f"/sheets/{shop.sheet_id}",
    ]
    # Pages that a shop asks for all day stand beside those that it asks for now and then.
    paths += [f"/heads/{shop.big_head}/stem-heights", "/live?since=1", "/live?since=1"] * 8
    begun = served.memory_mb
    for n in range(requests):
        served.ask(paths[n % len(paths)])
    words = f"after {requests} mixed requests; {begun:.0f} MB before"
    told(f"memory, {shop.jobs} jobs", [served.memory_mb], 200, words, "MB")


def free_port() -> int:
    """A port that nothing listens on now."""
    with http.client.socket.socket() as probe:  # type: ignore[attr-defined]
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def main() -> None:
    """Measure what is asked for, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="holds JOBS/seatwright.sqlite3 for each size")
    parser.add_argument("--jobs", type=int, nargs=2, default=[1000, 100_000])
    parser.add_argument("--postgresql", metavar="URL", help="a shop on PostgreSQL, made by size.py")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--each", type=int, default=EACH)
    parser.add_argument("--seconds", type=float, default=TYPED_FOR)
    parser.add_argument("--requests", type=int, default=100_000)
    parser.add_argument(
        "--only", nargs="+", default=["recording", "pages", "frozen", "sizes", "start", "memory"]
    )
    options = parser.parse_args()
    with ExitStack() as stack:
        measure(options, stack)


def measure(options: Any, stack: ExitStack) -> None:
    """One line after another, each against its own other side."""
    shops = []
    for jobs in options.jobs:
        folder = options.folder / str(jobs)
        url = Settings(data=folder).url
        upgrade(url)
        shops.append(opened(jobs, folder, url))
    small, large = shops
    if "start" in options.only:
        started(large, options)
    at_small, at_large = (
        stack.enter_context(serving("shop", str(shop.folder), shop.url, token=shop.token))
        for shop in shops
    )
    beside = Path(tempfile.mkdtemp(prefix="seatwright-bare-", dir=options.folder))
    stack.callback(shutil.rmtree, beside)
    (beside / "sheet.html").write_text(at_small.ask(f"/sheets/{small.sheet_id}")[2])
    size = len(at_small.ask(f"/heads/{small.big_head}/stem-heights")[2].encode())
    bare = stack.enter_context(
        serving("bare", str(beside), f"sqlite:///{beside / 'bare.sqlite3'}", str(size))
    )
    if "pages" in options.only:
        pages(small, at_small, bare, options, "SQLite")
    if "frozen" in options.only:
        frozen(small, at_small, bare, options)
    if "recording" in options.only:
        recording(small, at_small, bare, options, "SQLite")
    if "sizes" in options.only:
        sizes(small, large, at_small, at_large, options)
    if options.postgresql:
        shop = opened(small.jobs, small.folder, options.postgresql)
        served = stack.enter_context(serving("shop", str(shop.folder), shop.url, token=shop.token))
        bare = stack.enter_context(serving("bare", str(beside), shop.url, str(size)))
        pages(shop, served, bare, options, "PostgreSQL")
        recording(shop, served, bare, options, "PostgreSQL")
    if "memory" in options.only:
        memory(large, at_large, options.requests)


if __name__ == "__main__":
    main()

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
from collections import deque
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
MOST_SECONDS = 0.150
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
    def worked(self) -> float:
        """Seconds that its threads have had a processor: on a busy machine the fairer measure."""
        tasks = Path(f"/proc/{self.process.pid}/task").iterdir()
        return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e9

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
    heads: tuple[int, ...]  # in inches, under way

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
            under_way = (
                "SELECT h.id FROM head h JOIN job j ON j.id = h.job_id WHERE j.ended_at IS NULL "
                "AND j.unit = 'in' AND EXISTS (SELECT 1 FROM port p WHERE p.head_id = h.id) "
                "ORDER BY h.id"
            )
            newest = "FROM setting ORDER BY id DESC LIMIT 1 OFFSET 60"
            found = {
                "big_head": one("SELECT head_id FROM port GROUP BY 1 HAVING count(*) = 32"),
                "ended": one(over),
                "heads": tuple(session.execute(text(under_way)).scalars()),
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
    found = []
    for _ in range(rounds):
        times: tuple[list[float], ...] = tuple([] for _ in sides)
        for _ in range(each):
            for side, own in zip(sides, times, strict=True):
                own.append(side())
        found.append(times)
    return found


def against(
    name: str,
    most: float,
    options: Any,
    one: tuple[Served, Callable[[], float]],
    other: tuple[Served, Callable[[], float]],
) -> list[float]:
    """A line about one server's answers over another's; every time of the first."""
    (served, ask), (held_against, ask_other) = one, other
    for each in (ask, ask_other) * 3:
        each()
    worked = served.worked, held_against.worked
    rounds = in_turns(options.rounds, options.each, ask, ask_other)
    first, second = served.worked - worked[0], held_against.worked - worked[1]
    ratios = [statistics.median(a) / statistics.median(b) for a, b in rounds]
    every, others = ([took for each in rounds for took in each[n]] for n in (0, 1))
    words = f"p50 {ms(point(every, 50))} / {ms(point(others, 50))}, p99 {ms(point(every, 99))}"
    told(name, ratios, most, f"{words}; processor time {first / second:.2f} ×")
    return every


# What is measured


# What is typed where, in inches.
TYPED = {
    "pockets": {"seat_outside": "1.520", "valve_head": "1.560", "wall": ".300"}
    | {"centre_distance": "2.100"},
    "guides": {"stem": ".3420"},
    "finish": {"seat_width": ".062", "run_out": ".0010", "stem_after": "1.853"},
}


@dataclass
class Tablet:
    """Types one figure after another into fields that are still empty, as a tablet sends them."""

    served: Served
    fields: deque[tuple[str, str, str]]
    connection: http.client.HTTPConnection

    def record(self) -> float:
        """One reading."""
        if not self.fields:
            raise RuntimeError("every field of the shop is typed into: fewer rounds, or a new shop")
        page, name, value = self.fields.popleft()
        form = {"client_key": secrets.token_hex(8), name: value}
        took, status, said = self.served.ask(page, form, self.connection)
        if status != 303:
            raise RuntimeError(f"{status} to {form}: {re.sub('<[^>]+>', ' ', said)[:400]}")
        return took


def empty_fields(shop: Shop, served: Served) -> deque[tuple[str, str, str]]:
    """Every field that nobody has typed into, position after position: page, name, figure."""
    found: list[tuple[str, str, str]] = []
    for kind, typed in TYPED.items():
        for head_id in shop.heads:
            page = f"/heads/{head_id}/{kind}"
            _, _, html = served.ask(page)
            had = set(re.findall(r'name="had\.([^"]*)"[^>]* value="\d+"', html))
            for name in dict.fromkeys(re.findall(r'<input[^>]* name="((?!had)[^"]*)"', html)):
                quantity = name.partition(".")[0]
                if quantity in typed and name not in had:
                    found.append((page, name, typed[quantity]))
    return deque(found)


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
    fields = empty_fields(shop, served)
    tablets = [Tablet(served, fields, served.another()) for _ in range(30)]
    single = statistics.median(
        against(
            f"{kind}: one reading / one bare insert",
            5,
            options,
            (served, tablets[0].record),
            (bare, lambda: bare.ask("/insert", {"typed": "1.8500"})[0]),
        )
    )
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
    ours, theirs = (served, lambda: shown(served, path)), (bare, lambda: shown(bare, "/page"))
    against(f"{kind}: 32-position page / a bare page", 3, options, ours, theirs)


def frozen(shop: Shop, served: Served, bare: Served, options: Any) -> None:
    """An issued sheet against the same bytes as a static file."""
    ours = (served, lambda: shown(served, f"/sheets/{shop.sheet_id}"))
    theirs = (bare, lambda: shown(bare, "/static/sheet.html"))
    against("frozen sheet / the framework's static file", 1.5, options, ours, theirs)


def sizes(small: Shop, large: Shop, at_small: Served, at_large: Served, options: Any) -> None:
    """Every page of the large shop against the small one's."""
    for (name, path), other in zip(large.pages.items(), small.pages.values(), strict=True):
        first = shown(at_large, path)
        every = against(
            f"{name}: {large.jobs} / {small.jobs} jobs",
            2,
            options,
            (at_large, partial(shown, at_large, path)),
            (at_small, partial(shown, at_small, other)),
        )
        if point(every, 99) > MOST_SECONDS:
            print(f"  p99 OVER {ms(MOST_SECONDS)}; the first one took {ms(first)}")


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

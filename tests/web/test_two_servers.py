"""More than one PC: two servers, each its own process, behind one PostgreSQL database."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from secrets import token_hex
from threading import Barrier
from typing import Any

import httpx2
import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlmodel import select
from starlette.testclient import TestClient

import app.db
from app.config import Settings
from app.db import Database
from app.keeping.check import check_records
from app.main import create_app
from app.migrate import latest
from app.models.person import Person
from app.models.setting import Setting
from app.services.sign_in import new_token, sign_in
from app.services.write import Write
from tests.databases import opened
from tests.killed_server import fields
from tests.postgres import Cluster
from tests.typed import Run
from tests.web.bench import Bench, words
from tests.web.conftest import PINS, open_the_shop

LAST_LINE = "Stop with Ctrl-C."
KEPT = "Nothing of this was stored, and nothing earlier was lost."
ROUNDS = 3
RECORDED = "SELECT count(*) FROM event WHERE verb = 'recorded readings'"
Call = Callable[[], httpx2.Response]


@dataclass
class Server:
    """One process of the shop, and the browsers of its people."""

    process: subprocess.Popen[str]
    address: str
    tokens: dict[str, str]
    cookie: str
    stack: ExitStack

    def browser(self, who: str = "") -> httpx2.Client:
        """A browser on which someone is signed in, or nobody."""
        client = self.stack.enter_context(
            httpx2.Client(base_url=self.address, headers={"Origin": self.address}, timeout=30)
        )
        if who:
            client.cookies.set(self.cookie, self.tokens[who])
        return client


@dataclass
class Shop:
    """Two servers, and the database that both work on."""

    servers: tuple[Server, Server]
    database: Database
    bench: Bench
    cluster: Cluster
    settings: Settings

    def browsers(self, who: str) -> tuple[httpx2.Client, httpx2.Client]:
        """The same person at each server."""
        first, second = self.servers
        return first.browser(who), second.browser(who)

    def all(self, statement: str) -> list[Any]:
        """The only column of a query."""
        with self.database.read() as session:
            return list(session.execute(text(statement)).scalars())


@pytest.fixture(scope="module")
def shop(postgres: Cluster, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    name, data = postgres.new_database(), tmp_path_factory.mktemp("shared")
    url = postgres.url(name)
    settings = Settings(data=data, database_url=url)
    with ExitStack() as stack:
        stack.callback(postgres.drop, name)
        processes = [stack.enter_context(_started(data, url)) for _ in range(2)]
        # They start while the shop is opened, which takes about as long.
        for process in processes:
            stack.callback(process.kill)
        database = stack.enter_context(opened(url))
        tokens = {who: new_token() for who in ("Odile", "Wilma", "Marek")}
        with database.write() as session:
            open_the_shop(session)
        bench = Bench(database)
        bench.read_rings()
        with database.write() as session:
            for who, token in tokens.items():
                person = session.exec(select(Person).where(Person.name == who)).one()
                sign_in(Write(session, None), person.id, person.pin_hash, token=token, address="t")
        first, second = (
            Server(process, _address(process), tokens, settings.cookie_name, stack)
            for process in processes
        )
        yield Shop((first, second), database, bench, postgres, settings)


def _started(data: Path, url: str) -> subprocess.Popen[str]:
    others = {name: value for name, value in os.environ.items() if "SEATWRIGHT_" not in name}
    return subprocess.Popen(
        [sys.executable, "-m", "app", "serve", "--port", "0", "--data", str(data)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=others | {"PYTHONUTF8": "1", "SEATWRIGHT_DATABASE_URL": url},
    )


def _address(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    said = []
    for line in process.stdout:
        said.append(line)
        if line.strip() == LAST_LINE:
            return next(each.split()[1] for each in said if each.startswith("Open "))
    raise AssertionError("".join(said))


def at_once(*calls: Call) -> list[httpx2.Response]:
    """All sent at the same moment."""
    ready = Barrier(len(calls))

    def send(call: Call) -> httpx2.Response:
        ready.wait(10)
        return call()

    with ThreadPoolExecutor(len(calls)) as senders:
        return list(senders.map(send, calls))


def test_two_counters_at_each_give_every_job_number_once(shop: Shop) -> None:
    counters = [browser for _ in range(2) for browser in shop.browsers("Wilma")]
    form = {"kind": "named", "customer_id": "new", "customer": "Oak Lane", "wanted": "seats"}
    form |= {"unit": "in", "heads": "one"}
    [before] = shop.all("SELECT max(seq) FROM job")
    for _ in range(ROUNDS):
        answers = at_once(
            *(
                partial(browser.post, "/jobs/new", data=form | {"client_key": token_hex(16)})
                for browser in counters
            )
        )
        assert [answer.status_code for answer in answers] == [303] * 4
    made = shop.all(f"SELECT seq FROM job WHERE seq > {before} ORDER BY seq")
    assert made == list(range(before + 1, before + 1 + 4 * ROUNDS))


def test_a_reading_that_a_tablet_sends_to_both_is_recorded_once(shop: Shop) -> None:
    page = f"/heads/{shop.bench.head.id}/stem-heights"
    tablets = shop.browsers("Marek")
    [before] = shop.all(RECORDED)
    for n in range(ROUNDS):
        name, had, had_id = fields(tablets[n % 2].get(page).text, "stem_height")[n]
        key, typed = token_hex(16), f"1.86{10 + n}"
        form = {"client_key": key, name: typed, had: had_id}
        answers = at_once(*(partial(tablet.post, page, data=form) for tablet in tablets * 2))
        assert {answer.status_code for answer in answers} == {303}
        assert shop.all(f"SELECT typed FROM reading WHERE client_key LIKE '{key}%'") == [typed]
    assert shop.all(RECORDED) == [before + ROUNDS]


def test_two_tablets_at_one_field_do_not_overwrite_each_other_unseen(shop: Shop) -> None:
    page = f"/heads/{shop.bench.head.id}/stem-heights"
    tablets = shop.browsers("Marek")
    name, had, had_id = fields(tablets[0].get(page).text, "stem_height")[-1]
    answers = at_once(
        *(
            lambda b=b, typed=typed: b.post(
                page, data={"client_key": token_hex(16), name: typed, had: had_id}
            )
            for b, typed in zip(tablets, ("1.8601", "1.8602"), strict=True)
        )
    )
    assert sorted(answer.status_code for answer in answers) in ([303, 409], [303, 422])


def test_one_cutter_is_live_at_one_size_in_the_whole_shop(shop: Shop) -> None:
    bench, tablets = shop.bench, shop.browsers("Marek")
    tools = {"cutter": bench.cutter.id, "fixture": bench.fixture.id, "pilot": bench.pilot.id}
    made = [
        bench.hands.make_setting(bench.job, [bench.ports[label]], **tools) for label in ("2E", "3E")
    ]

    def read_back(browser: httpx2.Client, setting: Setting) -> httpx2.Response:
        assert setting.reading is not None
        form = {"client_key": token_hex(16), "achieved": f"{setting.reading.mm(5)} mm"}
        return browser.post(f"/settings/{setting.id}/achieved", data=form)

    for n in range(ROUNDS):
        pairs = zip(tablets, made if n % 2 else made[::-1], strict=True)
        answers = at_once(*(partial(read_back, tablet, setting) for tablet, setting in pairs))
        assert {answer.status_code for answer in answers} == {303}
        assert len(shop.all("SELECT id FROM setting WHERE state = 'live'")) == 1


def test_a_position_is_signed_once(shop: Shop) -> None:
    bench, tablets = shop.bench, shop.browsers("Marek")
    labels = ("1E", "1I")
    bench.hands.finish(bench.head, {label: [".060", ".001", "1.852"] for label in labels})
    for label in labels:
        port = bench.ports[label].id

        def sign(browser: httpx2.Client, port: int = port) -> httpx2.Response:
            return browser.post(
                f"/jobs/{bench.job.number}/sign",
                data={"client_key": token_hex(16), "port": [str(port)]},
            )

        answers = at_once(*(partial(sign, browser) for browser in tablets))
        assert sorted(answer.status_code for answer in answers) in ([303, 409], [303, 422])
        assert len(shop.all(f"SELECT id FROM signature_port WHERE port_id = {port}")) == 1


def test_who_signed_in_at_one_is_signed_in_at_both_and_out_of_both(shop: Shop) -> None:
    first, second = shop.servers
    browser, elsewhere = first.browser(), second.browser()
    odile = shop.all("SELECT id FROM person WHERE name = 'Odile'")[0]
    assert elsewhere.get("/office").status_code == 303
    assert browser.post(f"/sign-in/{odile}", data={"pin": PINS["Odile"]}).status_code == 303
    # One cookie jar, as of a browser that reaches both under one name.
    elsewhere.cookies = browser.cookies
    assert elsewhere.get("/office").status_code == 200
    assert elsewhere.post("/sign-out").status_code == 303
    assert browser.get("/office").status_code == 303
    assert second.browser("Wilma").get("/counter").status_code == 200


def test_wrong_pins_at_one_server_make_the_other_wait_too(shop: Shop) -> None:
    first, second = shop.servers
    wilma = shop.all("SELECT id FROM person WHERE name = 'Wilma'")[0]
    for server in (first, second, first):
        answer = server.browser().post(f"/sign-in/{wilma}", data={"pin": "9182"})
        assert answer.status_code == 422
    answer = second.browser().post(f"/sign-in/{wilma}", data={"pin": PINS["Wilma"]})
    assert answer.status_code == 422
    assert "Several wrong PINs came in. Wait" in answer.text


def test_what_both_write_at_once_is_one_log(shop: Shop) -> None:
    counters, page = shop.browsers("Wilma"), f"/jobs/{shop.bench.job.number}/notes"
    [before] = shop.all("SELECT count(*) FROM event")
    for n in range(ROUNDS):
        form = {"kind": "note", "text": f"burnt {n}"}
        answers = at_once(
            *(
                partial(browser.post, page, data=form | {"client_key": token_hex(16)})
                for browser in counters * 2
            )
        )
        assert {answer.status_code for answer in answers} == {303}
    assert shop.all("SELECT count(*) FROM event") == [before + 4 * ROUNDS]
    parts = list(check_records(shop.database, shop.settings.photos))
    assert {part.name: part.faults for part in parts if part.faults} == {}


def test_tables_are_not_changed_under_servers_that_work(
    shop: Shop, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEATWRIGHT_DATABASE_URL", shop.settings.url)
    version = text("UPDATE seatwright_version SET version_num = :to")
    with shop.database.write() as session:
        session.execute(version, {"to": "0008"})
    code, said = run("serve", "--data", str(shop.settings.data), "--port", "0")
    with shop.database.write() as session:
        session.execute(version, {"to": latest()})
    assert code == 1
    assert "stop them all, then start one; nothing was changed" in said


def test_a_server_that_hangs_in_the_middle_of_a_write_is_cut_off_and_holds_nobody_up(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = f"/heads/{shop.bench.head.id}/stem-heights"
    [before] = shop.all("SELECT count(*) FROM reading")
    here = "http://localhost"
    with (
        opened(shop.settings.url) as other,
        TestClient(
            create_app(shop.settings, shop.database),
            base_url=here,
            headers={"Origin": here},
            follow_redirects=False,
        ) as tablet,
    ):
        tablet.cookies.set(shop.settings.cookie_name, shop.servers[0].tokens["Marek"])
        name, had, had_id = fields(tablet.get(page).text, "stem_height")[5]
        form = {"client_key": token_hex(16), name: "1.8655", had: had_id}
        with other.write():
            monkeypatch.setattr(app.db, "BUSY_SECONDS", 0.05)
            answer = tablet.post(page, data=form)
            assert answer.status_code == 503
            assert "Another server of the shop is writing" in words(answer)
            assert KEPT in words(answer)
            assert shop.all("SELECT count(*) FROM reading") == [before]
        monkeypatch.undo()
        monkeypatch.setattr(app.db, "HUNG_SECONDS", 0.2)

        def write_and_hang() -> None:
            with other.write() as hangs:
                # What it wrote is undone while this one waits its turn.
                assert tablet.post(page, data=form).status_code == 303
                hangs.execute(text("SELECT 1"))

        with pytest.raises(DatabaseError, match="idle-in-transaction"):
            write_and_hang()
    assert shop.all("SELECT count(*) FROM reading") == [before + 1]


def test_one_that_was_killed_leaves_the_other_at_work(shop: Shop) -> None:
    killed, other = shop.servers
    killed.process.send_signal(signal.SIGKILL)
    killed.process.wait(10)
    page = f"/heads/{shop.bench.head.id}/stem-heights"
    tablet = other.browser("Marek")
    name, had, had_id = fields(tablet.get(page).text, "stem_height")[0]
    form = {"client_key": token_hex(16), name: "1.8633", had: had_id}
    assert tablet.post(page, data=form).status_code == 303


def test_a_database_that_was_started_again_is_found_again(shop: Shop) -> None:
    _, server = shop.servers
    tablet = server.browser("Marek")
    page = f"/heads/{shop.bench.head.id}/stem-heights"
    name, had, had_id = fields(tablet.get(page).text, "stem_height")[1]
    form = {"client_key": token_hex(16), name: "1.8644", had: had_id}
    shop.database.close()
    with shop.cluster.away():
        answer = tablet.post(page, data=form)
        assert answer.status_code == 503
        assert "The database does not answer" in answer.text
        assert KEPT in answer.text
    assert tablet.post(page, data=form).status_code == 303
    assert tablet.post(page, data=form).status_code == 303
    key = form["client_key"]
    assert shop.all(f"SELECT typed FROM reading WHERE client_key LIKE '{key}%'") == ["1.8644"]

"""A head on the bench of the running shop, and pages read as a person reads them."""

from __future__ import annotations

import html
import re
import shutil
from copy import copy
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from secrets import token_hex

from httpx2 import Response
from sqlmodel import Session, select
from starlette.testclient import TestClient

from app import migrate
from app.db import Database, now
from app.models.event import Event
from app.models.person import Person
from app.models.reading import Reading
from tests.databases import opened
from tests.services.cast import Cast
from tests.services.finished import finish_head
from tests.services.floor import Done, Floor, nothing


class Bench(Floor):
    """The floor of the service tests in the shop of the page tests, half an hour ago."""

    def __init__(self, database: Database, minutes_ago: float = 30) -> None:
        with database.read() as session:
            people = {person.name: person for person in session.exec(select(Person))}
        cast = Cast(people["Odile"], people["Marek"], people["Wilma"])
        super().__init__(database, cast, now() - timedelta(minutes=minutes_ago))
        self.lay_out()
        self.hands.step = timedelta(seconds=5)

    def at(self, label: str, page: str) -> str:
        """The address of a position's page."""
        return f"/positions/{self.ports[label].id}/{page}"


STAGES: dict[str, Done] = {
    "bare": nothing,
    "read": Floor.read_rings,
    "set": Floor.set_and_clamped,
    "corrected": Floor.corrected,
    "bored": Floor.bored,
    "ringed": Floor.ringed,
    "finished": finish_head,
}


class Stages:
    """Benches at a stage, each built once; a test gets a copy, which takes a millisecond."""

    def __init__(self, shop: Path, folder: Path) -> None:
        self.shop, self.folder = shop, folder
        self.built: dict[str, tuple[Path, Bench]] = {}

    def file(self, stage: str) -> Path:
        """A database of the shop with the bench at a stage, in one piece."""
        if stage not in self.built:
            file = self.folder / f"{stage}.sqlite3"
            shutil.copyfile(self.shop, file)
            with opened(f"sqlite:///{file}") as database:
                bench = Bench(database)
                STAGES[stage](bench)
            self.built[stage] = (migrate.copy_sqlite(file, self.folder, stage), bench)
        return self.built[stage][0]

    def bench(self, stage: str, database: Database) -> Bench:
        """The bench of a stage on a copy of its database."""
        self.file(stage)
        bench = copy(self.built[stage][1])
        bench.database = database
        bench.hands = replace(bench.hands, database=database)
        return bench


def words(answer: Response) -> str:
    """What a page says, without its markup."""
    text = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", answer.text, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def send(browser: TestClient, url: str, key: str = "", **fields: str) -> Response:
    """Send a plain form, as without scripts."""
    return browser.post(url, data={"client_key": key or token_hex(16), **fields})


def cells(answer: Response, *names: str) -> list[str]:
    """The names of a page's reading fields, in order; `names` are parts of those wanted."""
    found = re.findall(r'<input class="read[^"]*"[^>]*? name="([^"]+)"', answer.text)
    if not names:
        return found
    return [next(each for each in found if name in each) for name in names]


def hidden(answer: Response) -> dict[str, str]:
    """The kept reading of each field, as a page carries it and as a live answer tells it."""
    carried = re.findall(r'<input type="hidden" name="(had\.[^"]+)" value="([^"]*)"', answer.text)
    told = re.findall(r'<data value="([^"]+)" data-had="([^"]*)"', answer.text)
    return dict(carried) | {f"had.{name}": had for name, had in told}


def events(session: Session) -> int:
    """How many changes the shop's log holds."""
    return len(session.exec(select(Event.id)).all())


def readings(session: Session) -> int:
    """How many readings are on record."""
    return len(session.exec(select(Reading.id)).all())

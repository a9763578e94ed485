"""A running shop for page tests: its people, browsers, and someone signed in on one."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlmodel import Session, select
from starlette.testclient import TestClient

from app import migrate
from app.config import Settings
from app.db import Database, now
from app.main import create_app
from app.models.person import Person
from app.services.people import add_person, retire
from app.services.pin import hash_pin
from app.services.shop import open_shop
from app.services.sign_in import new_token, sign_in
from app.services.write import Write
from app.workflow.kinds import Unit
from app.workflow.words import Role
from seed_demo.hands import Hands
from seed_demo.shop import Shop, fit_out
from tests.databases import opened
from tests.midday import MIDDAY
from tests.web.bench import Bench, Stages
from tests.web.measuring import FreshHead, fresh_head

HERE = "http://testserver"


@dataclass(frozen=True)
class Cast:
    """The shop's people by name; each has a PIN, and Rufus is retired."""

    ids: dict[str, int]
    pins: dict[str, str]

    def __getitem__(self, name: str) -> int:
        return self.ids[name]


PINS = {"Odile": "4711", "Wilma": "2580", "Marek": "7394", "Rufus": "6172"}
ROLES = {
    "Odile": Role.OWNER,
    "Wilma": Role.SERVICE_WRITER,
    "Marek": Role.MACHINIST,
    "Rufus": Role.MACHINIST,
}
BY_ROLE = {"owner": "Odile", "service_writer": "Wilma", "machinist": "Marek"}


def open_the_shop(session: Session) -> Write:
    """Odile's shop with everyone in it; further changes through the answer are by Odile."""
    tx = Write(session, by=None)
    hashes = {name: hash_pin(pin, "cheap") for name, pin in PINS.items()}
    open_shop(
        tx,
        name="Lindenau Heads",
        owner="Odile",
        pin_hash=hashes["Odile"],
        zone=MIDDAY,
        currency="EUR",
        unit=Unit.INCH,
        base_address=HERE,
    )
    for name in ("Wilma", "Marek", "Rufus"):
        person = add_person(tx, name, ROLES[name], hashes[name])
        if name == "Rufus":
            retire(tx, person.id)
    return tx


@pytest.fixture(scope="session")
def shop_template(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file with the shop's people, in one piece."""
    folder = tmp_path_factory.mktemp("shop")
    file = folder / "shop.sqlite3"
    shutil.copyfile(sqlite_template, file)
    with opened(f"sqlite:///{file}") as database, database.write() as session:
        open_the_shop(session)
    return migrate.copy_sqlite(file, folder, "shop")


@pytest.fixture(scope="session")
def stages(shop_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Stages:
    """The bench at every stage that a test has asked for."""
    return Stages(shop_template, tmp_path_factory.mktemp("stages"))


@pytest.fixture
def stage() -> str:
    """How far the bench is; a file or a test that starts elsewhere says so."""
    return "bare"


@pytest.fixture
def shop_url(
    request: pytest.FixtureRequest, shop_template: Path, stages: Stages, tmp_path: Path
) -> str:
    """A fresh database of the shop, with the bench at its stage for a test that works there."""
    file = tmp_path / "seatwright.sqlite3"
    at_work = "bench" in request.fixturenames
    shutil.copyfile(
        stages.file(request.getfixturevalue("stage")) if at_work else shop_template, file
    )
    return f"sqlite:///{file}"


@pytest.fixture
def database(shop_url: str) -> Iterator[Database]:
    """The shop's database: pages are tested on SQLite, services on both kinds."""
    with opened(shop_url) as database:
        yield database


@pytest.fixture
def settings(make_settings: Callable[..., Settings], shop_url: str) -> Settings:
    """How the shop's server runs."""
    return make_settings(database_url=shop_url)


@pytest.fixture
def cast(database: Database) -> Cast:
    """Who is who."""
    with database.read() as session:
        ids = {person.name: person.id for person in session.exec(select(Person))}
    return Cast(ids, PINS)


@pytest.fixture
def crib(database: Database, cast: Cast) -> Shop:
    """Machine, cutters, fixtures, pilots, instruments and a shelf, as the demo shop has them."""
    with database.read() as session:
        odile, marek, wilma = (
            session.get_one(Person, cast[name]) for name in ("Odile", "Marek", "Wilma")
        )
    since = now() - timedelta(days=7)
    return fit_out(Hands(database, odile, since), since, odile, marek, wilma)


@pytest.fixture
def bench(stages: Stages, stage: str, database: Database) -> Bench:
    """An iron head of eight valves as far as `stage` says."""
    return stages.bench(stage, database)


@pytest.fixture
def head(bench: Bench) -> FreshHead:
    """A head that nothing was measured on yet, beside the one on the bench."""
    return fresh_head(bench)


@pytest.fixture
def app(settings: Settings, database: Database) -> FastAPI:
    """The whole app over the shop's database."""
    return create_app(settings, database)


@pytest.fixture
def new_client(app: FastAPI) -> Iterator[Callable[[], TestClient]]:
    """Makes browsers: each sends this shop's origin, keeps cookies, follows no redirect."""
    with ExitStack() as open_ones:

        def make() -> TestClient:
            return open_ones.enter_context(
                TestClient(app, base_url=HERE, headers={"Origin": HERE}, follow_redirects=False)
            )

        yield make


@pytest.fixture
def client(new_client: Callable[[], TestClient]) -> TestClient:
    """A browser on which nobody is signed in."""
    return new_client()


@pytest.fixture
def signed_in_as(
    new_client: Callable[[], TestClient], database: Database, settings: Settings, cast: Cast
) -> Callable[[str], TestClient]:
    """`signed_in_as("machinist")` or `signed_in_as("Marek")`: a browser where that person is."""

    def make(who: str) -> TestClient:
        browser = new_client()
        token = new_token()
        with database.write() as session:
            person = session.get(Person, cast[BY_ROLE.get(who, who)])
            assert person is not None
            sign_in(
                Write(session, by=None), person.id, person.pin_hash, token=token, address="test"
            )
        browser.cookies.set(settings.cookie_name, token)
        return browser

    return make

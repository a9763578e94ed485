"""The same shop, built by the same hands, on SQLite and on PostgreSQL."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

from sqlmodel import select
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database
from app.main import create_app
from app.models.person import Person
from app.services.sign_in import new_token, sign_in
from app.services.write import Write
from tests.databases import opened
from tests.postgres import Cluster
from tests.web.bench import Bench
from tests.web.conftest import HERE, open_the_shop
from tests.web.form_fuzz import Shops


def two_shops(postgres: Cluster, sqlite_url: str, folder: Path, until: ExitStack) -> Shops:
    """Odile signed in at both, with a head bored and one that is only taken in."""
    name = postgres.new_database()
    until.callback(postgres.drop, name)
    urls = (sqlite_url, postgres.url(name))
    databases = [until.enter_context(opened(url)) for url in urls]
    browsers = [
        until.enter_context(_browser(url, database, folder))
        for url, database in zip(urls, databases, strict=True)
    ]
    return Shops(tuple(browsers))


def _browser(url: str, database: Database, folder: Path) -> TestClient:
    with database.write() as session:
        open_the_shop(session)
    bench = Bench(database)
    bench.bored()
    bench.hands.by(bench.cast.service_writer).take_in(customer="Larch Mill", wanted="two seats")
    token = new_token()
    with database.write() as session:
        odile = session.exec(select(Person).where(Person.name == "Odile")).one()
        sign_in(Write(session, by=None), odile.id, odile.pin_hash, token=token, address="test")
    settings = Settings(
        data=folder, database_url=url, pin_cost="cheap", trusted_hosts=("testserver",)
    )
    browser = TestClient(
        create_app(settings, database),
        base_url=HERE,
        headers={"Origin": HERE},
        follow_redirects=False,
        raise_server_exceptions=False,
    )
    browser.cookies.set(settings.cookie_name, token)
    return browser

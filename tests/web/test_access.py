"""Who may do what: every route, for nobody, each role and someone retired."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from httpx2 import Response
from sqlmodel import col, select, update
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database, now
from app.main import create_app
from app.models.person import Person, SignIn
from app.services.sign_in import new_token, token_hash
from app.web.access import may
from app.workflow.permissions import PERMISSIONS, Verb, refusal
from app.workflow.words import Role
from tests.web.conftest import BY_ROLE, HERE, Cast
from tests.web.route_table import KEYED, MOUNTED, PUBLIC, ROUTES

SignedInAs = Callable[[str], TestClient]


def served(app: FastAPI) -> set[str]:
    """Every method and path the app answers to; HEAD comes with its GET."""
    found = set()
    for context in iter_route_contexts(app.routes):
        path = context.path
        assert path is not None
        methods = getattr(context, "methods", None)
        if methods is None:
            assert path in MOUNTED, f"{path} is mounted and not known to be open to all"
            continue
        found |= {f"{method} {path}" for method in methods - {"HEAD"}}
    return found


def test_the_table_names_every_route_and_no_other(app: FastAPI) -> None:
    assert served(app) == {*ROUTES, *KEYED}, "write each route with its verb into route_table.py"


@dataclass(frozen=True)
class Doors:
    """One running shop for all knocks: each comes with a sign-in of its own."""

    app: FastAPI
    client: TestClient
    database: Database
    cookie_name: str

    def knock(self, route: str, name: str | None) -> Response:
        """Ask for a route as someone, or as nobody, with ids that nothing has."""
        method, _, path = route.partition(" ")
        filled = path.replace("{number}", "26-999999")
        filled = re.sub(r"\{[^}]+\}", "2147483647", filled)
        headers = {"Cookie": f"{self.cookie_name}={self._sign_in(name)}"} if name else {}
        return self.client.request(method, filled, headers=headers)

    def _sign_in(self, name: str) -> str:
        """A live sign-in, also for someone retired: as if it had been forgotten when they left."""
        token = new_token()
        with self.database.write() as session:
            person = session.exec(select(Person).where(Person.name == name)).one()
            session.add(
                SignIn(
                    token_hash=token_hash(token),
                    person_id=person.id,
                    started_at=now(),
                    last_seen=now(),
                )
            )
        return token


@pytest.fixture(scope="module")
def doors(shop_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Doors]:
    file = tmp_path_factory.mktemp("doors") / "shop.sqlite3"
    shutil.copyfile(shop_template, file)
    settings = Settings(data=file.parent, pin_cost="cheap", trusted_hosts=("testserver",))
    with closing(Database(f"sqlite:///{file}")) as database:
        app = create_app(settings, database)
        with TestClient(
            app, base_url=HERE, headers={"Origin": HERE}, follow_redirects=False
        ) as client:
            yield Doors(app, client, database, settings.cookie_name)


def sent_to_sign_in(answer: Response) -> bool:
    if answer.status_code == 401:
        return True
    return answer.status_code == 303 and answer.headers["location"].startswith("/sign-in")


GUARDED = sorted(route for route, verb in ROUTES.items() if verb is not PUBLIC)
OPEN = sorted(route for route, verb in ROUTES.items() if verb is PUBLIC)


@pytest.mark.parametrize("route", GUARDED)
def test_nobody_signed_in_gets_only_the_sign_in_page(doors: Doors, route: str) -> None:
    assert sent_to_sign_in(doors.knock(route, None))


@pytest.mark.parametrize("route", GUARDED)
def test_someone_retired_gets_only_the_sign_in_page(doors: Doors, route: str) -> None:
    assert sent_to_sign_in(doors.knock(route, "Rufus"))


@pytest.mark.parametrize("route", GUARDED)
@pytest.mark.parametrize("role", list(Role))
def test_a_role_gets_where_the_permissions_let_it(doors: Doors, role: Role, route: str) -> None:
    answer = doors.knock(route, BY_ROLE[role.value])
    verb = ROUTES[route]
    assert verb is not None
    if role in PERMISSIONS[verb]:
        assert answer.status_code not in (401, 403)
        assert not sent_to_sign_in(answer)
    else:
        assert answer.status_code == 403
        assert refusal(verb) in unescape(answer.text)


@pytest.mark.parametrize("route", KEYED)
@pytest.mark.parametrize("name", [None, "Odile"])
def test_no_sign_in_counts_where_a_key_does(doors: Doors, name: str | None, route: str) -> None:
    answer = doors.knock(route, name)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert answer.json()["errors"][0]["message"].startswith("Bring a key")


@pytest.mark.parametrize("route", OPEN)
@pytest.mark.parametrize("name", [None, "Rufus", "Wilma"])
def test_what_is_open_to_all_is_open_to_anyone(doors: Doors, name: str | None, route: str) -> None:
    assert doors.knock(route, name).status_code not in (401, 403)


def test_a_route_that_is_not_in_the_table_is_found(app: FastAPI) -> None:
    before = served(app)
    app.add_api_route("/forgotten", lambda: None)
    assert served(app) - before == {"GET /forgotten"}
    assert "GET /forgotten" not in ROUTES


def test_a_page_asked_for_before_signing_in_comes_after_it(client: TestClient) -> None:
    assert client.get("/my-pin?from=foot").headers["location"] == (
        "/sign-in?next=/my-pin%3Ffrom%3Dfoot"
    )


def test_a_part_of_a_page_sends_the_whole_page_to_the_sign_in(client: TestClient) -> None:
    answer = client.get(
        "/my-pin",
        headers={
            "HX-Request-Type": "partial",
            "HX-Current-URL": "http://testserver/people",
        },
    )
    assert answer.status_code == 200
    assert answer.headers["HX-Redirect"] == "/sign-in?next=/people"


def test_a_program_is_told_in_json(client: TestClient) -> None:
    answer = client.post("/my-pin", headers={"Accept": "application/json"})
    assert answer.status_code == 401
    assert answer.json()["errors"][0]["message"].startswith("Sign in first")


def test_a_refusal_says_who_may(signed_in_as: SignedInAs) -> None:
    answer = signed_in_as("machinist").get("/people")
    assert answer.status_code == 403
    assert "Only an owner may add people" in answer.text
    assert "Marek" in answer.text


def test_a_made_up_token_opens_nothing(client: TestClient, settings: Settings) -> None:
    client.cookies.set(settings.cookie_name, new_token())
    assert sent_to_sign_in(client.get("/my-pin"))


def test_the_hash_in_the_database_is_no_token(
    signed_in_as: SignedInAs, client: TestClient, database: Database, settings: Settings
) -> None:
    signed_in_as("owner")
    with database.read() as session:
        stolen = session.exec(select(SignIn.token_hash)).one()
    client.cookies.set(settings.cookie_name, stolen)
    assert sent_to_sign_in(client.get("/people"))


def last_seen(database: Database, *, back: timedelta) -> None:
    """Move every sign-in's last use into the past."""
    with database.write() as session:
        session.execute(update(SignIn).values(last_seen=now() - back))


def seen(database: Database) -> timedelta:
    """How long ago the newest sign-in was last seen."""
    with database.read() as session:
        at = session.exec(select(SignIn.last_seen).order_by(col(SignIn.id).desc())).first()
        assert at is not None
        return now() - at


def test_a_page_moves_the_last_use_at_most_every_five_minutes(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("owner")
    last_seen(database, back=timedelta(minutes=4))
    browser.get("/my-pin")
    assert seen(database) > timedelta(minutes=3)
    last_seen(database, back=timedelta(minutes=6))
    browser.get("/my-pin")
    assert seen(database) < timedelta(minutes=1)


def test_a_page_that_asks_by_itself_is_not_a_person_using_it(
    app: FastAPI, signed_in_as: SignedInAs, database: Database
) -> None:
    app.add_api_route(
        "/news",
        lambda: PlainTextResponse("nothing"),
        dependencies=[may(Verb.READ, polls=True)],
    )
    browser = signed_in_as("machinist")
    last_seen(database, back=timedelta(hours=1))
    assert browser.get("/news").status_code == 200
    assert seen(database) > timedelta(minutes=59)


def test_what_a_page_looks_for_by_itself_is_not_a_person_using_it_either(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    last_seen(database, back=timedelta(hours=1))
    browser.get("/live")
    browser.get("/bench", headers={"HX-Request-Type": "partial", "Asked-Itself": "yes"})
    assert seen(database) > timedelta(minutes=59)


def test_production_takes_the_dear_pins(tmp_path: Path) -> None:
    app = create_app(Settings(data=tmp_path))
    assert app.state.settings.pin_cost == "dear"
    app.state.database.close()


def test_every_role_is_played(cast: Cast) -> None:
    assert set(BY_ROLE) == {role.value for role in Role}

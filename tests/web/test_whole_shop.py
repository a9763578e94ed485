"""Every page of a shop with something in every table: who gets it, and nothing typed ever runs."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from io import StringIO
from typing import get_args

import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from httpx2 import Response
from sqlmodel import col, func, select
from starlette.testclient import TestClient

from app.config import Settings
from app.db import metadata, now
from app.main import create_app
from app.models.event import Event
from app.models.person import Person, SignIn
from app.queries.spreadsheet import FORMULA_STARTS
from app.services.sign_in import new_token, token_hash
from app.web.routes.figures import FIGURES
from app.web.routes.lists import Key as ListKey
from app.workflow.kinds import SheetKind
from app.workflow.permissions import PERMISSIONS
from app.workflow.words import Role
from tests.databases import opened
from tests.web.bench import Stages
from tests.web.conftest import HERE
from tests.web.form_fuzz import LEFT_ALONE
from tests.web.pages import TYPED as TEXTS
from tests.web.pages import PageForm, read_forms
from tests.web.route_table import PUBLIC, ROUTES
from tests.web.test_access import sent_to_sign_in
from tests.web.whole_shop import MARK, OURS, TYPED, Whole, typed_columns, whole_shop

# Packing a thousand pages and unpacking them again would take longer than looking at them.
PLAIN = {"Origin": HERE, "Accept-Encoding": "identity"}
PAGES = [route for route in ROUTES if route.startswith("GET /") and route != "GET /openapi.json"]


@dataclass(frozen=True)
class Shop:
    """The whole shop, and a browser for each role, for someone retired and for nobody."""

    app: FastAPI
    whole: Whole
    browsers: dict[Role | str, TestClient]
    sheets: list[str] = field(default_factory=list)
    seen: dict[str, Response] = field(default_factory=dict)

    def owners(self, route: str) -> Response:
        """A page as the owner has it; asked for once for all tests, which change none of them."""
        if route not in self.seen:
            self.seen[route] = self.get(Role.OWNER, route, **ASKED.get(route, {}))
        return self.seen[route]

    def get(self, who: Role | str, route: str, **asked: str) -> Response:
        """One page of something that is there."""
        return self.browsers[who].get(self.whole.address(route), params=asked)

    def issue(self) -> None:
        """One sheet of each kind."""
        for kind in SheetKind:
            fields = {"kind": kind.value, "head": self.whole.known["head_id"]}
            if kind is SheetKind.TAG:
                del fields["head"]
            answer = self.browsers[Role.OWNER].post(
                self.whole.address("POST /jobs/{number}/sheets"), data=fields
            )
            assert answer.status_code == 303, answer.text
            self.sheets.append(answer.headers["location"].split("/")[2])
        self.whole.known["sheet_id"] = self.sheets[-1]

    def events(self) -> int:
        """How much was ever done."""
        with self.whole.database.read() as session:
            return session.exec(select(func.count(col(Event.id)))).one()


@pytest.fixture(scope="module")
def shop(stages: Stages, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    folder = tmp_path_factory.mktemp("whole")
    file = folder / "seatwright.sqlite3"
    file.write_bytes(stages.file("finished").read_bytes())
    url = f"sqlite:///{file}"
    settings = Settings(
        data=folder, database_url=url, pin_cost="cheap", trusted_hosts=("testserver",)
    )
    with opened(url) as database, ExitStack() as until:
        whole = whole_shop(stages.bench("finished", database), settings.photos)
        app = create_app(settings, database)
        browsers: dict[Role | str, TestClient] = {}
        for who in (*Role, "retired", "nobody"):
            browser = until.enter_context(
                TestClient(app, base_url=HERE, headers=PLAIN, follow_redirects=False)
            )
            browsers[who] = browser
            if who == "nobody":
                continue
            token = new_token()
            with database.write() as session:
                found = (
                    col(Person.retired_at).is_not(None)
                    if who == "retired"
                    else (Person.role == who) & col(Person.retired_at).is_(None)
                )
                person = session.exec(select(Person).where(found)).first()
                assert person is not None
                session.add(
                    SignIn(
                        token_hash=token_hash(token),
                        person_id=person.id,
                        started_at=now(),
                        last_seen=now(),
                    )
                )
            browser.cookies.set(settings.cookie_name, token)
        found = Shop(app, whole, browsers)
        found.issue()
        yield found


class Look(HTMLParser):
    """What in a page a browser would run, or would be led away by."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if given.get("src") == "x" or (tag == "script" and not given.get("src")):
            self.faults.append(f"<{tag} {given}>")
        for name, value in given.items():
            leads = name in ("href", "src", "action", "formaction", "xlink:href")
            if name.startswith("on") or (leads and value.startswith(TYPED[:4])):
                self.faults.append(f"<{tag} {name}={value}>")


# What was typed, where it is no longer text: its quotes, its tag, its template worked out.
RAW = (f'{MARK}"', f"{MARK}'", "<img src=x", "alert(7)>", "alert(7)&gt;49")


def faults(answer: Response, *, is_parsed: bool = True) -> list[str]:
    """What of a page or a file would run where it is opened."""
    kind = answer.headers.get("content-type", "")
    if kind.startswith("text/csv"):
        cells = [cell for row in csv.reader(StringIO(answer.text[1:])) for cell in row]
        return [cell for cell in cells if cell.startswith(FORMULA_STARTS) and not is_number(cell)]
    if kind.startswith("text/html"):
        found = [raw for raw in RAW if raw in answer.text]
        return found + (Look(answer.text).faults if is_parsed else [])
    return [] if kind.startswith(("image/", "application/json")) or not answer.text else [kind]


def is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("text/html", f"<p>{TYPED}</p>"),
        ("text/html", f'<svg><text x="{TYPED}"/></svg>'),
        ("text/html", f"<p>={MARK}&#34;&#39;&gt;&lt;img src=x onerror=alert(7)&gt;49</p>"),
        ("text/html", f'<a href="={MARK}">to it</a>'),
        ("text/html", "<p onclick=&quot;x&quot;>"),
        ("text/csv", f'\ufeffLot\r\n"={MARK}"\r\n'),
        ("text/plain", "anything"),
    ],
)
def test_what_would_run_is_found(kind: str, body: str) -> None:
    assert faults(Response(200, headers={"content-type": f"{kind}; charset=utf-8"}, text=body))


def test_every_text_that_people_type_is_spoiled() -> None:
    columns = {f"{table.name}.{each.name}" for table in metadata.sorted_tables for each in table.c}
    assert columns >= OURS
    assert len(list(typed_columns())) > 80


ASKED = {"GET /trace": {"of": "lot", "which": TYPED}, "GET /taken": {"key": "a1"}}
# Two lead on, one has nothing to say, and nothing was put together to be taken away.
OTHERWISE = {
    "GET /": 303,
    "GET /first-owner": 303,
    "GET /taken": 204,
    "GET /out-and-in/export": 404,
}


def test_each_page_opens_for_whom_it_may_and_runs_nothing_that_was_typed(shop: Shop) -> None:
    wrong: list[object] = []
    seen: set[str] = set()
    for route in PAGES:
        verb = ROUTES[route]
        for role in Role:
            may = verb is PUBLIC or role in PERMISSIONS[verb]
            if role is Role.OWNER:
                answer = shop.owners(route)
            else:
                answer = shop.get(role, route, **ASKED.get(route, {}))
            expected = OTHERWISE.get(route, 200) if may else 403
            found = faults(answer, is_parsed=role is Role.OWNER)
            if answer.status_code != expected or found:
                wrong.append((role, route, answer.status_code, found))
            seen.update(re.findall(r"~(\d+)~", answer.text))
    assert wrong == []
    # Some stand on no page while things are as they are here: a reason for what is not so.
    assert len(seen) > 75


def test_neither_nobody_nor_someone_retired_sees_anything_that_is_there(shop: Shop) -> None:
    wrong = [
        (who, route, answer.status_code)
        for route in PAGES
        if ROUTES[route] is not PUBLIC
        for who in ("nobody", "retired")
        if not sent_to_sign_in(answer := shop.get(who, route)) or MARK in answer.text
    ]
    assert wrong == []


def test_what_a_role_may_not_do_is_not_done_to_anything_that_is_there(shop: Shop) -> None:
    before = shop.events()
    wrong = []
    for route, verb in ROUTES.items():
        if verb is PUBLIC or not route.startswith("POST "):
            continue
        address = shop.whole.address(route)
        for who in (*(role for role in Role if role not in PERMISSIONS[verb]), "nobody", "retired"):
            answer = shop.browsers[who].post(address)
            refused = (
                answer.status_code == 403 if isinstance(who, Role) else sent_to_sign_in(answer)
            )
            if not refused:
                wrong.append((who, route, answer.status_code))
    assert wrong == []
    assert shop.events() == before


FILES = (
    *(f"/figures/{key}/csv" for key in FIGURES),
    *(f"/lists/{key}/csv" for key in get_args(ListKey)),
    "/lists/customers/csv",
)


def test_no_text_of_a_file_is_worked_out_by_a_spreadsheet(shop: Shop) -> None:
    owner = shop.browsers[Role.OWNER]
    inert = 0
    for address in (*FILES, *(f"/figures/{key}" for key in FIGURES)):
        answer = owner.get(address)
        assert (address, answer.status_code, faults(answer)) == (address, 200, [])
        inert += f"'={MARK}" in answer.text and address.endswith("csv")
    assert inert > 9


def test_every_kind_of_sheet_is_paper_without_anything_that_runs(shop: Shop) -> None:
    owner = shop.browsers[Role.OWNER]
    for sheet_id in shop.sheets:
        answer = owner.get(f"/sheets/{sheet_id}")
        assert (answer.status_code, faults(answer)) == (200, [])
        assert answer.text.count(MARK) > 3
        assert "script-src" not in answer.headers["Content-Security-Policy"]


def test_nothing_that_is_asked_for_runs_on_the_page_that_answers(shop: Shop) -> None:
    """What stands in an address, and what was typed into a form that is sent back."""
    owner = shop.browsers[Role.OWNER]
    wrong = []
    forms: dict[str, PageForm] = {}
    asked = 0
    for route in PAGES:
        html = shop.owners(route).text
        names = {*in_signature(shop.app, route), "back", "next", "q"}
        for form in read_forms(html)[0]:
            action = form.action or shop.whole.address(route)
            if form.method == "get":
                names |= {each.name for each in form.controls if each.name}
            elif not LEFT_ALONE.search(action):
                forms.setdefault(re.sub(r"\d+", "#", action), replace(form, action=action))
        if len(names) > 3:
            asked += 1
            answer = shop.get(Role.OWNER, route, **dict.fromkeys(names, TYPED))
            wrong += [(route, fault) for fault in faults(answer, is_parsed=False)]
    for form in forms.values():
        data = {each.name: each.value for each in form.controls if each.name}
        data |= {each.name: TYPED for each in form.controls if each.name and each.kind in TEXTS}
        answer = owner.post(form.action, data=data)
        assert answer.status_code < 500, form.action
        wrong += [(form.action, fault) for fault in faults(answer, is_parsed=False)]
    assert wrong == []
    assert asked > 15
    assert len(forms) > 60


def in_signature(app: FastAPI, route: str) -> set[str]:
    """What a route takes from its address."""
    path = route.partition(" ")[2]
    found = next(
        each.route
        for each in iter_route_contexts(app.routes)
        if each.path == path and "GET" in (getattr(each, "methods", None) or ())
    )
    return {each.alias for each in found.dependant.query_params}  # type: ignore[attr-defined]

"""Nothing on any page keeps anyone from using it, in light and in the dark."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from secrets import token_hex
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page
from sqlmodel import select

from app.config import Settings
from app.db import Database, now
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import CutOpening
from app.models.setting import Setting
from app.models.sheet import Sheet
from app.paths import folder
from app.services.cuts import open_cut
from app.services.sheets import Draw, issue_sheet
from app.web.render import environment
from app.web.sheet_page import drawer
from seed_demo import build
from seed_demo.hands import Hands
from seed_demo.shop import PINS
from tests.browser.axe import AXE_SCRIPT, Barriers
from tests.browser.conftest import TABLET
from tests.browser.demo_pages import NOBODY, STATES, At
from tests.databases import opened
from tests.live import LiveShop, serving
from tests.web.test_drawing import schemes

# As high as a page is, so that the bar at the foot of the screen covers nothing of it.
TALL = {**TABLET, "viewport": {"width": 1024, "height": 2600}}


@pytest.fixture(scope="module")
def demo(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveShop]:
    """The demo shop with a job at every stage; nothing is changed in it here."""
    place = tmp_path_factory.mktemp("demo")
    file = place / "demo.sqlite3"
    shutil.copyfile(sqlite_template, file)
    url = f"sqlite:///{file}"
    with opened(url) as database:
        photos = place / "photos"
        draw = drawer("http://127.0.0.1:8137", photos)
        build(database, draw, photos)
        while_the_spindle_turns(database)
        issue_again(database, draw)
    settings = Settings(data=place, database_url=url, pin_cost="cheap", owner_code="TEST-CODE")
    with serving(settings) as shop:
        yield shop


def while_the_spindle_turns(database: Database) -> None:
    """Two positions that the demo leaves between two visits: one gauged, one only opened."""
    with database.read() as session:
        at = At(session)
        setting = session.get_one(Setting, at.setting("Tolland"))
        gauged, open_one = (
            session.get_one(Port, at.port("Tolland", label)) for label in ("3E1", "4E1")
        )
        marek = session.exec(select(Person).where(Person.name == "Marek")).one()
        # While that setting is good: one of another day is read once more first.
        opened_at = max(session.exec(select(CutOpening.at)))
    hands = Hands(database, marek, opened_at + timedelta(minutes=5))
    hands.cut(gauged, setting, ["34.117", "34.116", "6.35"])
    with hands.writing() as tx:
        open_cut(tx, open_one, setting.id, was_touched=True)


def issue_again(database: Database, draw: Draw) -> None:
    """A second revision of a set-up sheet, so that its first is superseded."""
    with database.read() as session:
        sheet = session.get_one(Sheet, At(session).sheet("set_up"))
        job = session.get_one(Job, sheet.job_id)
        head = session.get(Head, sheet.head_id)
        odile = session.exec(select(Person).where(Person.name == "Odile")).one()
    with Hands(database, odile, now()).writing() as tx:
        issue_sheet(tx, sheet.kind, job, head, draw, because="a ring was swapped")


@pytest.fixture(scope="module")
def tablets(browser: Browser, demo: LiveShop) -> Iterator[Callable[[str], Page]]:
    """A tablet for each person, signed in once."""
    open_ones: dict[str, tuple[BrowserContext, Page]] = {}

    def of(name: str) -> Page:
        if name not in open_ones:
            context = browser.new_context(base_url=demo.url, reduced_motion="reduce", **TALL)
            context.add_init_script(AXE_SCRIPT)
            page = context.new_page()
            open_ones[name] = (context, page)
            if name != NOBODY:
                page.goto("/sign-in")
                page.get_by_role("link", name=name).tap()
                page.get_by_label("PIN").fill(PINS[name])
                page.get_by_role("button", name="Sign in").tap()
                page.wait_for_url(re.compile(r"/(counter|bench|office)$"))
        return open_ones[name][1]

    yield of
    for context, _ in open_ones.values():
        context.close()


@pytest.fixture(scope="module")
def drawn() -> Iterator[set[str]]:
    """The templates that pages were drawn from, with all their parts."""
    env: Any = environment()
    load, seen = env._load_template, set[str]()

    def note(name: str, more: Any) -> Any:
        seen.add(name)
        return load(name, more)

    env._load_template = note
    yield seen
    del env._load_template


SEND = """([address, fields]) => {
  const form = document.createElement("form");
  Object.assign(form, { method: "post", action: address });
  for (const [name, value] of Object.entries(fields)) {
    form.append(Object.assign(document.createElement("input"), { name, value }));
  }
  document.body.append(form);
  form.submit();
}"""


def show(page: Page, demo: LiveShop, name: str) -> None:
    """The page in this state, as it answers."""
    state = STATES[name]
    with demo.database.read() as session:
        address = state.address(At(session))
    if state.sends is None:
        answer = page.goto(address, wait_until="domcontentloaded")
    else:
        if page.url == "about:blank":
            page.goto("/healthz")
        with page.expect_navigation() as landed:
            page.evaluate(SEND, [address, {"client_key": token_hex(16), **state.sends}])
        answer = landed.value
    assert answer is not None
    assert answer.status == state.status


# Every target that stands by itself, as high as the hand before it needs: 56 px at the bench, 44
# elsewhere. A radio button is as high as the answer it stands in. Links in a line of text and the
# marks of sources are part of that text.
TOO_SMALL = """() => {
  if (!document.querySelector(".strip")) return null; // a paper, as wide as it is printed
  const least = document.querySelector("main.bench, main.bench-one") ? 56 : 44;
  const every = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  return [...document.querySelectorAll(every)]
    .filter((each) => each.checkVisibility())
    .filter((each) => !each.matches(".skip, .source-nth, [tabindex='-1']"))
    .map((each) => (each.matches("[type=radio], [type=checkbox]") ? each.closest("label") : each))
    .filter((each) => getComputedStyle(each).display !== "inline")
    .filter((each) => each.getBoundingClientRect().height < least - 0.5)
    .map((each) => `${each.getBoundingClientRect().height} px: ${each.outerHTML.slice(0, 160)}`);
}"""
# Half of a tablet each way is what 200 % leaves of it.
TWICE_THE_SIZE: Any = {"width": 512, "height": 384}


def runs_off_at_twice_the_size(page: Page) -> bool:
    """Must one scroll sideways to read it all?"""
    page.set_viewport_size(TWICE_THE_SIZE)
    width = int(page.evaluate("document.documentElement.scrollWidth"))
    page.set_viewport_size(TALL["viewport"])
    return width > TWICE_THE_SIZE["width"]


@pytest.mark.parametrize("name", STATES)
def test_nothing_keeps_anyone_from_using(
    name: str,
    demo: LiveShop,
    tablets: Callable[[str], Page],
    drawn: set[str],
    barriers: Barriers,
) -> None:
    page = tablets(STATES[name].who)
    show(page, demo, name)
    too_small = page.evaluate(TOO_SMALL)
    assert barriers.in_both_schemes(page) == []
    assert not too_small
    if too_small is not None and STATES[name].who == "Marek":
        assert not runs_off_at_twice_the_size(page)


def test_colours_of_one_value_in_the_light_are_of_one_use() -> None:
    values = schemes()["light"]
    alike = {
        frozenset(name for name in values if values[name] == value) for value in values.values()
    }
    # White: a ground, and the inks on two grounds of their own.
    assert {names for names in alike if len(names) > 1} == {
        frozenset({"well", "on-dye", "on-strip"})
    }


# Answers to typing, each made of parts that its page shows as well, and the empty shop's page,
# which has a test of its own.
NOT_SHOWN_ALONE = {
    "bare.html",
    "first_owner/new.html",
    "grids/_valves_said.html",
    "heads/_seen_while_typing.html",
    "ring_sets/_live.html",
}


def test_every_template_was_looked_at(
    demo: LiveShop, tablets: Callable[[str], Page], drawn: set[str]
) -> None:
    root = Path(folder("templates"))
    every = {each.relative_to(root).as_posix() for each in root.rglob("*.html")}
    if not every - NOT_SHOWN_ALONE <= drawn:  # this test alone, or some of the file
        for name, state in STATES.items():
            show(tablets(state.who), demo, name)
    assert every - NOT_SHOWN_ALONE <= drawn


FAINT = """<!doctype html><html lang="en"><title>Faint</title><main><h1>Faint</h1>
<p>As it should be.</p><p style="color: #999">Too faint.</p>
<p><button style="width: 12px; height: 12px; padding: 0" aria-label="One"></button><button
style="width: 12px; height: 12px; padding: 0" aria-label="Two"></button></p>
<button style="width: 60px; height: 60px">Three</button>
<div role="img">Nameless</div></main></html>"""


def test_what_would_keep_someone_is_found_every_time(browser: Browser, barriers: Barriers) -> None:
    page = browser.new_page()
    page.set_content(FAINT)
    for _ in range(2):
        found = [each.split(":")[0] for each in barriers(page)]
        assert found == ["color-contrast", "role-img-alt", "target-size", "target-size"]
    page.close()

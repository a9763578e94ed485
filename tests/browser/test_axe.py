"""Nothing on the main pages keeps anyone from using them, in light and in the dark."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page
from sqlmodel import Session, col, select

from app.config import Settings
from app.db import Database
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.models.setting import Setting
from app.models.sheet import Sheet
from app.web.sheet_page import drawer
from seed_demo import build
from seed_demo.shop import PINS
from tests.browser.conftest import TABLET
from tests.live import LiveShop, serving

# As high as a page is, so that the bar at the foot of the screen covers nothing of it.
TALL = {**TABLET, "viewport": {"width": 1024, "height": 2600}}


@pytest.fixture(scope="module")
def demo(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveShop]:
    """The demo shop with a job at every stage; nothing is changed in it here."""
    folder = tmp_path_factory.mktemp("demo")
    file = folder / "demo.sqlite3"
    shutil.copyfile(sqlite_template, file)
    url = f"sqlite:///{file}"
    with closing(Database(url)) as database:
        photos = folder / "photos"
        build(database, drawer("http://127.0.0.1:8137", photos), photos)
    settings = Settings(data=folder, database_url=url, pin_cost="cheap", owner_code="TEST-CODE")
    with serving(settings) as shop:
        yield shop


@pytest.fixture(scope="module")
def tablets(browser: Browser, demo: LiveShop) -> Iterator[Callable[[str], Page]]:
    """A tablet for each person, signed in once."""
    open_ones: dict[str, tuple[BrowserContext, Page]] = {}

    def of(name: str) -> Page:
        if name not in open_ones:
            context = browser.new_context(base_url=demo.url, reduced_motion="reduce", **TALL)
            page = context.new_page()
            page.goto("/sign-in")
            page.get_by_role("link", name=name).tap()
            page.get_by_label("PIN").fill(PINS[name])
            page.get_by_role("button", name="Sign in").tap()
            page.wait_for_url(re.compile(r"/(counter|bench|office)$"))
            open_ones[name] = (context, page)
        return open_ones[name][1]

    yield of
    for context, _ in open_ones.values():
        context.close()


class At:
    """Addresses in the demo shop, by customer and position."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def job(self, customer: str) -> Job:
        """The newest job of a customer whose name begins so."""
        found = self.session.exec(
            select(Job)
            .join(Customer, col(Customer.id) == col(Job.customer_id))
            .where(col(Customer.name).startswith(customer))
            .order_by(col(Job.id).desc())
        ).first()
        assert found is not None
        return found

    def head(self, customer: str) -> Head:
        """The first head of that job."""
        return self.session.exec(
            select(Head).where(Head.job_id == self.job(customer).id, Head.nth == 1)
        ).one()

    def port(self, customer: str, label: str) -> int:
        """A position of that head."""
        head = self.head(customer)
        return self.session.exec(
            select(Port.id).where(
                Port.head_id == head.id, Port.label == label, col(Port.is_void).is_(False)
            )
        ).one()

    def ring_set(self, customer: str, label: str) -> int:
        """The ring set of a position."""
        port = self.session.get_one(Port, self.port(customer, label))
        assert port.ring_set_id is not None
        return port.ring_set_id

    def setting(self, customer: str) -> int:
        """The newest setting of that job."""
        found = self.session.exec(
            select(Setting.id)
            .where(Setting.job_id == self.job(customer).id)
            .order_by(col(Setting.id).desc())
        ).first()
        assert found is not None
        return found


SEAT = "outer=1.534&width=.09&outer_wanted=1.52&width_wanted=.07&seat_angle=45&top_angle=30"
SEAT += "&throat_angle=60&valve_head=1.56&valve_angle=44&stem=1.853&stem_wanted=1.85"


PAGES: dict[str, tuple[str, Callable[[At], str]]] = {
    "counter": ("Wilma", lambda at: "/counter"),
    "counter, searched": ("Wilma", lambda at: "/counter?q=nobody"),
    "new job": ("Wilma", lambda at: "/jobs/new"),
    "job just taken in": ("Wilma", lambda at: f"/jobs/{at.job('Marrow').number}"),
    "job waiting": ("Wilma", lambda at: f"/jobs/{at.job('Pebble').number}"),
    "job of two heads": ("Wilma", lambda at: f"/jobs/{at.job('Cinder').number}"),
    "job over": ("Wilma", lambda at: f"/jobs/{at.job('Brook').number}"),
    "head described": ("Wilma", lambda at: f"/heads/{at.head('Juniper').id}/edit"),
    "work of each position": ("Wilma", lambda at: f"/heads/{at.head('Fern').id}/positions"),
    "consent": ("Wilma", lambda at: f"/jobs/{at.job('Pebble').number}/consent"),
    "parts counted": ("Wilma", lambda at: f"/jobs/{at.job('Sorrel').number}/received"),
    "hand-over": ("Wilma", lambda at: f"/jobs/{at.job('Sorrel').number}/hand-over"),
    "today": ("Wilma", lambda at: "/today"),
    "notices": ("Wilma", lambda at: f"/jobs/{at.job('Sorrel').number}/notices"),
    "another end": ("Wilma", lambda at: f"/jobs/{at.job('Sorrel').number}/end"),
    "job handed on": ("Marek", lambda at: f"/jobs/{at.job('Harrow').number}"),
    "customer's record": ("Wilma", lambda at: f"/heads/{at.head('Brook').id}/customer-record"),
    "bench": ("Marek", lambda at: "/bench"),
    "inspections": ("Marek", lambda at: f"/heads/{at.head('Juniper').id}/inspections"),
    "inspection, point by point": (
        "Marek",
        lambda at: f"/heads/{at.head('Gannet').id}/inspections",
    ),
    "inspection, the customer is asked": (
        "Marek",
        lambda at: f"/heads/{at.head('Wharf').id}/inspections",
    ),
    "job, the customer is asked": ("Wilma", lambda at: f"/jobs/{at.job('Wharf').number}"),
    "deck flatness": ("Marek", lambda at: f"/heads/{at.head('Gannet').id}/flatness"),
    "stem heights, and below the deck": (
        "Marek",
        lambda at: f"/heads/{at.head('Gannet').id}/stem-heights",
    ),
    "stem heights": ("Marek", lambda at: f"/heads/{at.head('Tolland').id}/stem-heights"),
    "guides": ("Marek", lambda at: f"/heads/{at.head('Juniper').id}/guides"),
    "guides, serviced": ("Marek", lambda at: f"/heads/{at.head('Gorse').id}/guides?places=both"),
    "new guides": ("Marek", lambda at: f"/heads/{at.head('Gorse').id}/new-guides"),
    "old pockets": ("Marek", lambda at: f"/heads/{at.head('Lantern').id}/pockets"),
    "seats finished": ("Marek", lambda at: f"/heads/{at.head('Harrow').id}/finish"),
    "seats below the deck": (
        "Marek",
        lambda at: f"/heads/{at.head('Sorrel').id}/finish?of=deck",
    ),
    "valves below the deck": (
        "Marek",
        lambda at: f"/heads/{at.head('Juniper').id}/stem-heights?below=deck",
    ),
    "valves and springs": ("Marek", lambda at: f"/heads/{at.head('Sorrel').id}/valves"),
    "contact": ("Marek", lambda at: f"/heads/{at.head('Sorrel').id}/valves?of=contact"),
    "valves of a job that is over": ("Wilma", lambda at: f"/heads/{at.head('Ash').id}/valves"),
    "vacuum test": ("Marek", lambda at: f"/heads/{at.head('Sorrel').id}/vacuum"),
    "vacuum test, nothing said yet": ("Marek", lambda at: f"/heads/{at.head('Tolland').id}/vacuum"),
    "vacuum test, read only": ("Wilma", lambda at: f"/heads/{at.head('Ash').id}/vacuum"),
    "a chamber out": ("Marek", lambda at: f"/heads/{at.head('Sorrel').id}/chambers"),
    "chambers, read only": ("Wilma", lambda at: f"/heads/{at.head('Ash').id}/chambers"),
    "seats wanted": ("Marek", lambda at: f"/heads/{at.head('Harrow').id}/seats"),
    "seat, worked out": ("Marek", lambda at: f"/positions/{at.port('Harrow', '3E')}/seat?{SEAT}"),
    "seat, not to be": (
        "Marek",
        lambda at: f"/positions/{at.port('Harrow', '3E')}/seat?{SEAT}&inner=1.4",
    ),
    "new ring set": ("Marek", lambda at: f"/jobs/{at.job('Pebble').number}/ring-sets/new"),
    "rings read": ("Marek", lambda at: f"/ring-sets/{at.ring_set('Cinder', '1E')}"),
    "a ring in doubt": ("Marek", lambda at: f"/ring-sets/{at.ring_set('Thistle', '4E')}"),
    "setting plan": ("Marek", lambda at: f"/jobs/{at.job('Cinder').number}/plan"),
    "setting": ("Marek", lambda at: f"/settings/{at.setting('Tolland')}"),
    "clamp-up": ("Marek", lambda at: f"/heads/{at.head('Tolland').id}/clamp-ups/new"),
    "to be cut": ("Marek", lambda at: f"/positions/{at.port('Tolland', '3E1')}/cut"),
    "bored": ("Marek", lambda at: f"/positions/{at.port('Tolland', '1E1')}/cut"),
    "on hold": ("Marek", lambda at: f"/positions/{at.port('Juniper', '3E')}/hold"),
    "rings in": ("Marek", lambda at: f"/heads/{at.head('Tolland').id}/rings-in"),
    "rings to heat for": ("Marek", lambda at: f"/heads/{at.head('Tolland').id}/heat"),
    "head cooling": ("Marek", lambda at: f"/heads/{at.head('Quay').id}/heat"),
    "deck": ("Marek", lambda at: f"/heads/{at.head('Quay').id}/deck"),
    "signing": ("Marek", lambda at: f"/jobs/{at.job('Harrow').number}/sign"),
    "shelf": ("Marek", lambda at: "/shelf"),
    "crib": ("Marek", lambda at: "/crib"),
    "cutter": ("Marek", lambda at: "/crib/cutters/1"),
    "find": ("Wilma", lambda at: "/find?q=lane&state=open"),
    "find nothing": ("Wilma", lambda at: "/find?q=nowhere"),
    "trace": ("Odile", lambda at: "/trace?of=cutter&which=1"),
    "papers": ("Marek", lambda at: f"/jobs/{at.job('Fern').number}/sheets"),
    "tag": ("Marek", lambda at: f"/jobs/{at.job('Juniper').number}/tag"),
    "issued sheet": ("Marek", lambda at: f"/sheets/{at.session.exec(select(Sheet.id)).first()}"),
    "office": ("Odile", lambda at: "/office"),
    "figures": ("Odile", lambda at: "/figures"),
    "a figure, month by month": ("Odile", lambda at: "/figures/first-time"),
    "a figure, window by window": ("Odile", lambda at: "/figures/interference"),
    "a figure, drawn": ("Odile", lambda at: "/figures/labels"),
    "shop rules": ("Odile", lambda at: "/shop-rules"),
    "one rule": ("Odile", lambda at: "/shop-rules/least_cut"),
    "heat cases": ("Odile", lambda at: "/shop-rules/heat-cases"),
    "materials": ("Odile", lambda at: "/materials"),
    "one material": ("Odile", lambda at: "/materials/own-2"),
    "new material": ("Odile", lambda at: "/materials/new?of=head"),
    "one heat case": ("Odile", lambda at: "/shop-rules/heat-cases/aluminium/E/hard"),
    "people": ("Odile", lambda at: "/people"),
}


@pytest.mark.parametrize("name", PAGES)
def test_nothing_keeps_anyone_from_using(
    name: str,
    demo: LiveShop,
    tablets: Callable[[str], Page],
    barriers: Callable[..., list[str]],
) -> None:
    who, address = PAGES[name]
    page = tablets(who)
    with demo.database.read() as session:
        answer = page.goto(address(At(session)))
    assert answer is not None
    assert answer.ok
    assert barriers(page) == []
    page.emulate_media(color_scheme="dark")
    in_the_dark = barriers(page, "color-contrast")
    page.emulate_media(color_scheme="light")
    assert in_the_dark == []


# The bench's own pages, by their names above.
AT_THE_BENCH = (
    "stem heights",
    "old pockets",
    "rings read",
    "setting plan",
    "setting",
    "to be cut",
    "bored",
    "on hold",
    "rings in",
    "seats finished",
)
TOO_SMALL = """least => [...document.querySelectorAll(
    "main .button, main .link[type=submit], main input.read, main select, main summary, main .spot"
  )].filter(each => each.checkVisibility() && each.tagName !== "SPAN")
   .map(each => [each.outerHTML.slice(0, 120), each.getBoundingClientRect().height])
   .filter(([_, height]) => height < least - 0.5)"""


def test_bench_targets_are_56_high_and_twice_the_size_needs_no_scrolling_sideways(
    demo: LiveShop, tablets: Callable[[str], Page]
) -> None:
    page = tablets("Marek")
    with demo.database.read() as session:
        at = At(session)
        addresses = [PAGES[name][1](at) for name in AT_THE_BENCH]
    try:
        for address in (*addresses, "/bench", "/shelf"):
            page.goto(address)
            if address != "/shelf":
                assert page.evaluate(TOO_SMALL, 56) == [], address
            # Half of a tablet's width is what 200 % leaves of it.
            page.set_viewport_size({"width": 512, "height": 384})
            assert page.evaluate("document.documentElement.scrollWidth") <= 512, address
            page.set_viewport_size(TALL["viewport"])
    finally:
        page.set_viewport_size(TALL["viewport"])

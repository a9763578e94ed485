"""A walk through the demo shop: every page and state, as each role, kept as pictures.

    python -m tests.browser.tour FOLDER

Builds the demo shop in a temporary folder and serves it on loopback, follows every link as each
person, and writes what each page looks like on a tablet both ways, on a PC and in the dark, with
an `index.html` to look through. A page whose make-up was pictured already, for this role or one
before, is only checked. The exit code is 1 when a page failed, a link led nowhere or a script
complained.
"""

from __future__ import annotations

import html
import queue
import re
import subprocess
import sys
import tempfile
import threading
from collections import Counter, deque
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import parse_qsl, urljoin, urlsplit

from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Locator,
    Page,
    sync_playwright,
)

from seed_demo.shop import PINS, ROLES
from tests.browser.conftest import CHROMIUM_FLAGS, chromium

VIEWS = (
    ("tablet", 1024, 768, "light"),
    ("upright", 768, 1024, "light"),
    ("pc", 1280, 900, "light"),
    ("dark", 1024, 768, "dark"),
)
WHO = ("Marek", "Wilma", "Odile")
STARTS_WITHIN_S = 90
# Searches and turns have no end; a few of each show how they look.
MOST_OF_A_QUERY = 3
NO_PAGE = "/no-such-page"
# Forms sent as nobody should send them: the page that comes back, by the page it is on.
SENT_BACK: dict[str, tuple[tuple[str, str], ...]] = {
    "/jobs/new": (("wanted", ""),),
    "/jobs/N/consent": (("limit", "about six hundred"),),
    "/heads/N/edit": (("layout", "EIXEI"),),
    "/heads/N/stem-heights": (("*", "1.85O"),),
    "/positions/N/hold": (("words", ""),),
    "/positions/N/wanted-rings/new": (("od_from", "large"),),
    "/ring-sets/N": (("*", "lots"),),
    "/settings/N": (("achieved", "1.9.1"),),
    "/crib/cutters/new": (("name", ""),),
}


@dataclass
class Sight:
    """One page in one state: how it answered, and the pictures of it."""

    role: str
    pattern: str
    url: str
    status: int
    name: str = ""
    pictures: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def is_fault(self) -> bool:
        """A page that failed, is not there though it is linked, or complains."""
        is_missing = self.status == 404 and self.pattern != NO_PAGE
        return self.status >= 500 or is_missing or bool(self.complaints)

    @property
    def line(self) -> str:
        """What is printed of it."""
        marks = [f"{len(self.complaints)} console errors" if self.complaints else "", *self.notes]
        return "  ".join([f"{self.status}", f"{self.role:15}", self.url, *filter(None, marks)])


@contextmanager
def shop(*command: str) -> Iterator[str]:
    """`seatwright …` on a free port until the block ends; its address."""
    with tempfile.TemporaryDirectory() as data:
        run = [sys.executable, "-m", "app", *command, "--data", data, "--port", "0"]
        server = subprocess.Popen(
            run, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8"
        )
        try:
            yield _address(server)
        finally:
            server.terminate()
            server.wait(20)


def _address(server: subprocess.Popen[str]) -> str:
    """Where it is open, as it says itself; the rest it says is read away while it runs."""
    said: queue.Queue[str] = queue.Queue()
    assert server.stdout is not None
    output = server.stdout

    def listen() -> None:
        for line in output:
            said.put(line)
        said.put("")

    threading.Thread(target=listen, daemon=True).start()
    heard = []
    while line := said.get(timeout=STARTS_WITHIN_S):
        heard.append(line)
        if found := re.search(r"Open\s+(http://\S+)", line):
            return found[1]
    raise RuntimeError("the shop did not start: " + "".join(heard))


class Tour:
    """One walk; `sights` is everything that was seen."""

    def __init__(self, browser: Browser, folder: Path) -> None:
        self.browser, self.folder = browser, folder
        self.sights: list[Sight] = []
        self._seen: set[tuple[str, str]] = set()
        self._names: Counter[str] = Counter()

    def walk_shop(self, base: str) -> None:
        """The demo shop: at the door, then as each person."""
        at_the_door = self.browser.new_context(base_url=base)
        page = at_the_door.new_page()
        self._look(page, "nobody", base + "/sign-in")
        page.get_by_role("link", name="Wilma").click()
        page.wait_for_load_state()
        self._look(page, "nobody", page.url)
        pin = page.get_by_label("PIN")
        pin.fill("0000")
        self._look_at_answer(page, "nobody", pin)
        at_the_door.close()
        for name in WHO:
            role = ROLES[name].screen
            context = self.browser.new_context(base_url=base, has_touch=True)
            page = context.new_page()
            page.goto("/sign-in")
            page.get_by_role("link", name=name).click()
            page.get_by_label("PIN").fill(PINS[name])
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url(re.compile(r"/(counter|bench|office)"))
            self._walk(context, page, role, base)
            context.close()

    def walk_empty_shop(self, base: str) -> None:
        """What the very first person sees."""
        context = self.browser.new_context(base_url=base)
        self._look(context.new_page(), "first owner", base + "/")
        context.close()

    def _walk(self, context: BrowserContext, page: Page, role: str, base: str) -> None:
        """Follow every link from home; look at each make-up of a page once."""
        waiting = deque(["/", NO_PAGE])
        met, queries = set(waiting), Counter[str]()
        while waiting:
            path = waiting.popleft()
            answer = context.request.get(base + path)
            pattern = pattern_of(path)
            text = answer.text() if "html" in answer.headers.get("content-type", "") else ""
            for link in links(text, answer.url, base):
                if link in met:
                    continue
                met.add(link)
                queries[pattern_of(link)] += "?" in link
                if "?" not in link or queries[pattern_of(link)] <= MOST_OF_A_QUERY:
                    waiting.append(link)
            made = (pattern, make_up(text))
            if made in self._seen or not text:
                if answer.status >= 400:
                    self._note(Sight(role, pattern, path, answer.status))
                continue
            self._seen.add(made)
            self._look(page, role, base + path)
            if fields := SENT_BACK.get(pattern):
                self._send_back(page, role, fields, pattern)

    def _send_back(
        self, page: Page, role: str, fields: tuple[tuple[str, str], ...], pattern: str
    ) -> None:
        """Type what cannot be right, send it, and look at what comes back."""
        key = (pattern, f"sent back to {role}")
        if key in self._seen:
            return
        for name, value in fields:
            wanted = "input.read" if name == "*" else f"[name={name}]"
            typed = page.locator(f"form[method=post] {wanted}:visible").first
            if not typed.count():
                return
            typed.fill(value)
        # The browser would keep an empty required field back; the server's words are wanted.
        page.evaluate("document.querySelectorAll('form').forEach(form => form.noValidate = true)")
        self._seen.add(key)
        self._look_at_answer(page, role, typed)

    def _look_at_answer(self, page: Page, role: str, typed: Locator) -> None:
        """Press the button of the form, and look at the page it answers with."""
        form = typed.locator("xpath=ancestor::form")
        button = form.locator("button[type=submit]:not([disabled]):not([hidden])").last
        with page.expect_navigation() as landed:
            button.click()
        status = landed.value.status if landed.value else 0
        self._picture(page, Sight(role, pattern_of(page.url), page.url, status, "sent back"))

    def _look(self, page: Page, role: str, url: str) -> Sight:
        """Open a page in front of everybody, and picture it in each view."""
        complaints: list[str] = []

        def note(message: ConsoleMessage) -> None:
            # The browser reports every answer of 400 and more; the status tells that already.
            if message.type == "error" and "responded with a status of" not in message.text:
                complaints.append(message.text)

        page.on("console", note)
        page.on("pageerror", lambda fault: complaints.append(str(fault)))
        answer = page.goto(url)
        sight = Sight(role, pattern_of(page.url), page.url, answer.status if answer else 0)
        sight.complaints = complaints
        self._picture(page, sight)
        page.remove_listener("console", note)
        return sight

    def _picture(self, page: Page, sight: Sight) -> None:
        stem = re.sub(r"[^a-z0-9]+", "-", f"{sight.pattern} {sight.name}".lower()).strip("-")
        stem = f"{sight.role.replace(' ', '-')}-{stem or 'home'}"
        self._names[stem] += 1
        sight.name = f"{stem}-{self._names[stem]}"
        for view, width, height, scheme in VIEWS:
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            if wide > 0 and scheme == "light":
                sight.notes.append(f"{view}: {wide} px wider than the screen")
            tall = page.evaluate("document.documentElement.scrollHeight") / height
            picture = f"{sight.name}-{view}.png"
            page.screenshot(path=self.folder / picture, full_page=True, animations="disabled")
            sight.pictures.append(picture)
            if view == "tablet" and tall > 1.05:
                sight.notes.append(f"{tall:.1f} screens on the tablet")
        page.emulate_media(color_scheme="light")
        self._note(sight)

    def _note(self, sight: Sight) -> None:
        self.sights.append(sight)
        print(sight.line.replace(urlsplit(sight.url).netloc, "").replace("http://", ""), flush=True)
        for each in sight.complaints:
            print(f"      {each}", flush=True)


def pattern_of(url: str) -> str:
    """``/jobs/26-0007/plan?together=yes`` is ``/jobs/N/plan?together``."""
    parts = urlsplit(url)
    path = re.sub(r"/(\d{2}-\d{4,6}|\d+|(?<=/shop-rules/)\w+)(?=/|$)", "/N", parts.path)
    keys = "&".join(sorted({key for key, _ in parse_qsl(parts.query, keep_blank_values=True)}))
    return f"{path}?{keys}" if keys else path


def links(text: str, at: str, base: str) -> list[str]:
    """Addresses of this shop that a page links to, without their fragments."""
    found = []
    for href in re.findall(r'<a\b[^>]*?\bhref="([^"]+)"', text):
        whole = urljoin(at, html.unescape(href)).split("#")[0]
        if whole.startswith(base + "/"):
            found.append(whole.removeprefix(base))
    return found


def make_up(text: str) -> str:
    """What a page is made of, whatever it says: its classes, its forms, its greyed buttons."""
    body = text.partition("<main")[2]
    classes = {one for each in re.findall(r'class="([^"]*)"', body) for one in each.split()}
    forms = {pattern_of(each) for each in re.findall(r'<form[^>]*? action="([^"]*)"', body)}
    return " ".join([*sorted(classes), *sorted(forms)])


def write_index(folder: Path, sights: list[Sight]) -> None:
    """All pictures by role and page, small, to open large."""
    lines = [
        "<!doctype html><meta charset=utf-8><title>Tour</title>",
        "<style>body{font:15px sans-serif;margin:24px}figure{display:inline-block;margin:4px}"
        "img{height:220px;border:1px solid #888}b.fault{color:#b00}</style>",
    ]
    for role in dict.fromkeys(sight.role for sight in sights):
        lines.append(f"<h1>{html.escape(role)}</h1>")
        for sight in sights:
            if sight.role != role or not sight.pictures:
                continue
            notes = html.escape(" · ".join([*sight.notes, *sight.complaints]))
            fault = ' class="fault"' if sight.is_fault else ""
            lines.append(
                f"<h3><b{fault}>{sight.status}</b> {html.escape(sight.name)} "
                f"<small>{html.escape(urlsplit(sight.url).path)} {notes}</small></h3>"
            )
            lines += [
                f'<figure><a href="{each}"><img loading="lazy" src="{each}" alt="{each}"></a>'
                f"</figure>"
                for each in sight.pictures
            ]
    (folder / "index.html").write_text("\n".join(lines), encoding="utf-8")


def main(arguments: list[str]) -> int:
    """Walk, write the pictures and the index; 1 when anything is at fault."""
    if len(arguments) != 1:
        print(__doc__, file=sys.stderr)
        return 2
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=[*CHROMIUM_FLAGS])
        tour = Tour(browser, folder)
        with shop("demo") as base:
            tour.walk_shop(base)
        with shop("serve") as base:
            tour.walk_empty_shop(base)
        browser.close()
    write_index(folder, tour.sights)
    faults = [sight for sight in tour.sights if sight.is_fault]
    pictures = sum(len(sight.pictures) for sight in tour.sights)
    print(f"{len(tour.sights)} pages, {pictures} pictures, {len(faults)} at fault: {folder}")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

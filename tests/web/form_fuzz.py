"""Every form that pages offer, sent with what nobody would type, to two shops at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from random import Random

from httpx2 import Response
from starlette.testclient import TestClient

from app.services.api_keys import PREFIX
from tests.web.pages import TYPED, PageForm, plain, read_forms

SCRIPT = "<script>alert(7)</script>"
BAD = (
    *("a\x00b", "\x1b[2J", "\x7f", "\ufffe", "a\x0bb", "\u2028", "\u200b"),
    *("\u202egnol", "שלום مرحبا", "e\u0301" * 60, "a" + "\u0300" * 300, "🔩", "ﬀ", "İ"),
    *("x" * 201, "x" * 4000, "x" * 4001, "9" * 40, "1" * 11, "2147483648", "-1", "0"),
    *("²", "1e999", "NaN", "-0", "٣", "1/0", "1 1/0", ".0000000000001", "99999 in", "1,2,3", " "),
    *("9999-12-31", "0001-01-01", "2026-02-30", "25:61"),
    *("'; DROP TABLE job; --", "{{7*7}}", SCRIPT, "\"'><svg onload=alert(7)>", "=1+1"),
    *("a\r\nSet-Cookie: a=b", "%s%n", "\\", "../../etc/passwd", "on", "yes", "None"),
)
HUGE = ("²", "0", "-1", "2147483647", "2147483648", "9" * 25, "1.5", "a", "", "\x00")
STARTS = (
    *("/counter", "/bench", "/office", "/shelf", "/crib", "/shop-rules", "/people", "/today"),
    *("/jobs/new", "/my-pin", "/sources", "/jobs/26-0001"),
)
# They end the sign-in of whoever asks, tell of the database itself, or begin another process.
LEFT_ALONE = re.compile(
    r"/sign-out|/sign-in|/my-pin|/retire$|/people/\d+/(pin|sign-ins)|/backups|/out-and-in/export"
)
# No two shops issue the same key.
KEYS = re.compile(rf"{PREFIX}[\w-]+")
IDS = re.compile(r"\d+")
MOST_PAGES = 400


@dataclass
class Shops:
    """The same shop on two databases; what one answers the other must answer too."""

    browsers: tuple[TestClient, ...]
    random: Random = field(default_factory=lambda: Random(8))
    sent: int = 0

    def ask(self, method: str, url: str, **options: object) -> Response:
        """Ask all of them; none breaks, and their answers say the same."""
        answers = [browser.request(method, url, **options) for browser in self.browsers]  # type: ignore[arg-type]
        self.sent += len(answers)
        first = answers[0]
        for answer in answers:
            assert answer.status_code < 500, (method, url, options, answer.text[:500])
            assert "\n" not in answer.headers.get("location", "")
            assert "set-cookie" not in answer.headers or "a=b" not in answer.headers["set-cookie"]
            assert SCRIPT not in answer.text, (method, url, options)
            assert "<svg onload" not in answer.text, (method, url, options)
            told, wanted = _told(answer), _told(first)
            assert told == wanted, (method, url, options, told, wanted)
        return first

    def pages(self) -> Iterator[tuple[str, str]]:
        """Every kind of page that links lead to, once."""
        waiting, known = list(STARTS), {_kind(url) for url in STARTS}
        for url in waiting:
            answer = self.browsers[0].get(url)
            assert answer.status_code < 500, url
            where = answer.headers.get("location", "")
            _, links = read_forms(answer.text)
            for link in [where, *(to for _, to in links)]:
                to = link.split("#")[0]
                kind = _kind(to.split("?")[0])
                if to.startswith("/") and kind not in known and not LEFT_ALONE.search(to):
                    known.add(kind)
                    waiting.append(to)
            if answer.status_code == 200 and "html" in answer.headers["content-type"]:
                yield url, answer.text
            if len(known) > MOST_PAGES:
                break

    def forms(self) -> Iterator[tuple[str, PageForm]]:
        """Every kind of form on them, once."""
        known = set()
        for url, html in self.pages():
            for form in read_forms(html)[0]:
                action = form.action or url
                kind = (form.method, _kind(action), len(form.controls) // 8)
                if kind not in known and not LEFT_ALONE.search(action):
                    known.add(kind)
                    yield action, form

    def send(self, action: str, form: PageForm) -> Response:
        """One form with bad texts in some of its fields and made-up ids in others."""
        data = self.spoiled(form)
        if form.method == "get":
            return self.ask("GET", action, params=data)
        return self.ask("POST", action, data=data)

    def spoiled(self, form: PageForm) -> Mapping[str, list[str]]:
        """What is sent: as served, typed fields with bad texts, and one id that nothing has."""
        data: dict[str, list[str]] = {}
        typed = [each for each in form.controls if each.kind in TYPED and each.name]
        for each in form.controls:
            if not each.name or each.is_off or each.name == "client_key":
                continue
            if each.kind in ("radio", "checkbox") and not (
                each.is_on or self.random.random() < 0.3
            ):
                continue
            if each.is_button and self.random.random() < 0.5:
                continue
            data[each.name] = [each.value]
            if each in typed and self.random.random() < 0.7:
                data[each.name] = [self.random.choice(BAD)]
        others = [name for name in data if name not in {each.name for each in typed}]
        if others and (not typed or self.random.random() < 0.5):
            data[self.random.choice(others)] = [self.random.choice(HUGE)]
        return data


def _kind(url: str) -> str:
    """Pages that differ by an id or by the rule they are about are of one kind."""
    if url.startswith("/shop-rules/"):
        return f"/shop-rules/{url[12:13] > 'm'}"
    return IDS.sub("#", url)


def _told(answer: Response) -> tuple[int, str, str]:
    """What an answer says, without its ids, figures and times."""
    words = plain(answer.text) if answer.status_code in (200, 409, 422) else ""
    return (
        answer.status_code,
        IDS.sub("#", answer.headers.get("location", "")),
        IDS.sub("#", KEYS.sub("a key", words)),
    )

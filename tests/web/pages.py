"""A browser with scripts off: it sends what the page served, with what a person changed.

Fields are filled by the names that the page gave them, and everything else that the form carries
(hidden fields, what is chosen already, the pressed button's own name) goes along as a browser
would send it. What a page does not offer cannot be filled in, chosen or pressed.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urlsplit

from httpx2 import Response
from starlette.testclient import TestClient

TYPED = frozenset({"text", "search", "tel", "email", "password", "date", "number", "textarea"})
MOST_STEPS = 5

Given = str | Sequence[str] | None


@dataclass
class Control:
    """One field or button of a form."""

    name: str
    kind: str
    value: str = ""
    is_on: bool = False
    is_off: bool = False
    words: str = ""
    action: str = ""
    options: list[str] = field(default_factory=list)
    form_id: str = ""

    @property
    def is_button(self) -> bool:
        """Something to press."""
        return self.kind in ("submit", "button")


@dataclass
class PageForm:
    """One form as it was served."""

    action: str
    method: str
    id: str = ""
    controls: list[Control] = field(default_factory=list)

    @property
    def names(self) -> list[str]:
        """Fields that a person can change, in the order of the page."""
        return list(
            dict.fromkeys(
                each.name
                for each in self.controls
                if each.name and not each.is_button and each.kind != "hidden" and not each.is_off
            )
        )

    def named(self, name: str) -> list[Control]:
        """All controls of one name: one field, or the choices of a group."""
        return [each for each in self.controls if each.name == name and not each.is_off]

    def buttons(self, words: str) -> list[Control]:
        """What can be pressed and says these words."""
        return [
            each
            for each in self.controls
            if each.kind == "submit" and not each.is_off and words in each.words
        ]


class _Reader(HTMLParser):
    """Forms, links and headings of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[PageForm] = []
        self.loose: list[Control] = []
        self.links: list[tuple[str, str]] = []
        self._form: PageForm | None = None
        self._heard: list[tuple[str, list[str], dict[str, str]]] = []
        self._control: Control | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._form = PageForm(
                given.get("action", ""), given.get("method", "get"), given.get("id", "")
            )
            self.forms.append(self._form)
        elif tag == "input":
            kind = given.get("type", "text")
            self._add(given, kind if kind not in ("image", "reset") else "button")
        elif tag in ("select", "textarea", "button"):
            kind = given.get("type", "submit") if tag == "button" else tag
            self._control = self._add(given, kind)
            self._heard.append((tag, [], given))
        elif tag == "option" and self._control is not None:
            value = given.get("value", "")
            self._control.options.append(value)
            if "selected" in given or len(self._control.options) == 1:
                self._control.value = value
        elif tag in ("a", "h1"):
            self._heard.append((tag, [], given))

    def handle_data(self, data: str) -> None:
        for _, heard, _ in self._heard:
            heard.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        if not self._heard or self._heard[-1][0] != tag:
            return
        _, heard, given = self._heard.pop()
        words = " ".join("".join(heard).split())
        if tag == "a":
            self.links.append((words, given.get("href", "")))
        elif tag == "button" and self._control is not None:
            self._control.words = words
        elif tag == "textarea" and self._control is not None:
            self._control.value = "".join(heard).removeprefix("\n")
        if tag in ("select", "textarea", "button"):
            self._control = None

    def _add(self, given: Mapping[str, str], kind: str) -> Control:
        made = Control(
            name=given.get("name", ""),
            kind=kind,
            value=given.get("value", "yes" if kind == "checkbox" else ""),
            is_on="checked" in given,
            is_off="disabled" in given,
            action=given.get("formaction", ""),
            form_id=given.get("form", ""),
        )
        if made.form_id:
            self.loose.append(made)
        elif self._form is not None:
            self._form.controls.append(made)
        return made


def read_forms(text: str) -> tuple[list[PageForm], list[tuple[str, str]]]:
    """The forms of a page, with controls that stand outside but belong to them; and its links."""
    reader = _Reader()
    reader.feed(text)
    for control in reader.loose:
        for form in reader.forms:
            if form.id == control.form_id:
                form.controls.append(control)
    return reader.forms, reader.links


class Walk:
    """One person in one browser, page after page; `typed` counts the numbers typed."""

    def __init__(self, browser: TestClient, name: str = "") -> None:
        self.browser, self.name = browser, name
        self.typed = 0
        self.url = ""
        self.text = ""
        self.forms: list[PageForm] = []
        self.links: list[tuple[str, str]] = []

    def get(self, url: str) -> Walk:
        """Go to an address; a redirect is followed as a browser does."""
        self._land(self.browser.get(url), 200)
        return self

    def follow(self, words: str) -> Walk:
        """Touch the link that says these words."""
        return self.get(self.link(words))

    def link(self, words: str) -> str:
        """Where the link with these words leads; the exact words win."""
        found = [href for told, href in self.links if told == words] or [
            href for told, href in self.links if words in told
        ]
        assert found, f"{self.url}: no link says {words!r}; there are {self.links}"
        return found[0]

    def send(
        self,
        fields: Mapping[str, Given] | None = None,
        press: str = "",
        *,
        status: int = 200,
        **more: Given,
    ) -> Walk:
        """Fill the fields, press the button that says `press`, and go where that leads.

        A list ticks several of a group; None takes a tick or a text away. `status` is what the
        page at the end answers with: 422 for one that comes back.
        """
        given = {**(fields or {}), **more}
        form, button = self._find(given, press)
        data = self._filled(form, given)
        if button.name:
            data.setdefault(button.name, []).append(button.value)
        action = button.action or form.action or self.url
        self._land(self.browser.post(action, data=data), status)
        return self

    def send_to(self, action: str, press: str = "", **fields: Given) -> Walk:
        """Fill one of several forms alike, told by where it is sent."""
        others, self.forms = self.forms, [self.form(action)]
        try:
            return self.send(fields, press)
        except AssertionError:
            self.forms = others
            raise

    def form(self, action: str) -> PageForm:
        """The form that is sent to this address."""
        found = [each for each in self.forms if each.action == action]
        assert found, f"{self.url}: no form goes to {action}"
        return found[0]

    def names(self, *parts: str) -> list[str]:
        """Fields of the page whose names have these parts, in the order of the page."""
        return [
            name
            for form in self.forms
            for name in form.names
            if all(part in name for part in parts)
        ]

    def choice(self, name: str, words: str) -> str:
        """The value of the choice of a group that a person would read as these words."""
        face: list[tuple[str, str]] = re.findall(
            rf'<input type="radio"[^>]*? name="{re.escape(name)}" value="([^"]*)"[^>]*>'
            r'<span class="choice-face">(.*?)</span></label>',
            self.text,
            re.S,
        )
        found = [value for value, told in face if words in plain(told)]
        assert found, f"{self.url}: {name} has no choice {words!r}: {face}"
        return found[0]

    @property
    def words(self) -> str:
        """What the page says, without its markup."""
        return plain(self.text)

    @property
    def heading(self) -> str:
        """The page's first heading."""
        found = re.search(r"<h1\b[^>]*>(.*?)</h1>", self.text, re.S)
        return plain(found[1]) if found else ""

    def says(self, *wanted: str) -> Walk:
        """The page says all of these."""
        told = self.words
        for each in wanted:
            assert each in told, f"{self.url} does not say {each!r}: {told[:2000]}"
        return self

    def _find(self, given: Mapping[str, Given], press: str) -> tuple[PageForm, Control]:
        """The form that has every field given and a button with these words."""
        short = []
        for form in self.forms:
            if form.method != "post" or form.action == "/sign-out":
                continue
            known = {each.name for each in form.controls}
            lacking = set(given) - known
            pressed = form.buttons(press)
            if pressed and not lacking:
                exact = [each for each in pressed if each.words == press]
                # Without words: the page's own button, which stands last among visible ones.
                return form, (exact or (pressed if press else pressed[::-1]))[0]
            short.append((form.action, sorted(lacking), [b.words for b in form.buttons("")]))
        raise AssertionError(f"{self.url}: no form takes {sorted(given)} and {press!r}: {short}")

    def _filled(self, form: PageForm, given: Mapping[str, Given]) -> dict[str, list[str]]:
        data: dict[str, list[str]] = {}
        for name, served in _as_served(form):
            data.setdefault(name, []).append(served)
        for name, value in given.items():
            controls = form.named(name)
            assert controls, f"{self.url}: {name} cannot be changed"
            kinds = {each.kind for each in controls}
            assert kinds != {"hidden"}, f"{self.url}: {name} is hidden"
            wanted = [] if value is None else [value] if isinstance(value, str) else list(value)
            offered = _offered(controls)
            for each in wanted:
                assert offered is None or each in offered, (
                    f"{self.url}: {name} offers {offered}, not {each!r}"
                )
                if kinds & TYPED and any(letter.isdigit() for letter in each):
                    self.typed += 1
            if kinds & TYPED and value is None:
                wanted = [""]
            data[name] = wanted
        return data

    def _land(self, answer: Response, wanted: int) -> None:
        for _ in range(MOST_STEPS):
            if answer.status_code != 303:
                break
            answer = self.browser.get(answer.headers["location"].split("#")[0])
        self.url = _path(str(answer.url))
        self.text = answer.text
        self.forms, self.links = read_forms(self.text)
        assert answer.status_code == wanted, (
            f"{self.url} answered {answer.status_code}, not {wanted}: {self.words[:1500]}"
        )


def _as_served(form: PageForm) -> Iterator[tuple[str, str]]:
    """What the form would send as it stands."""
    for each in form.controls:
        if not each.name or each.is_off or each.is_button:
            continue
        if each.kind in ("radio", "checkbox") and not each.is_on:
            continue
        yield each.name, each.value


def _offered(controls: Sequence[Control]) -> set[str] | None:
    """The values there are to choose from; None where anything can be typed."""
    if controls[0].kind in ("radio", "checkbox"):
        return {each.value for each in controls}
    if controls[0].kind == "select":
        return set(controls[0].options)
    return None


def plain(text: str) -> str:
    """Words without markup."""
    text = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", text, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def _path(url: str) -> str:
    parts = urlsplit(url)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path

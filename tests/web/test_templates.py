"""Every template compiles, keeps to the small dialect of htmx, and needs no inline code."""

from __future__ import annotations

import gzip
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from app.calc.trace import Step
from app.calc.units import Length
from app.forms.base import Form
from app.paths import folder
from app.web.drawing import MapPosition, head_map, interference_scale, stage_ring
from app.web.render import environment, unit_word
from app.workflow.cautions import CAUTIONS
from app.workflow.kinds import Unit

TEMPLATES = folder("templates")
NAMES = sorted(
    path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*") if path.is_file()
)
CHECKER = Path(__file__).parent / "htmx" / "upgrade-check.py"
PRINTED = "base_print.html"  # the one place for an inline style: a sheet outlives its style file
# In htmx 4 this means "disable during the request"; the checker warns of its old meaning.
NEW_MEANING = "hx-disable → rename to hx-ignore"
DIALECT = {"get", "post", "target", "swap", "trigger", "push-url", "sync", "disable", "status"}
DIALECT |= {"indicator", "include", "swap-oob", "partial"}
FIRST_LOAD_BYTES, FIRST_LOAD_REQUESTS = 60_000, 5
PAGE = {
    "layout": "base.html",
    "person": SimpleNamespace(name="Dana Field"),
    "shop": SimpleNamespace(name="Harbour Street Heads"),
    "theme": "",
    "flash": "",
    "nav": "bench",
    "next_url": "/bench",
}


class Elements(HTMLParser):
    """The elements of a piece of HTML, with their attributes; the text of each by its id."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.text_of: dict[str, str] = {}
        self._open: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.found.append((tag, given))
        if tag not in ("input", "meta", "link", "br"):
            self._open.append(given.get("id", ""))

    def handle_endtag(self, tag: str) -> None:
        if self._open:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        for name in filter(None, self._open):
            self.text_of[name] = self.text_of.get(name, "") + data

    def all(self, tag: str, **wanted: str) -> list[dict[str, str]]:
        return [
            attrs
            for name, attrs in self.found
            if name == tag and all(attrs.get(key) == value for key, value in wanted.items())
        ]

    def one(self, tag: str, **wanted: str) -> dict[str, str]:
        (only,) = self.all(tag, **wanted)
        return only


def source(name: str) -> str:
    """A template's text without its comments."""
    text = (TEMPLATES / name).read_text(encoding="utf-8")
    return re.sub(r"\{#.*?#\}", "", text, flags=re.S)


def markup(name: str) -> str:
    """What of a template is HTML: without expressions and statements."""
    return re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", source(name), flags=re.S)


def drawn(template: str, **context: Any) -> str:
    """A few lines of template, rendered in the app's environment."""
    return environment().from_string(template).render(**context)


def elements(template: str, **context: Any) -> Elements:
    return Elements(drawn(template, **context))


def fields(call: str, raw: dict[str, str] | None = None, **wrong: str) -> Elements:
    """One field macro, on a form with these texts and errors."""
    form = Form.showing(raw)
    form.errors.update(wrong)
    return elements('{% import "_partials/forms.html" as f %}{{ ' + call + " }}", form=form)


# All templates


@pytest.mark.parametrize("name", NAMES)
def test_every_template_compiles(name: str) -> None:
    environment().get_template(name)


@pytest.mark.parametrize("name", NAMES)
def test_no_template_carries_inline_code(name: str) -> None:
    html = markup(name)
    assert re.findall(r"\sstyle\s*=", html) == []
    assert re.findall(r"\son[a-z]+\s*=", html) == []
    assert re.findall(r"javascript:|hx-on\b|[\"']js:", html) == []
    assert [tag for tag in re.findall(r"<script\b[^>]*>", html) if " src=" not in tag] == []
    assert ("<style" in html) == (name == PRINTED)


@pytest.mark.parametrize("name", NAMES)
def test_no_trigger_filter_asks_the_browser_to_evaluate_text(name: str) -> None:
    assert re.findall(r"hx-trigger=\"[^\"]*\[", markup(name)) == []


@pytest.mark.parametrize("name", NAMES)
def test_only_htmx_words_of_our_dialect_are_used(name: str) -> None:
    used = {word.split(":")[0] for word in re.findall(r"\bhx-([a-z-]+(?::[\w]+)?)", markup(name))}
    assert used <= DIALECT


def test_no_template_uses_an_idiom_of_older_htmx() -> None:
    told = subprocess.run(
        [sys.executable, str(CHECKER), "--no-color", str(TEMPLATES)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={"PYTHONIOENCODING": "utf-8", "PYTHONUTF8": "1"},
        check=False,
    )
    assert f"Scanning {len(NAMES)} file(s)" in told.stdout + told.stderr
    findings = [line for line in told.stdout.splitlines() if line and NEW_MEANING not in line]
    assert [line for line in findings if re.search(r":\d+: \[", line)] == []


def test_the_checker_would_find_an_older_idiom(tmp_path: Path) -> None:
    (tmp_path / "old.html").write_text('<form hx-disabled-elt="this" hx-params="*"></form>')
    told = subprocess.run(
        [sys.executable, str(CHECKER), "--no-color", str(tmp_path)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={"PYTHONIOENCODING": "utf-8", "PYTHONUTF8": "1"},
        check=False,
    )
    assert len(re.findall(r"old\.html:\d+: \[", told.stdout)) >= 2


# The page around


def test_the_first_load_is_small() -> None:
    html = drawn("{% extends layout %}", **PAGE)
    page = Elements(html)
    paths = [script["src"] for script in page.all("script")]
    paths += [link["href"] for link in page.all("link") if not link["href"].startswith("data:")]
    files = [folder("static") / path.split("?")[0].removeprefix("/static/") for path in paths]
    assert 1 + len(files) <= FIRST_LOAD_REQUESTS
    weight = len(gzip.compress(html.encode())) + sum(
        len(gzip.compress(file.read_bytes())) for file in files
    )
    assert weight <= FIRST_LOAD_BYTES


def test_the_style_sheet_fetches_nothing() -> None:
    for name in ("app.css", "sheet.css"):
        css = (folder("static") / name).read_text(encoding="utf-8")
        assert "@import" not in css
        assert "url(" not in css


def test_the_place_one_is_in_is_marked() -> None:
    page = elements("{% extends layout %}", **PAGE)
    assert page.one("a", **{"aria-current": "page"})["href"] == "/bench"


def test_a_skip_link_leads_to_the_main_part() -> None:
    page = elements("{% extends layout %}", **PAGE)
    assert page.one("a", **{"class": "skip"})["href"] == "#main"
    assert page.one("main")["id"] == "main"


def test_without_a_person_there_is_nothing_to_go_to() -> None:
    page = elements("{% extends layout %}", **(PAGE | {"person": None}))
    assert page.all("nav") == []
    assert page.all("form") == []


@pytest.mark.parametrize(("theme", "marked"), [("", None), ("dark", "dark"), ("light", "light")])
def test_the_server_draws_the_chosen_scheme(theme: str, marked: str | None) -> None:
    page = elements("{% extends layout %}", **(PAGE | {"theme": theme}))
    assert page.one("html").get("data-theme") == marked


def test_a_name_is_written_not_run() -> None:
    person = SimpleNamespace(name="<script>alert(1)</script>")
    html = drawn("{% extends layout %}", **(PAGE | {"person": person}))
    assert "<script>alert" not in html


def test_a_sheet_carries_exactly_the_style_it_was_given() -> None:
    style = 'body > p::before { content: "a & b"; }'
    html = drawn('{% extends "base_print.html" %}', style=style)
    assert re.findall(r"<style>(.*?)</style>", html, re.S) == [style]
    assert "<script" not in html


# Fields


FIELD_CALLS = [
    'f.text("name", "Name", form, hint="as on the card")',
    'f.textarea("name", "Name", form, hint="as on the card")',
    'f.select("name", "Name", [("a", "A")], form, hint="as on the card")',
    'f.money("name", "Name", form, hint="as on the card")',
    'f.date("name", "Name", form, hint="as on the card")',
    'f.checkbox("name", "Name", form, hint="as on the card")',
    'f.reading("name", "Name", form, hint="as on the card")',
    'f.reading("name", "Name", form, hint="as on the card", bare=true)',
]


@pytest.mark.parametrize("call", FIELD_CALLS)
def test_an_error_is_tied_to_its_field(call: str) -> None:
    page = fields(call, name="is missing")
    field = next(attrs for _, attrs in page.found if attrs.get("name") == "name")
    assert field["aria-invalid"] == "true"
    described = field["aria-describedby"].split()
    assert [page.text_of[part] for part in described] == ["is missing", "as on the card"]


@pytest.mark.parametrize("call", FIELD_CALLS)
def test_a_field_without_an_error_says_only_its_hint(call: str) -> None:
    page = fields(call)
    field = next(attrs for _, attrs in page.found if attrs.get("name") == "name")
    assert "aria-invalid" not in field
    assert [page.text_of[part] for part in field["aria-describedby"].split()] == ["as on the card"]


@pytest.mark.parametrize("call", FIELD_CALLS)
def test_every_field_has_a_name_aloud(call: str) -> None:
    page = fields(call)
    field = next(attrs for _, attrs in page.found if attrs.get("name") == "name")
    labelled = [label for label in page.all("label") if label.get("for") == field["id"]]
    inside = field.get("type") == "checkbox" and page.all("label")
    assert labelled or inside or field.get("aria-label") == "Name"


def test_what_was_typed_comes_back_as_it_was_typed() -> None:
    typed = '1.6222" & <b>'
    assert fields('f.text("od", "OD", form)', {"od": typed}).one("input")["value"] == typed
    assert fields('f.reading("od", "OD", form)', {"od": typed}).one("input")["value"] == typed
    assert fields('f.textarea("od", "OD", form)', {"od": typed}).text_of["f-od"].strip() == typed


def test_a_line_of_text_keeps_its_first_empty_line() -> None:
    html = drawn(
        '{% import "_partials/forms.html" as f %}{{ f.textarea("a", "A", value="\n\nx") }}'
    )
    assert ">\n\n\nx</textarea>" in html


def test_the_chosen_answer_stays_chosen() -> None:
    options = '[("in", "inch"), ("m&m", "both")]'
    page = fields(f'f.choices("unit", "Unit", {options}, form)', {"unit": "m&m"})
    assert [radio["value"] for radio in page.all("input") if "checked" in radio] == ["m&m"]
    page = fields(f'f.select("unit", "Unit", {options}, form)', {"unit": "m&m"})
    assert [option["value"] for option in page.all("option") if "selected" in option] == ["m&m"]
    page = fields('f.checkbox("seen", "Seen", form)', {"seen": "yes"})
    assert "checked" in page.one("input")


def test_the_error_of_answers_to_touch_is_said_by_their_group() -> None:
    page = fields('f.choices("how", "How", [("a", "A"), ("b", "B")], form)', how="choose one")
    assert page.text_of[page.one("fieldset")["aria-describedby"]] == "choose one"
    assert "aria-invalid" not in page.one("fieldset")  # a group cannot be wrong, its answers can
    assert {radio["aria-invalid"] for radio in page.all("input")} == {"true"}
    assert len({radio["id"] for radio in page.all("input")}) == 2


def test_a_reading_asks_for_a_numeric_pad_and_keeps_text() -> None:
    field = fields('f.reading("od", "OD", form)').one("input")
    assert (field["inputmode"], field["type"]) == ("decimal", "text")


def test_the_summary_leads_to_each_field_by_its_label() -> None:
    page = elements(
        '{% import "_partials/forms.html" as f %}'
        '{{ f.error_summary(errors, {"od.1": "Ring 1"}) }}{{ f.text("od.1", "Ring 1") }}',
        errors={"od.1": "is missing", "form": "Two tablets typed here", "rack_place": "is long"},
    )
    assert page.one("div", role="alert")
    links = [link["href"] for link in page.all("a")]
    assert links == ["#f-od-1", "#f-rack-place"]
    assert page.one("input")["id"] == "f-od-1"


def test_there_is_no_summary_without_an_error() -> None:
    assert fields("f.error_summary(form.errors)").found == []


def test_a_form_posts_with_its_key_with_and_without_script() -> None:
    page = elements(
        '{% import "_partials/forms.html" as f %}'
        '{% call f.form("/cuts", "k1", target="#gauge") %}{% endcall %}'
    )
    form = page.one("form")
    assert (form["method"], form["action"], form["hx-post"]) == ("post", "/cuts", "/cuts")
    assert form["hx-sync"] == "this:drop"
    assert form["hx-disable"] == "findAll .button"
    assert page.one("input", name="client_key")["value"] == "k1"


def test_enter_cannot_send_half_a_row_of_readings_even_without_script() -> None:
    page = elements(
        '{% import "_partials/forms.html" as f %}'
        '{% call f.form("/r", "k", readings=true) %}{{ f.submit("Keep") }}{% endcall %}'
    )
    first, second = page.all("button", type="submit")
    assert "disabled" in first
    assert "hidden" in first
    assert "button" not in first.get("class", "").split()  # or a request would enable it
    assert "disabled" not in second


def test_a_next_button_that_is_not_open_says_why_and_sends_nothing() -> None:
    page = fields('f.next("3E is bored", open=["depth", ("ring 3", "#odd")])')
    button = page.one("button")
    assert button["type"] == "button"
    assert button["aria-disabled"] == "true"
    why = page.text_of[button["aria-describedby"]]
    assert "depth" in why
    assert "ring 3" in why
    assert page.one("a")["href"] == "#odd"


def test_a_next_button_with_nothing_open_sends() -> None:
    assert fields('f.next("3E is bored", open=[])').one("button")["type"] == "submit"
    assert fields('f.next("Next", href="/jobs/1")').one("a")["href"] == "/jobs/1"


# Drawn parts


STAGES = ("done", "done", "done", "now", "to_come")


def positions(**changes: Any) -> list[MapPosition]:
    common = {"cylinder": "3", "row": 1, "stages": STAGES} | changes
    return [
        MapPosition(label="3E", port_id=7, kind="E", work="ring", is_here=True, **common),
        MapPosition(label="3I", port_id=8, kind="I", work="seat only", **common),
    ]


MAP = '{% from "_partials/head_map.html" import head_map %}'


def test_positions_of_the_map_are_links_with_their_names() -> None:
    page = elements(MAP + "{{ head_map(map) }}", map=head_map(positions(href="/p"), "front"))
    assert [link["aria-label"] for link in page.all("a")] == [
        "3E, cylinder 3 exhaust: at cut, you are here",
        "3I, cylinder 3 intake: seat only",
    ]
    assert page.one("section")["aria-label"] == "Head map, front at the left"


def test_positions_are_buttons_where_touching_one_confirms_it() -> None:
    drawing = head_map(positions(href="/p"), "front", 90, as_buttons=True)
    page = elements(MAP + '{{ head_map(map, field="touched") }}', map=drawing)
    assert [(button["name"], button["value"]) for button in page.all("button")] == [
        ("touched", "7"),
        ("touched", "8"),
    ]
    assert page.all("a") == []


def test_positions_that_lead_nowhere_are_pictures_with_names() -> None:
    page = elements(MAP + "{{ head_map(map) }}", map=head_map(positions(), "front"))
    assert [spot["role"] for spot in page.all("span") if "aria-label" in spot] == ["img", "img"]


def test_the_map_offers_its_turn_and_its_other_half() -> None:
    everyone = [
        MapPosition(
            label=f"{cylinder}{kind}{nth}",
            port_id=cylinder,
            cylinder=str(cylinder),
            kind=kind,
            row=1 if kind == "I" else 2,
            work="leave",
            stages=STAGES,
        )
        for cylinder in range(1, 9)
        for kind in "IE"
        for nth in (1, 2)
    ]
    page = elements(
        MAP + '{{ head_map(map, turn_href="/turn", half_href="/half") }}',
        map=head_map(everyone, "front", 90),
    )
    assert [link["href"] for link in page.all("a")] == ["/half", "/turn"]


def test_a_hold_draws_its_bar_under_a_name_that_stays_readable() -> None:
    html = drawn(
        '{% from "_partials/stage_ring.html" import stage_ring %}{{ stage_ring(mark) }}',
        mark=stage_ring("3E", STAGES, on_hold=True),  # type: ignore[arg-type]
    )
    assert html.index('class="bar"') < html.index("<text")
    assert "pos-held" in html
    assert 'aria-label="3E: on hold"' in html


def test_a_ring_in_a_list_says_its_stage_by_number_and_word() -> None:
    html = drawn(
        '{% from "_partials/stage_ring.html" import stage_ring_small %}{{ stage_ring_small(m) }}',
        m=stage_ring("3E", STAGES),  # type: ignore[arg-type]
    )
    assert ">4</text>" in html
    assert "<span>cut</span>" in html


def test_green_on_the_scale_always_comes_with_its_words() -> None:
    html = drawn(
        '{% from "_partials/interference_scale.html" import interference_scale %}'
        "{{ interference_scale(scale) }}",
        scale=interference_scale(
            least=Length.of(".0030"), most=Length.of(".0050"), possible_error=Length.of(".0004")
        ),
    )
    assert 'class="sure"' in html
    assert "the window less the possible error: surely inside" in html
    assert ".0034–.0046" in html


STEPS = (
    Step("D", "seat ring, mean", "1.62615", "in", "spread .0003"),
    Step("I", "− interference aimed for", ".0040", "in", "common practice"),
    Step("B", "counterbore to cut", "1.62215", "in", "", is_total=True),
)
WORKING = '{% from "_partials/working.html" import working %}{{ working(steps) }}'


def test_a_working_says_its_unit_once() -> None:
    html = drawn(WORKING, steps=STEPS)
    assert html.count("in inch") == 1
    assert 'class="of"' not in html


def test_a_working_of_several_units_says_each() -> None:
    mixed = (*STEPS[:1], Step("T", "head", "22", "°C", "this morning"))
    page = drawn(WORKING, steps=mixed)
    assert '<td class="of">in</td>' in page
    assert '<td class="of">°C</td>' in page


def test_a_working_has_a_rule_above_its_total_and_lines_up_the_points() -> None:
    html = drawn(WORKING, steps=STEPS)
    assert html.count('class="total"') == 1
    assert "<td>.0040 </td>" in html
    assert "<td>1.62615</td>" in html


def test_ways_out_all_have_the_same_weight() -> None:
    ways = [
        {"title": title, "needs": "", "unknown": [], "closed": "", "href": "/way", "take": ""}
        for title in ("Read again", "Stop and ask")
    ]
    page = elements(
        '{% from "_partials/hold.html" import ways_out %}{{ ways_out(ways) }}', ways=ways
    )
    assert {link["class"] for link in page.all("a")} == {"button second"}


def test_a_way_that_is_not_open_says_why_and_what_is_not_known() -> None:
    way = {
        "title": "A larger ring",
        "needs": "about 1.632",
        "unknown": ["web to 2E", "price"],
        "closed": "measure it first",
        "href": "/way",
        "take": "",
    }
    html = drawn('{% from "_partials/hold.html" import ways_out %}{{ ways_out(ways) }}', ways=[way])
    assert "web to 2E; price" in html
    assert "measure it first" in html
    assert "<a " not in html


def test_every_caution_puts_its_word_first_and_defers() -> None:
    cautions = environment().get_template("_partials/caution.html").module
    for one in CAUTIONS.values():
        html = str(cautions.of(one))  # type: ignore[attr-defined]
        assert html.index(one.word) < html.index("Safety data sheets")
        assert not re.search(r"\bsafe\b", html)


def test_a_unit_has_one_word_in_labels_and_headings() -> None:
    own = re.compile(r"\binches\b|millimet|\(\"in\", \"|unit == \"in\" else \"[a-z]")
    for path in sorted(folder("templates").rglob("*.html")):
        assert own.findall(path.read_text()) == [], f"{path.name}: say `unit | unit_word`"
    assert [unit_word(unit) for unit in ("in", Unit.MM, "um", "thou", "%")] == [
        "inch",
        "mm",
        "µm",
        "thou",
        "%",
    ]

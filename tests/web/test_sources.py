"""The page of sources, and the touch that leads there from every line of a working."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from sqlalchemy import event
from sqlmodel import select
from starlette.testclient import TestClient

from app.calc.sources import FIT_HABIT, GAUGE_SCALE, HEAT_CASES, LAME, STABBING, Mark, Source
from app.calc.trace import Step
from app.db import Database
from app.models.ring import RingSet
from app.models.setting import Setting
from app.queries.sources import ALL_SOURCES, sources_view
from app.web.render import environment
from app.web.source_links import anchor, source_parts
from app.workflow.constants import CONSTANTS
from app.workflow.shop_rules import RULES
from tests.web.bench import Bench
from tests.web.pages import plain
from tests.web.test_shop_rules import BAND

SignedInAs = Callable[[str], TestClient]


# The page


@pytest.mark.parametrize("who", ["owner", "machinist", "service_writer"])
def test_everybody_reads_every_figure_and_every_source(signed_in_as: SignedInAs, who: str) -> None:
    answer = signed_in_as(who).get("/sources")
    assert answer.status_code == 200
    for source in ALL_SOURCES:
        assert f'id="{anchor(source.key)}"' in answer.text
    said = plain(answer.text).casefold()
    assert [one.name for one in CONSTANTS if one.name.casefold() not in said] == []


def test_a_row_says_value_mark_source_and_where_it_is_used(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("machinist").get("/sources").text
    row = row_of(page, "Expansion of a gauge")
    for part in ("11.5", "1e-6/K", "from memory", GAUGE_SCALE.text[1:], "verdict"):
        assert part in plain(row)
    assert f'href="/sources#source-{GAUGE_SCALE.key}"' in row


def test_a_constant_under_a_shop_rule_shows_what_holds_here(
    signed_in_as: SignedInAs,
) -> None:
    browser = signed_in_as("owner")
    sent = {"value": "2 thou", "source": "chatter below that", "seen": ".0010 in"}
    assert browser.post("/shop-rules/least_cut", data=sent).status_code == 303
    page = browser.get("/sources").text
    first = row_of(page, "Least cut, on diameter")
    assert "Shop rule: 2 thou" in plain(first)
    assert 'href="/shop-rules/least_cut"' in first
    own = [row for row in rows_of(page) if "chatter below that" in row]
    assert len(own) == 1
    for part in ("2 thou", "default .0010 in", "common practice", "Odile", "entered by the shop"):
        assert part in plain(own[0])


def test_a_window_of_the_shops_own_stands_with_the_default_it_covers(
    signed_in_as: SignedInAs,
) -> None:
    browser = signed_in_as("owner")
    assert browser.post("/interference-rules", data=BAND).status_code == 303
    page = browser.get("/sources").text
    row = row_of(page, "Grey iron, ring OD 1.25 up to 2.00 in")
    for part in (".0032 / .0040 / .0048", "default .0030 / .0040 / .0050", "Odile, table of 2026"):
        assert part in plain(row)
    assert len([one for one in rows_of(page) if "Grey iron, ring OD 1.25 up to" in one]) == 1


def test_a_heat_case_of_the_shops_own_stands_with_what_was_assumed(
    signed_in_as: SignedInAs,
) -> None:
    browser = signed_in_as("owner")
    where = "/shop-rules/heat-cases/iron/E/hard"
    sent = {"name": "hard", "ring_c": "420", "head_c": "260", "source": "pyrometer, May"}
    assert browser.post(where, data={**sent, "seen": "assumed"}).status_code == 303
    row = row_of(browser.get("/sources").text, "Iron, exhaust: hard")
    for part in ("420 / 260", "default 400 / 250", "pyrometer, May", "Odile"):
        assert part in plain(row)
    assert f'href="{where}"' in row
    assert browser.post(f"{where}/retire", data={"source": "not here"}).status_code == 303
    row = row_of(browser.get("/sources").text, "Iron, exhaust: hard")
    for part in ("400 / 250", "from memory", "Out of the look"):
        assert part in plain(row)


def test_figures_are_found_by_mark_and_by_words(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    memory = rows_of(browser.get("/sources?mark=from-memory").text)
    assert len(memory) > 20
    assert all("from memory" in plain(row) for row in memory)
    friction = rows_of(browser.get("/sources?q=Friction+0.1").text)
    assert [re.sub(r"\s+", " ", plain(row))[:27] for row in friction] == [
        "Friction of a pressed ring "
    ]
    both = browser.get("/sources?mark=published&q=friction+pressed").text
    assert rows_of(both) == []


def test_nothing_found_says_so_and_leads_back(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("machinist").get("/sources?q=no+such+figure+anywhere").text
    assert "Nothing found" in page
    assert rows_of(page) == []


def test_an_unknown_mark_shows_everything(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    shown = browser.get("/sources?mark=proved").text
    assert len(rows_of(shown)) == len(rows_of(browser.get("/sources").text))


def test_what_is_looked_for_is_written_back_as_text(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("machinist").get('/sources?q="><script>alert(1)</script>').text
    assert "<script>alert" not in page


def test_every_section_has_rows_and_every_mark_its_count(database: Database) -> None:
    with database.read() as session:
        view = sources_view(session)
    assert [section.key for section in view.sections] == [
        *("sizes", "interference", "cutting", "materials", "heat", "fit", "guides", "verify"),
        *("seats", "shop-rules"),
    ]
    assert sum(view.counts.values()) == view.found
    assert view.counts[Mark.ENTERED] == 0
    assert all(entry.resting for entry in view.entries)


def test_the_page_takes_few_statements_however_much_it_lists(database: Database) -> None:
    statements: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        statements.append(statement)

    with database.read() as session:
        engine = session.get_bind()
        event.listen(engine, "before_cursor_execute", note)
        sources_view(session)
        event.remove(engine, "before_cursor_execute", note)
    assert 0 < len(statements) <= 8


# From a line to its source


@pytest.mark.parametrize("source", ALL_SOURCES, ids=lambda one: one.key)
def test_a_cited_source_leads_to_its_own_place(source: Source) -> None:
    assert source_parts(source.cited) == ((source.cited, f"/sources#{anchor(source.key)}"),)


def test_each_of_several_sources_in_a_line_leads_to_its_own_place() -> None:
    parts = source_parts(f"{HEAT_CASES.cited}; Foundry sheet 4 (entered by the shop); {LAME.cited}")
    assert [href for _, href in parts] == [
        *("/sources#source-heat-cases", "", "/sources#source-entered", "", "/sources#source-lame"),
    ]
    assert "".join(text for text, _ in parts).startswith(HEAT_CASES.cited)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("as measured", (("as measured", "/sources#source-measured"),)),
        ("as given", (("as given", "/sources#source-given"),)),
        ("D − I", (("D − I", "/sources#source-worked"),)),
        (STABBING.short, ((STABBING.short, "/sources#source-stabbing"),)),
        ("common practice", (("common practice", "/sources#shop-rules"),)),
        (
            RULES["decision_rule"].cited,
            ((RULES["decision_rule"].cited, "/shop-rules/decision_rule"),),
        ),
        (
            "aluminium, ring OD 31.75 up to 38.10 mm: Odile, table of 2026",
            (
                (
                    "aluminium, ring OD 31.75 up to 38.10 mm: Odile, table of 2026",
                    "/shop-rules#interference",
                ),
            ),
        ),
        (
            f"grey iron, ring OD under 1.25 in: {FIT_HABIT.cited}",
            (
                ("grey iron, ring OD under 1.25 in: ", ""),
                (FIT_HABIT.cited, f"/sources#source-{FIT_HABIT.key}"),
            ),
        ),
        ("engine maker's sheet 12, as is common practice there", None),
        ("a line of an earlier release", None),
        ("", None),
    ],
)
def test_what_a_line_says_leads_where_it_is_told_or_stays_plain(
    text: str, parts: tuple[tuple[str, str], ...] | None
) -> None:
    assert source_parts(text) == (parts or ((text, ""),))


def test_the_words_of_a_line_are_never_changed() -> None:
    for text in (
        HEAT_CASES.cited,
        f"as grey iron: {LAME.cited}",
        "x <b> y",
        f"ring, {FIT_HABIT.text}s",
    ):
        assert "".join(words for words, _ in source_parts(text)) == text


PAGES: dict[str, Callable[[Bench], list[str]]] = {
    "set": lambda bench: [*sets_and_plans(bench), bench.at("2E", "cut"), bench.at("3E", "cut")],
    "corrected": lambda bench: [*sets_and_plans(bench), bench.at("2E", "cut")],
    "bored": lambda bench: [bench.at("2E", "cut"), bench.at("3E", "hold")],
    "ringed": lambda bench: [bench.at("2E", "cut"), bench.at("2E", "ring-in")],
}


def sets_and_plans(bench: Bench) -> list[str]:
    with bench.database.read() as session:
        rings = session.exec(select(RingSet.id).where(RingSet.job_id == bench.job.id)).all()
        settings = session.exec(select(Setting.id)).all()
    pages = [f"/ring-sets/{one}" for one in rings]
    pages += [f"/settings/{one}" for one in settings]
    return [*pages, f"/jobs/{bench.job.number}/plan"]


@pytest.mark.parametrize("stage", PAGES)
def test_every_line_of_a_working_is_one_touch_from_its_source(
    stage: str, bench: Bench, signed_in_as: SignedInAs
) -> None:
    browser = signed_in_as("Marek")
    lines = 0
    bare: list[str] = []
    targets: set[str] = set()
    for url in PAGES[stage](bench):
        answer = browser.get(url)
        assert answer.status_code == 200, url
        for small in sources_said(answer.text):
            lines += 1
            found = re.findall(r'class="told-there" href="([^"]+)"', small)
            targets |= set(found)
            if not found and plain(small) not in SAID_BY_THE_PAGE:
                bare.append(f"{url}: {plain(small)}")
    assert bare == []
    assert lines >= 5
    page = browser.get("/sources").text + browser.get("/shop-rules").text
    for target in targets:
        path, _, place = target.partition("#")
        assert browser.get(path).status_code == 200
        assert not place or f'id="{place}"' in page, target


# Tables that the cut page makes itself: read back, measured, of the clamp-up.
SAID_BY_THE_PAGE = {"for the ring as measured", "from chamber roof", "from deck"}


def sources_said(page: str) -> Iterator[str]:
    """The small words under each line of each working, less its symbol."""
    for table in re.findall(r'<table class="working[^"]*">(.*?)</table>', page, re.S):
        for small in re.findall(r"<small>(.*?)</small>", table, re.S):
            if "fixture read back at" in small:
                continue
            rest = re.sub(r'<span class="symbol">.*?</span>(?: · )?', "", small)
            if rest.strip():
                yield rest


def test_sheets_print_a_source_without_a_link(bench: Bench, signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("Marek")
    record = browser.get(f"/heads/{bench.head.id}/record")
    assert record.status_code == 200
    assert "/sources" not in record.text


def test_a_working_without_links_is_the_plain_text_of_its_sources() -> None:
    step = Step("D", "ring OD", "1.6261", "in", "as measured")
    total = Step("", "bore", "1.6221", "in", FIT_HABIT.cited, is_total=True)
    drawn = environment().from_string(
        '{% from "_partials/working.html" import working %}'
        '{{ working(steps, title="", linked=linked) }}'
    )
    assert drawn.render(steps=[step, total], linked=False) == (
        '<table class="working">\n'
        '<tr><th scope="row">ring OD<small><span class="symbol">D</span> · as measured</small></th>'
        "<td>1.6261</td></tr>\n"
        '<tr class="total"><th scope="row">bore<small>common practice of head shops</small></th>'
        "<td>1.6221</td></tr>\n"
        "</table>"
    )
    linked = drawn.render(steps=[step, total], linked=True)
    assert linked.count('<a class="told-there"') == 2
    assert plain(linked) == plain(drawn.render(steps=[step, total], linked=False))


def rows_of(page: str) -> list[str]:
    return re.findall(r'<tr id="figure-\d+">(.*?)</tr>', page, re.S)


def row_of(page: str, name: str) -> str:
    (row,) = [one for one in rows_of(page) if plain(one).startswith(name)][:1]
    return row
